"""A search that a person waits for: how far it is, on a terminal; Ctrl-C keeps the best found."""

from __future__ import annotations

import contextlib
import math
import sys
from typing import TYPE_CHECKING, Final

from matchmaker.cli.interrupt import stopped_gently
from matchmaker.plan.watch import Watch

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.plan.watch import Progress

FIRST_WORD: Final = 2.0
"""Seconds after which a search begins to say how far it is."""

BETWEEN: Final = 0.5
"""Seconds between two words."""


@contextlib.contextmanager
def watched() -> Iterator[Watch]:
    """A watch for one search: its progress on standard error if that is a terminal."""
    screen = _Screen()
    watch = Watch(screen.tell if sys.stderr.isatty() else None)
    with stopped_gently(watch.stop):
        try:
            yield watch
        finally:
            screen.clear()


class _Screen:
    """One line on standard error, written over and over."""

    def __init__(self) -> None:
        self._last = 0.0
        self._wide = 0

    def tell(self, progress: Progress) -> None:
        if progress.seconds < max(FIRST_WORD, self._last + BETWEEN):
            return
        self._last = progress.seconds
        text = progress_text(progress)
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
