"""What a worker process does, done in this one: its pipe is filled before it begins."""

from __future__ import annotations

import multiprocessing
import pickle
import signal
from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING, Any

import pytest

from matchmaker.ahead.worker import READY, packed_error, serve
from matchmaker.errors import InputError
from tests import fan_tasks

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from multiprocessing.connection import Connection


EMPTY = pickle.dumps(None)


@pytest.fixture(autouse=True)
def _interrupts_as_before() -> Iterator[None]:
    before = signal.getsignal(signal.SIGINT)
    yield
    signal.signal(signal.SIGINT, before)


def said(work: object, *tasks: int) -> list[tuple[int, bool, Any]]:
    """What a worker says that is given some tasks, and then finds its pipe closed."""
    ours, theirs = multiprocessing.Pipe()
    with ours, theirs, ThreadPoolExecutor(1) as parent:
        heard = parent.submit(hear, ours, work, tasks)
        serve(theirs)
        return heard.result()


def hear(ours: Connection, work: object, tasks: Sequence[int]) -> list[tuple[int, bool, Any]]:
    found = [ours.recv()]
    ours.send(pickle.dumps(work))
    for place, task in enumerate(tasks):
        ours.send((place, pickle.dumps(task)))
        found.append(ours.recv())
    ours.close()
    return [(place, well, pickle.loads(packed or EMPTY)) for place, well, packed in found]  # noqa: S301  said above


def test_tasks_are_answered_until_the_pipe_is_closed() -> None:
    assert said(fan_tasks.squared, 3, 4) == [(READY, True, None), (0, True, 9), (1, True, 16)]
    assert signal.getsignal(signal.SIGINT) is signal.SIG_IGN


def test_after_an_error_the_next_task_is_answered() -> None:
    _, failed, answered = said(fan_tasks.root, -1, 9)
    assert failed[:2] == (0, False)
    assert isinstance(failed[2], ValueError)
    assert answered == (1, True, 3.0)


def test_work_that_cannot_be_unpacked_is_said_of_every_task() -> None:
    _, *failed = said(fan_tasks.Unfound(), 1, 2)
    assert [(place, well) for place, well, _ in failed] == [(0, False), (1, False)]
    assert {str(error) for _, _, error in failed} == {"No module named 'aviary'"}


def test_errors_come_back_as_they_were() -> None:
    with pytest.raises(InputError) as caught:
        fan_tasks.faulty(0)
    again = pickle.loads(packed_error(caught.value))  # noqa: S301  made here
    assert (type(again), str(again)) == (InputError, "2 faults in the tables")
    assert again.faults == fan_tasks.FAULTS


def test_an_error_that_cannot_be_sent_is_replaced_by_its_words() -> None:
    with pytest.raises(fan_tasks.LockedError) as caught:
        fan_tasks.locked(0)
    again = pickle.loads(packed_error(caught.value))  # noqa: S301  made here
    assert type(again) is RuntimeError
    assert again.args[0] == "LockedError: the henhouse is locked"
    assert "fan_tasks.py" in again.__notes__[0]
