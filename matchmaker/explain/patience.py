"""How long the searches behind one answer may take, all together."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING, Final

from matchmaker.plan.watch import Watch

if TYPE_CHECKING:
    from collections.abc import Callable

    from matchmaker.plan.watch import Progress

FOREVER: Final = None
"""Seconds of one who waits until all is proved."""


class Patience:
    """So many seconds for all searches of an answer, from its first on; ``None``: no limit.

    What is not proved by then is answered with what is sure.
    """

    __slots__ = ("_tell", "_until", "seconds", "stopped")

    def __init__(
        self, seconds: float | None = FOREVER, tell: Callable[[Progress], None] | None = None
    ) -> None:
        self.seconds = seconds
        self.stopped = False
        self._tell = tell
        self._until: float | None = None

    def watch(self) -> Watch:
        """A watch for the next search."""
        if self._until is None and self.seconds is not None:
            self._until = time.perf_counter() + self.seconds
        watch = Watch(self._tell, until=self._until)
        watch.stopped = self.stopped
        return watch

    @property
    def over(self) -> bool:
        """Whether no further search should begin."""
        return self.stopped or (self._until is not None and time.perf_counter() >= self._until)

    def stop(self) -> None:
        """End the answer with what is sure by now."""
        self.stopped = True
