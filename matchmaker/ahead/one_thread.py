"""Matrix arithmetic in one thread, so that its last digits do not depend on the computer.

The libraries under numpy share large matrices out among threads, from about 150 rows on, and then
add up in another order. A difference of 1e-16 is enough to turn a tie between two plans.
"""

from __future__ import annotations

import contextlib
import os
import sys
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterator

ONE_THREAD: Final = {
    "OMP_NUM_THREADS": "1",
    "OPENBLAS_NUM_THREADS": "1",
    "MKL_NUM_THREADS": "1",
    "VECLIB_MAXIMUM_THREADS": "1",
}
"""What those libraries read when numpy is first imported, and never again."""


def one_thread_here() -> bool:
    """Limit this process to one thread; return whether that comes in time, before numpy.

    A command calls this first, so that what it computes itself is the same as in its workers.

    Examples
    --------
    >>> with one_thread_in_children():
    ...     one_thread_here() == ("numpy" not in sys.modules)
    True
    """
    os.environ.update(ONE_THREAD)
    return "numpy" not in sys.modules


@contextlib.contextmanager
def one_thread_in_children() -> Iterator[None]:
    """Processes begun in this block compute in one thread; the environment is then as before.

    Examples
    --------
    >>> with one_thread_in_children():
    ...     os.environ["OMP_NUM_THREADS"]
    '1'
    """
    before = {name: os.environ.get(name) for name in ONE_THREAD}
    os.environ.update(ONE_THREAD)
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                del os.environ[name]
            else:
                os.environ[name] = value
