"""Two programs never write to one flock folder at once."""

from __future__ import annotations

import errno
import warnings
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING, Final

from matchmaker.errors import UsageError
from matchmaker.tables.disk import reason
from matchmaker.tables.history import OWN_MARK, read_history

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

LOCK_FILE: Final = f"{OWN_MARK}.lock"
"""In the flock folder, always empty; the system lets go of it when the program that holds it ends,
however it ends."""

_PLAIN: Final = frozenset(
    {errno.EACCES, errno.EPERM, errno.EROFS, errno.ENOSPC, errno.EDQUOT, errno.ENOENT, errno.EISDIR}
)
"""Reasons that say by themselves what is to be done."""

WAIT: Final = 5.0
"""Seconds; a write takes a tenth of one."""


class NotWritableError(UsageError):
    """The folder cannot be written to by anybody here, at least not now."""


@contextmanager
def locked(folder: Path, *, wait: float | None = None) -> Iterator[None]:
    """Within this block no other program writes to the folder.

    Raises
    ------
    UsageError
        If another one is still writing after ``wait`` seconds (``WAIT``, unless it is given), or
        the folder cannot be written to.
    """
    from filelock import FileLock, Timeout

    if not folder.is_dir():  # else the lock would make it
        raise UsageError(f"there is no folder {folder}")
    lock = FileLock(str(folder / LOCK_FILE), timeout=WAIT if wait is None else wait)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of disks with locks of a simpler kind, which do too
            lock.acquire()
    except Timeout as error:
        raise UsageError(_held(folder)) from error
    except (OSError, RuntimeError) as error:
        raise NotWritableError(_words(folder, error)) from error
    try:
        yield
    finally:
        lock.release()


def _held(folder: Path) -> str:
    write = None
    with suppress(OSError):
        write = read_history(folder).unfinished
    who = "another program"
    if write is not None:
        who = f"another program (process {write.process}: {write.words})"
    return f"{folder} is being written to by {who}: wait until it has ended, then try again"


def _words(folder: Path, error: OSError | RuntimeError) -> str:
    words = reason(error) if isinstance(error, OSError) else str(error)
    if isinstance(error, OSError) and error.errno in _PLAIN:
        return f"{folder} cannot be written to: {words}"
    return (
        f"{folder} cannot be kept for one writer at a time: {words}. If it is on a network disk, "
        "copy the folder to a disk of this computer, work there, and copy it back"
    )
