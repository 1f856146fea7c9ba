"""One function on many tasks, at the same time: here, in worker processes or on a cluster.

The answers stand in the order of the tasks and are the same however many work on them, provided
that each task carries all that its answer depends on (its own seed above all). To the last digit
they are so if this process, too, computes in one thread (``one_thread_here``); the computers of a
cluster may differ in it.
"""

from __future__ import annotations

import contextlib
import os
from concurrent.futures import as_completed
from dataclasses import dataclass
from typing import TYPE_CHECKING, Generic, TypeVar

from matchmaker.ahead.crew import Crew
from matchmaker.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Callable, Generator, Iterator, Sequence
    from concurrent.futures import Executor

Task = TypeVar("Task")
Answer = TypeVar("Answer")


def fan_out(
    work: Callable[[Task], Answer],
    tasks: Sequence[Task],
    *,
    executor: Executor | None = None,
    workers: int | None = None,
    told: Callable[[int, int], None] | None = None,
) -> list[Answer]:
    """Return what ``work`` answers to each of the tasks, in their order.

    Parameters
    ----------
    work
        A function of a module, or a frozen dataclass with ``__call__`` that carries what all tasks
        share; it is sent to each worker process once.
    tasks
        One argument of ``work`` each; sent and answered by pickle.
    executor
        What the work is given to instead of processes of our own, such as ``cluster_executor``'s.
    workers
        How many processes at most; by default one for each processor that this process may use.
        With 1 all is done in this process.
    told
        Called with the number of answers so far and of tasks whenever an answer has come.

    Raises
    ------
    UsageError
        If there are to be no workers, or both workers and an executor are given.
    WorkersLostError
        If worker processes end again and again without an answer.
    Exception
        What ``work`` raises, as it is; tasks not begun are left, workers are ended.

    Examples
    --------
    >>> fan_out(len, ["hen", "cock", "chick"], workers=1)
    [3, 4, 5]
    """
    with fanning(work, executor=executor, workers=workers) as fan:
        return fan(tasks, told)


@dataclass(frozen=True, slots=True)
class Fan(Generic[Task, Answer]):
    """Hands that stay ready for one function; ``come`` yields places with answers as they come."""

    come: Callable[[Sequence[Task]], Generator[tuple[int, Answer], None, None]]

    def __call__(
        self, tasks: Sequence[Task], told: Callable[[int, int], None] | None = None
    ) -> list[Answer]:
        """Return the answers in the order of the tasks."""
        found: dict[int, Answer] = {}
        with contextlib.closing(self.come(tasks)) as coming:
            for place, answer in coming:
                found[place] = answer
                if told is not None:
                    told(len(found), len(tasks))
        return [found[place] for place in range(len(tasks))]


@contextlib.contextmanager
def fanning(
    work: Callable[[Task], Answer],
    *,
    executor: Executor | None = None,
    workers: int | None = None,
) -> Iterator[Fan[Task, Answer]]:
    """Hands for several rounds of tasks: worker processes are begun once, for all of them.

    Parameters and errors are those of ``fan_out``.

    Examples
    --------
    >>> with fanning(abs, workers=1) as fan:
    ...     first = fan([-3, 2])
    ...     first, fan([sum(first)])
    ([3, 2], [5])
    """
    if workers is not None and workers < 1:
        raise UsageError(f"{workers} workers can do nothing: ask for at least 1")
    if executor is not None:
        if workers is not None:
            raise UsageError("a cluster has its own workers: leave out how many are to work here")
        yield Fan(lambda tasks: _on(executor, work, tasks))
        return
    most = workers or processors()
    if most == 1:
        yield Fan(lambda tasks: ((place, work(task)) for place, task in enumerate(tasks)))
        return
    with Crew(work, most) as crew:
        yield Fan(crew.answers)


def processors() -> int:
    """Return how many processors this process may use, at least 1.

    Examples
    --------
    >>> 1 <= processors() <= (os.cpu_count() or 1)
    True
    """
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0)) or 1
    return os.cpu_count() or 1


def _on(
    executor: Executor, work: Callable[[Task], Answer], tasks: Sequence[Task]
) -> Generator[tuple[int, Answer], None, None]:
    places = {executor.submit(work, task): place for place, task in enumerate(tasks)}
    try:
        for future in as_completed(places):
            yield places.pop(future), future.result()  # none is kept: a cluster forgets its answer
    finally:
        for future in places:
            future.cancel()
