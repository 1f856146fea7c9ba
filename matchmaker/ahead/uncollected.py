"""Memory tidied up seldom: what is played through leaves few references that go in circles.

Looking for them every few hundred objects takes a twentieth of the time.
"""

from __future__ import annotations

import contextlib
import gc
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator


@contextlib.contextmanager
def collecting_later() -> Iterator[None]:
    """Look for circles of references only after this block, if that is done at all.

    Examples
    --------
    >>> with collecting_later():
    ...     gc.isenabled()
    False
    >>> gc.isenabled()
    True
    """
    enabled = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if enabled:
            gc.enable()
