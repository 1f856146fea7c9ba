"""The reader of books kept in check: whatever stops it becomes a reason in words."""

from __future__ import annotations

import os
import sys
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING

from python_calamine import CalamineError

from matchmaker.tables.extent import BookProblem
from matchmaker.tables.tried_apart import refuse_fatal

if TYPE_CHECKING:
    from collections.abc import Iterator


@contextmanager
def contained(content: bytes) -> Iterator[None]:
    """Tell why a book of this content cannot be read, also where its reader gives itself up.

    The reader is a compiled library: in some damaged books it panics, which is no ``Exception``
    and writes its own report to standard error, of no use to a keeper.

    Raises
    ------
    BookProblem
        If the book is damaged, locked or of no known kind.
    """
    refuse_fatal(content)
    try:
        with _silent_panics():
            yield
    except (CalamineError, OSError, ValueError, OverflowError) as error:
        reason = str(error).strip() or type(error).__name__
        raise BookProblem(reason) from error
    except BaseException as error:
        if type(error).__name__ != "PanicException":
            raise
        raise BookProblem("it is damaged") from error


@contextmanager
def _silent_panics() -> Iterator[None]:
    """Keep what compiled code writes to standard error from the screen while a book is read."""
    with suppress(OSError, ValueError):
        sys.stderr.flush()
    try:
        kept = os.dup(2)
    except OSError:  # there is no standard error to keep it from
        yield
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 2)
        yield
    finally:
        os.dup2(kept, 2)
        os.close(nowhere)
        os.close(kept)
