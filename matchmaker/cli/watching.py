"""A search that a person waits for: how far it is, on a terminal; Ctrl-C keeps the best found."""

from __future__ import annotations

import contextlib
import math
import sys
from typing import TYPE_CHECKING, Final

from matchmaker.cli.interrupt import stopped_gently
from matchmaker.plan.searching.frontier import POINTS
from matchmaker.plan.solvers.watch import Watch

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from matchmaker.plan.solvers.watch import Progress

FIRST_WORD: Final = 2.0
"""Seconds after which a search begins to say how far it is."""

BETWEEN: Final = 0.5
"""Seconds between two words."""


@contextlib.contextmanager
def watched() -> Iterator[Watch]:
    """A watch for one search: its progress on standard error if that is a terminal."""
    with _on_screen(lambda progress, _: progress_text(progress)) as (watch, _):
        yield watch


@contextlib.contextmanager
def _on_screen(words: Callable[[Progress, int], str]) -> Iterator[tuple[Watch, _Screen]]:
    screen = _Screen(words)
    watch = Watch(screen.tell if sys.stderr.isatty() else None)
    with stopped_gently(watch.stop):
        try:
            yield watch, screen
        finally:
            screen.clear()


@contextlib.contextmanager
def watched_frontier() -> Iterator[tuple[Watch, Callable[[int], None]]]:
    """A watch for the many searches of a frontier, and what is to be told of each plan found."""
    with _on_screen(lambda progress, plans: frontier_text(progress.seconds, plans)) as (
        watch,
        screen,
    ):
        yield watch, screen.count


class _Screen:
    """One line on standard error, written over and over."""

    def __init__(self, words: Callable[[Progress, int], str]) -> None:
        self._words = words
        self._plans = 0
        self._last = 0.0
        self._wide = 0

    def count(self, plans: int) -> None:
        self._plans = plans

    def tell(self, progress: Progress) -> None:
        if progress.seconds < max(FIRST_WORD, self._last + BETWEEN):
            return
        self._last = progress.seconds
        text = self._words(progress, self._plans)
        sys.stderr.write("\r" + text.ljust(self._wide))
        sys.stderr.flush()
        self._wide = len(text)

    def clear(self) -> None:
        if self._wide:
            sys.stderr.write("\r" + " " * self._wide + "\r")
            sys.stderr.flush()


def progress_text(progress: Progress) -> str:
    """How far a search is, in one line."""
    seconds = f"{progress.seconds:.0f} s"
    if not math.isfinite(progress.best):
        return f"{seconds}: looking for a first plan (Ctrl-C ends)"
    if not math.isfinite(progress.bound):
        return f"{seconds}: a plan worth {progress.best:.2f} (Ctrl-C keeps it)"
    return (
        f"{seconds}: a plan worth {progress.best:.2f}; none can be worth more than "
        f"{progress.bound:.2f} (Ctrl-C keeps it)"
    )


def frontier_text(seconds: float, plans: int) -> str:
    """How far the search for a frontier is, in one line.

    Examples
    --------
    >>> frontier_text(12.3, 4)
    '12 s: 4 plans of up to 11 (Ctrl-C keeps them)'
    """
    if not plans:
        return f"{seconds:.0f} s: looking for both ends (Ctrl-C ends)"
    return f"{seconds:.0f} s: {plans} plans of up to {POINTS} (Ctrl-C keeps them)"
