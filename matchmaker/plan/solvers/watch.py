"""Watching a search from outside: how far it is, and the word to stop.

A search asks ``stopped`` every few milliseconds. Ctrl-C sets it while ``listening``; whoever runs
the search in another way (a program with its own signals, a window) calls ``stop``.
"""

from __future__ import annotations

import contextlib
import signal
import threading
import time
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from matchmaker.plan.arithmetic.result import Stopped

BETWEEN = 0.5
"""Seconds between two looks at a search."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """Seconds since the search began, best value and bound so far (infinite if none), nodes."""

    seconds: float
    best: float
    bound: float
    nodes: int

    @property
    def gap(self) -> float:
        """How much better than the plan in hand the best could be, in parts of its value."""
        return (self.bound - self.best) / max(1.0, abs(self.best))


class Watch:
    """Told of the progress of one search; its word to stop is heeded at once.

    ``until`` (as ``time.perf_counter`` counts) is when the search must end by itself.
    """

    __slots__ = ("_begun", "_looked", "_tell", "best", "bound", "nodes", "stopped", "until")

    def __init__(
        self, tell: Callable[[Progress], None] | None = None, *, until: float | None = None
    ) -> None:
        self._tell = tell
        self._looked = 0.0
        self._begun = time.perf_counter()
        self.until = until
        self.stopped = False
        self.best = float("-inf")
        self.bound = float("inf")
        self.nodes = 0

    def stop(self) -> None:
        """End the search; the best plan so far is what it returns."""
        self.stopped = True

    @property
    def over(self) -> bool:
        """Whether the search must end: stopped, or its time is out."""
        return self.stopped or (self.until is not None and time.perf_counter() >= self.until)

    @property
    def stopped_by(self) -> Stopped:
        """What ended a search that was not proved."""
        if self.stopped:
            return "interrupt"
        return "time" if self.over else "size"

    def left(self) -> float | None:
        """Seconds left, never below 0; ``None`` without a limit."""
        return None if self.until is None else max(0.0, self.until - time.perf_counter())

    def report(
        self, *, best: float | None = None, bound: float | None = None, nodes: int = 0
    ) -> None:
        """Take note of a better plan, a tighter bound, or nodes searched, and pass it on."""
        self.best = self.best if best is None else max(self.best, best)
        self.bound = self.bound if bound is None else min(self.bound, bound)
        self.nodes += nodes
        if self._tell is not None:
            seconds = time.perf_counter() - self._begun
            now = Progress(seconds=seconds, best=self.best, bound=self.bound, nodes=self.nodes)
            self._tell(now)

    def look(self, best: float, bound: float) -> None:
        """Pass on how far a search is, at most twice a second; either may be infinite."""
        now = time.perf_counter()
        if self._tell is not None and now > self._looked + BETWEEN:
            self._looked = now
            self.report(best=best, bound=bound)


@contextlib.contextmanager
def listening(watch: Watch) -> Iterator[None]:
    """Within this block Ctrl-C stops the search instead of raising ``KeyboardInterrupt``.

    Only where this thread is the one that hears of it, and nobody else has asked to: a program
    that handles the signal itself calls ``watch.stop``.
    """
    mine = (
        threading.current_thread() is threading.main_thread()
        and signal.getsignal(signal.SIGINT) is signal.default_int_handler
    )
    if not mine:
        yield
        return
    signal.signal(signal.SIGINT, lambda _number, _frame: watch.stop())
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, signal.default_int_handler)
