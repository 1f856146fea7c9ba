"""How long the searches behind one answer may take, all together."""

from __future__ import annotations

import time

from matchmaker.plan.solvers.watch import Watch


class Patience:
    """So many seconds for all searches of an answer, from its first on; ``None``: no limit.

    What is not proved by then is answered with what is sure.
    """

    __slots__ = ("_until", "seconds")

    def __init__(self, seconds: float | None = None) -> None:
        self.seconds = seconds
        self._until: float | None = None

    def watch(self, parts: int = 1) -> Watch:
        """A watch for the next search, which may take one of so many parts of the time left."""
        now = time.perf_counter()
        if self._until is None and self.seconds is not None:
            self._until = now + self.seconds
        if self._until is None:
            return Watch()
        return Watch(until=now + max(0.0, self._until - now) / parts)

    @property
    def over(self) -> bool:
        """Whether no further search should begin."""
        return self._until is not None and time.perf_counter() >= self._until
