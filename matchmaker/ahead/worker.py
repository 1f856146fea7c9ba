"""A worker process: it holds one function, answers tasks that come by pipe, and ends with us.

Nothing heavy is imported here: numpy first comes in with the function, when the limits on its
threads are already in the environment.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import pickle
import signal
import threading
import traceback
from multiprocessing import connection
from types import FunctionType
from typing import TYPE_CHECKING, Any, Final, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Callable
    from multiprocessing.connection import Connection

READY: Final = -1
"""Place of the first message of a worker, which has no task yet."""

Said: TypeAlias = tuple[int, bool, bytes]
"""Place of a task, whether it went well, and the pickled answer or error."""


def serve(pipe: Connection) -> None:
    """Answer tasks until the pipe is closed.

    Parameters
    ----------
    pipe
        Gives first the pickled function, then pairs (place, pickled task); takes a ``Said`` for
        each, the first of them ``READY``.
    """
    _leave_interrupts_to_the_parent()
    with contextlib.suppress(EOFError, OSError):  # the parent has closed the pipe, or is gone
        pipe.send((READY, True, b""))
        work = unpacked(pipe.recv())
        while True:
            place, task = pipe.recv()
            pipe.send((place, *_answered(work, task)))


def unpacked(packed: bytes) -> Callable[[bytes], bytes]:
    """Return a function from a pickled task to its pickled answer.

    What goes wrong while the function itself is unpacked is said in answer to every task, so that
    it is raised where somebody waits for it.

    Examples
    --------
    >>> pickle.loads(unpacked(pickle.dumps(abs))(pickle.dumps(-2)))
    2
    """
    try:
        work = pickle.loads(packed)  # noqa: S301  from the parent process
    except Exception as error:  # noqa: BLE001  whatever its module raises on import
        failed = error

        def refused(_task: bytes) -> bytes:
            raise failed

        return refused
    return lambda task: pickle.dumps(work(pickle.loads(task)))  # noqa: S301


def _answered(work: Callable[[bytes], bytes], task: bytes) -> tuple[bool, bytes]:
    try:
        return True, work(task)
    except (Exception, SystemExit) as error:  # noqa: BLE001  it is raised again in the parent
        return False, packed_error(error)


def packed_error(error: BaseException) -> bytes:
    """Return an error as it can be raised in another process, with its traceback as a note.

    An error whose class makes its own message is put together again without calling the class,
    which may want other arguments. One that cannot be pickled is replaced by its words.

    Examples
    --------
    >>> from matchmaker.errors import InputError
    >>> again = pickle.loads(packed_error(InputError(())))
    >>> type(again).__name__, str(again), again.faults
    ('InputError', '0 faults in the tables', ())
    """
    error.add_note("In a worker process:\n" + "".join(traceback.format_exception(error)))
    parts: tuple[Any, ...] = (type(error), error.args, error.__dict__)
    own = isinstance(type(error).__init__, FunctionType)
    try:
        packed = pickle.dumps(_Again(parts) if own else error)
        pickle.loads(packed)  # noqa: S301  made here
    except Exception:  # noqa: BLE001  whatever a class does when it is pickled
        words = RuntimeError(f"{type(error).__name__}: {error}")
        words.__notes__ = error.__notes__
        return pickle.dumps(words)
    return packed


class _Again:
    """An error that is pickled by its parts."""

    def __init__(self, parts: tuple[Any, ...]) -> None:
        self._parts = parts

    def __reduce__(self) -> tuple[Callable[..., BaseException], tuple[Any, ...]]:
        return put_together, self._parts


def put_together(
    kind: type[BaseException], arguments: tuple[Any, ...], state: dict[str, Any]
) -> BaseException:
    """Return an error made of its parts, its class not called.

    Examples
    --------
    >>> put_together(ValueError, ("no",), {"row": 3}).row
    3
    """
    error = kind.__new__(kind, *arguments)
    error.__dict__.update(state)
    return error


def _leave_interrupts_to_the_parent() -> None:
    """Ctrl-C on a terminal reaches every process; the parent alone decides what it means.

    However the parent ends, even killed, no worker is left behind: a thread waits for it.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_the_parent, daemon=True).start()


def _end_with_the_parent() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        connection.wait([parent.sentinel])
        os._exit(1)
