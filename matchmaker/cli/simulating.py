"""Many parts of one long task: how many are done, on a terminal."""

from __future__ import annotations

import contextlib
import sys
import time
from typing import TYPE_CHECKING, Final

from matchmaker.cli.watching import BETWEEN, FIRST_WORD
from matchmaker.report.screen import console_for

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from rich.console import Console

BAR: Final = 20
"""Letters of the bar."""

LONG: Final = 100.0
"""Seconds from which the time left is told in minutes."""


@contextlib.contextmanager
def progress_bar(title: str, *, at_most: bool = False) -> Iterator[Callable[[int, int], None]]:
    """What is to be told how many parts are done, of how many: a bar on standard error.

    ``at_most`` says that there may be fewer parts than told, and that Ctrl-C keeps what is found.

    Nothing is written unless that is a terminal. The line is written by hand and not by rich's live
    display, which hides the cursor: Ctrl-C ends the program without bringing it back.
    """
    if not sys.stderr.isatty():
        yield lambda _done, _parts: None
        return
    line = _Line(title, fewer_text if at_most else parts_text)
    try:
        yield line.tell
    finally:
        line.clear()


class _Line:
    """One line on standard error, written over and over."""

    def __init__(self, title: str, words: Callable[[int, int, float], str]) -> None:
        self._title = title
        self._words = words
        self._begun = time.perf_counter()
        self._last = 0.0
        self._wide = 0

    def tell(self, done: int, parts: int) -> None:
        seconds = time.perf_counter() - self._begun
        if seconds < max(FIRST_WORD, self._last + BETWEEN):
            return
        self._last = seconds
        console = console_for(sys.stderr)
        shown = f"{self._title} {self._words(done, parts, seconds)}"[: console.width - 1]
        wide = len(shown)
        if wide + BAR + 1 < console.width:
            shown = shown.replace(self._title, f"{self._title} {drawn(console, done / parts)}", 1)
            wide += BAR + 1
        sys.stderr.write("\r" + shown + " " * (self._wide - wide))
        sys.stderr.flush()
        self._wide = wide

    def clear(self) -> None:
        if self._wide:
            sys.stderr.write("\r" + " " * self._wide + "\r")
            sys.stderr.flush()


def drawn(console: Console, part: float) -> str:
    """A bar of ``BAR`` letters that is full as far as a part (0 to 1), in the terminal's colours.

    Examples
    --------
    >>> from rich.console import Console
    >>> drawn(Console(color_system=None, force_terminal=True), 0.25)
    '━━━━━               '
    """
    from rich.progress_bar import ProgressBar
    from rich.text import Text

    with console.capture() as caught:
        console.print(ProgressBar(total=1.0, completed=part, width=BAR), end="")
    bar = caught.get().rstrip("\n")
    return bar + " " * (BAR - Text.from_ansi(bar).cell_len)


def parts_text(done: int, parts: int, seconds: float) -> str:
    """How far the work is, and how long the remainder may take at the same pace.

    Examples
    --------
    >>> parts_text(50, 200, 10.0)
    '50 of 200, about 30 s left (Ctrl-C ends)'
    >>> parts_text(2, 100, 10.0)
    '2 of 100, about 8 minutes left (Ctrl-C ends)'
    """
    return f"{done} of {parts}, about {_left(done, parts, seconds)} left (Ctrl-C ends)"


def fewer_text(done: int, parts: int, seconds: float) -> str:
    """The same where the number of parts is the most that there can be.

    Examples
    --------
    >>> fewer_text(50, 200, 10.0)
    '50 of at most 200, up to 30 s left (Ctrl-C decides now)'
    """
    left = _left(done, parts, seconds)
    return f"{done} of at most {parts}, up to {left} left (Ctrl-C decides now)"


def _left(done: int, parts: int, seconds: float) -> str:
    left = seconds / done * (parts - done)
    return f"{left:.0f} s" if left < LONG else f"{left / 60:.0f} minutes"
