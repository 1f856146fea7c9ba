"""Worker processes on this machine, kept for as long as there are tasks for one function.

``concurrent.futures.ProcessPoolExecutor`` is not used. When one of its processes dies it cannot say
which task it was at, and gives up all the others; it has no way to end its processes at once
(before Python 3.14); and its semaphores are left behind, with a warning, when Ctrl-C ends the
program. Here each worker has a pipe of its own and one task at a time.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import pickle
import signal
import sys
from collections import Counter, deque
from dataclasses import dataclass, field
from multiprocessing import connection, resource_tracker
from typing import TYPE_CHECKING, Final, Generic, TypeVar

from matchmaker.ahead.one_thread import one_thread_in_children
from matchmaker.ahead.worker import READY, serve
from matchmaker.errors import ExitCode, MatchmakerError

if TYPE_CHECKING:
    from collections.abc import Callable, Generator, Iterator, Sequence
    from multiprocessing.connection import Connection
    from multiprocessing.context import SpawnProcess
    from types import TracebackType
    from typing import Self

Task = TypeVar("Task")
Answer = TypeVar("Answer")

AGAIN: Final = 3
"""How often a task is done again whose worker has died; as often workers may fail to begin."""

GRACE: Final = 5.0
"""Seconds in which a worker without a task ends by itself."""


class WorkersLostError(MatchmakerError):
    """Processes that did the work ended without an answer, again and again."""

    exit_code = ExitCode.STOPPED


@dataclass(eq=False, slots=True)
class _Worker:
    """One process, our end of its pipe, and the place of the task it is at."""

    process: SpawnProcess
    pipe: Connection
    at: int | None = READY


@dataclass(slots=True)
class _Round:
    """The tasks of one call: those not begun, and how often each was lost."""

    tasks: Sequence[object]
    waiting: deque[int]
    lost: Counter[int] = field(default_factory=Counter)


class Crew(Generic[Task, Answer]):
    """Up to ``most`` worker processes that hold one function; a context manager.

    They are begun when there are tasks for them and stay until the block ends, for more tasks. New
    interpreters are started (*spawn*): that works alike on all systems, and a worker inherits no
    lock that a solver's thread holds, as it would if this process were copied.
    """

    def __init__(self, work: Callable[[Task], Answer], most: int) -> None:
        self._work = pickle.dumps(work)
        self._most = most
        self._workers: list[_Worker] = []

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._end(at_once=kind is not None)

    def answers(self, tasks: Sequence[Task]) -> Generator[tuple[int, Answer], None, None]:
        """Yield the place of each task with its answer, in the order in which they come.

        A task whose worker died is given to a new one. When this ends early, for whatever reason,
        the workers end at once.

        Raises
        ------
        WorkersLostError
            If a task has lost its worker more than ``AGAIN`` times, or workers cannot begin.
        Exception
            What the function raised, as it was raised there.
        """
        this = _Round(tasks, deque(range(len(tasks))))
        open_tasks = len(tasks)
        try:
            while open_tasks:
                self._begin(min(self._most, open_tasks))
                self._hand_out(this)
                for worker in self._heard():
                    for place, answer in self._taken(worker, this):
                        open_tasks -= 1
                        yield place, answer
        finally:
            if open_tasks:
                self._end(at_once=True)

    def _begin(self, wanted: int) -> None:
        while len(self._workers) < wanted:
            try:
                with _no_interrupt(), one_thread_in_children():
                    self._workers.append(_started())
            except OSError as error:
                raise WorkersLostError(
                    f"no worker process can be begun ({error.strerror or error}): close other "
                    "programs, or ask for fewer workers"
                ) from error

    def _hand_out(self, this: _Round) -> None:
        for worker in [worker for worker in self._workers if worker.at is None]:
            if this.waiting:
                worker.at = this.waiting.popleft()
                self._tell(worker, (worker.at, pickle.dumps(this.tasks[worker.at])), this)

    def _heard(self) -> list[_Worker]:
        """Return the workers that have something to say, or have gone."""
        asked = {worker.pipe: worker for worker in self._workers if worker.at is not None}
        if not asked:  # all were found dead when they were given a task: new ones must begin
            return []
        ready = connection.wait(list(asked))
        return [worker for pipe, worker in asked.items() if pipe in ready]

    def _taken(self, worker: _Worker, this: _Round) -> Iterator[tuple[int, Answer]]:
        try:
            place, well, packed = worker.pipe.recv()
        except (EOFError, OSError):
            self._lose(worker, this)
            return
        worker.at = None
        if place == READY:
            self._tell(worker, self._work, this)
        elif well:
            yield place, pickle.loads(packed)  # noqa: S301  from our own worker
        else:
            raise pickle.loads(packed)  # noqa: S301  as above

    def _tell(self, worker: _Worker, what: object, this: _Round) -> None:
        try:
            worker.pipe.send(what)
        except OSError:
            self._lose(worker, this)

    def _lose(self, worker: _Worker, this: _Round) -> None:
        self._workers.remove(worker)
        code = _ended(worker)
        place = READY if worker.at is None else worker.at
        this.lost[place] += 1
        if this.lost[place] > AGAIN:
            raise WorkersLostError(_lost_text(place, len(this.tasks), code))
        if place != READY:
            this.waiting.appendleft(place)

    def _end(self, *, at_once: bool) -> None:
        """End the workers: those that wait for a task by themselves, the others by force."""
        workers, self._workers = self._workers, []
        for worker in workers:
            worker.pipe.close()
            if at_once or worker.at is not None:
                worker.process.kill()
        for worker in workers:
            worker.process.join(GRACE)
            _ended(worker)


def _started() -> _Worker:
    context = multiprocessing.get_context("spawn")
    ours, theirs = context.Pipe()
    process = context.Process(target=serve, args=(theirs,), daemon=True)
    try:
        process.start()
    except BaseException:
        ours.close()
        raise
    finally:
        theirs.close()
    return _Worker(process, ours)


def _ended(worker: _Worker) -> int | None:
    """Make sure that a worker is gone, and return its exit code (minus a signal's number)."""
    worker.pipe.close()
    worker.process.kill()
    worker.process.join()
    code = worker.process.exitcode
    worker.process.close()
    return code


def _lost_text(place: int, tasks: int, code: int | None) -> str:
    ended = f"{AGAIN + 1} times (the last with code {code})"
    if place == READY:
        return (
            f"worker processes ended before they had begun, {ended}: close other programs, or "
            "ask for one worker, which needs no other process"
        )
    return (
        f"the worker process at part {place + 1} of {tasks} ended without an answer {ended}. "
        "Mostly the computer has too little memory for so much at a time: close other programs, "
        "or ask for fewer workers"
    )


@contextlib.contextmanager
def _no_interrupt() -> Iterator[None]:
    """A process begun in this block has Ctrl-C blocked, so that it ends in no traceback."""
    if sys.platform == "win32":
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        resource_tracker.ensure_running()  # it lets through what it has blocked: block it again
        signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
