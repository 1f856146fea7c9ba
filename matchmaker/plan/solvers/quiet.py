"""Solvers that print on standard output whatever they are told, kept quiet."""

from __future__ import annotations

import contextlib
import os
import sys
import threading
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator


class _Quiet:
    """Standard output sent to nowhere while anybody wants it so, whichever thread that is.

    File descriptor 1 is one for the whole process: the first who comes turns it away, the last who
    goes brings it back.
    """

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._inside = 0
        self._kept: int | None = None

    def begin(self) -> None:
        """Turn standard output away, unless that is done already."""
        with self._lock:
            if not self._inside:
                self._kept = _turned_away()
            self._inside += 1

    def end(self) -> None:
        """Bring standard output back, unless somebody else still wants it away."""
        with self._lock:
            self._inside -= 1
            if self._inside or self._kept is None:
                return
            os.dup2(self._kept, 1)
            os.close(self._kept)
            self._kept = None


def _turned_away() -> int | None:
    """Send standard output to nowhere; return where it went before, ``None`` if it is closed."""
    sys.stdout.flush()
    try:
        kept = os.dup(1)
    except OSError:
        return None
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    os.close(nowhere)
    return kept


_QUIET = _Quiet()


@contextlib.contextmanager
def quiet_stdout() -> Iterator[None]:
    """Send what a C library prints on standard output to nowhere while it runs.

    Blocks may lie within each other, and several threads may be in one at a time.
    """
    _QUIET.begin()
    try:
        yield
    finally:
        _QUIET.end()
