"""Many tasks at the same time: order, errors, processes that die, and that none is left."""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import pickle
import resource
import signal
import subprocess
import sys
import time
from concurrent.futures import Executor, ThreadPoolExecutor
from multiprocessing import spawn
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from matchmaker.ahead import crew as crew_module
from matchmaker.ahead.crew import Crew, WorkersLostError
from matchmaker.ahead.fan_out import fan_out, fanning, processors
from matchmaker.ahead.one_thread import ONE_THREAD
from matchmaker.errors import ExitCode, InputError, UsageError
from tests import fan_tasks

if TYPE_CHECKING:
    from collections.abc import Iterator

NUMBERS = range(12)
SQUARES = [number * number for number in NUMBERS]


@pytest.fixture(autouse=True)
def _no_process_is_left() -> Iterator[None]:
    yield
    assert multiprocessing.active_children() == []


@pytest.mark.parametrize("workers", [1, 2, 3])
def test_answers_stand_in_the_order_of_the_tasks(workers: int) -> None:
    told: list[tuple[int, int]] = []
    found = fan_out(
        fan_tasks.squared, NUMBERS, workers=workers, told=lambda *so_far: told.append(so_far)
    )
    assert found == SQUARES
    assert told == [(done, 12) for done in range(1, 13)]


def test_any_executor_does_the_work() -> None:
    with ThreadPoolExecutor(3) as threads:
        assert fan_out(fan_tasks.squared, NUMBERS, executor=threads) == SQUARES


@pytest.mark.parametrize("workers", [1, 2])
def test_no_tasks_no_answers_and_no_process(workers: int) -> None:
    assert fan_out(fan_tasks.squared, [], workers=workers) == []


def test_by_default_there_is_a_worker_for_each_processor() -> None:
    assert processors() == len(os.sched_getaffinity(0))
    found = fan_out(fan_tasks.process, range(4 * processors()))
    assert len(set(found)) <= processors()
    assert processors() == 1 or os.getpid() not in found


def test_workers_stay_for_several_rounds() -> None:
    with fanning(fan_tasks.process, workers=2) as fan:
        rounds = [set(fan(range(6))) for _ in range(3)]
    assert len(set.union(*rounds)) <= 2
    assert os.getpid() not in rounds[0]


def test_no_more_workers_are_begun_than_there_are_tasks() -> None:
    with Crew(fan_tasks.process, 5) as crew:
        assert len(list(crew.answers([1]))) == 1
        assert len(multiprocessing.active_children()) == 1


def test_what_is_shared_is_sent_once_to_each_worker(tmp_path: Path) -> None:
    with fanning(fan_tasks.Unpacked(tmp_path), workers=2) as fan:
        workers = {*fan(range(12)), *fan(range(12))}
    unpacked = [int(file.name.partition("-")[0]) for file in tmp_path.iterdir()]
    assert len(unpacked) == len(set(unpacked)) <= 2
    assert workers <= set(unpacked)


def test_a_worker_computes_in_one_thread_and_leaves_ctrl_c_to_us(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("OMP_NUM_THREADS", "7")
    before = dict(os.environ)
    limits, deaf = fan_out(fan_tasks.threads_and_signals, [0, 1], workers=2)[0]
    assert ONE_THREAD.items() <= limits.items()
    assert deaf
    assert dict(os.environ) == before


def test_matrices_come_out_the_same_in_each_worker_and_in_one_thread_here() -> None:
    """To the last bit, at a size at which several threads would add up in another order."""
    program = (
        "from matchmaker.ahead.one_thread import one_thread_here\n"
        "assert one_thread_here()\n"
        "from tests.fan_tasks import digest_of_inverse\n"
        "print(digest_of_inverse(300))"
    )
    here = subprocess.run(
        [sys.executable, "-c", program],
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])},
        capture_output=True,
        check=True,
    )
    there = fan_out(fan_tasks.digest_of_inverse, [300, 300], workers=2)
    assert {here.stdout.decode().strip()} == set(there)


def test_signals_that_were_blocked_stay_blocked() -> None:
    """The command line takes Ctrl-C in a thread of its own: all others have it blocked."""
    mask = {signal.SIGINT, signal.SIGTERM}
    before = signal.pthread_sigmask(signal.SIG_BLOCK, mask)
    try:
        fan_out(fan_tasks.squared, NUMBERS, workers=2)
        assert mask <= signal.pthread_sigmask(signal.SIG_BLOCK, [])
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
    assert signal.SIGINT not in signal.pthread_sigmask(signal.SIG_BLOCK, [])


@pytest.mark.parametrize("workers", [1, 2])
def test_an_error_is_raised_as_it_is(workers: int) -> None:
    with pytest.raises(ValueError, match="has no root") as caught:
        fan_out(fan_tasks.root, [4, -1, 9], workers=workers)
    assert caught.value.args == (-1, "has no root")


@pytest.mark.parametrize("workers", [1, 2])
def test_our_own_errors_keep_their_facts(workers: int) -> None:
    with pytest.raises(InputError) as caught:
        fan_out(fan_tasks.faulty, [0, 1], workers=workers)
    assert str(caught.value) == "2 faults in the tables"
    assert caught.value.faults == fan_tasks.FAULTS


def test_an_error_from_a_worker_says_where_it_was_raised() -> None:
    with pytest.raises(ValueError, match="root") as caught:
        fan_out(fan_tasks.root, [-1, -1], workers=2)
    (note,) = caught.value.__notes__
    assert note.startswith("In a worker process:\nTraceback")
    assert "fan_tasks.py" in note


def test_an_error_that_cannot_be_sent_is_told_in_words() -> None:
    with pytest.raises(RuntimeError, match="LockedError: the henhouse is locked"):
        fan_out(fan_tasks.locked, [0, 1], workers=2)


def test_an_answer_that_cannot_be_sent_is_an_error_and_no_silence() -> None:
    with pytest.raises(TypeError, match="cannot pickle"):
        fan_out(fan_tasks.unsendable, [0, 1], workers=2)


def test_work_that_cannot_be_sent_is_refused_at_once() -> None:
    with pytest.raises((pickle.PicklingError, AttributeError), match="pickle"):
        fan_out(lambda number: number, [0, 1], workers=2)


def test_work_that_cannot_be_unpacked_is_an_error_with_its_reason() -> None:
    with pytest.raises(ModuleNotFoundError, match="aviary"):
        fan_out(fan_tasks.Unfound(), [0, 1], workers=2)


@pytest.mark.parametrize("workers", [1, 2])
def test_leaving_passes_through(workers: int) -> None:
    with pytest.raises(SystemExit) as caught:
        fan_out(fan_tasks.leaving, [0, 1], workers=workers)
    assert caught.value.code == 4


def test_after_an_error_nothing_more_is_begun(tmp_path: Path) -> None:
    def stop(_done: int, _tasks: int) -> None:
        raise ValueError("enough")

    begun = time.perf_counter()
    with pytest.raises(ValueError, match="enough"), fanning(slowly(tmp_path), workers=2) as fan:
        fan([0, *range(100, 200)], stop)
    assert time.perf_counter() - begun < 50
    assert len(list(tmp_path.iterdir())) <= 4


def slowly(folder: Path) -> fan_tasks.Slowly:
    return fan_tasks.Slowly(folder, 0.1)


def test_after_an_error_an_executor_is_given_no_more(tmp_path: Path) -> None:
    with ThreadPoolExecutor(1) as threads:
        coming = fan_out_until_first(slowly(tmp_path), threads)
    assert coming == 0
    assert len(list(tmp_path.iterdir())) <= 3


def fan_out_until_first(work: fan_tasks.Slowly, executor: Executor) -> int:
    with fanning(work, executor=executor) as fan, contextlib.closing(fan.come(range(50))) as coming:
        return next(coming)[0]


def test_hands_can_be_used_again_after_a_round_was_left(tmp_path: Path) -> None:
    with fanning(slowly(tmp_path), workers=2) as fan:
        with contextlib.closing(fan.come(range(20))) as coming:
            next(coming)
        assert multiprocessing.active_children() == []
        assert fan([3, 4]) == [9, 16]


def test_tasks_of_workers_that_were_killed_are_done_again(tmp_path: Path) -> None:
    work = fan_tasks.DeadlyOnce(tmp_path, frozenset({0, 3, 4, 11}))
    assert fan_out(work, NUMBERS, workers=2) == SQUARES
    assert {marker.name for marker in tmp_path.iterdir()} == {"0", "3", "4", "11"}


def test_a_worker_killed_between_two_rounds_is_replaced() -> None:
    with Crew(fan_tasks.squared, 1) as crew:
        assert sorted(crew.answers(NUMBERS)) == list(enumerate(SQUARES))
        (worker,) = multiprocessing.active_children()
        worker.kill()
        worker.join()
        assert sorted(crew.answers(NUMBERS)) == list(enumerate(SQUARES))


def test_a_task_that_kills_each_worker_is_refused_in_words() -> None:
    with pytest.raises(WorkersLostError) as caught:
        fan_out(fan_tasks.deadly, NUMBERS, workers=2)
    assert str(caught.value) == (
        "the worker process at part 3 of 12 ended without an answer 4 times (the last with "
        "code -9). Mostly the computer has too little memory for so much at a time: close other "
        "programs, or ask for fewer workers"
    )
    assert caught.value.exit_code is ExitCode.STOPPED


def test_workers_that_cannot_begin_are_refused_in_words(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(spawn, "_python_exe", b"/bin/false")
    with pytest.raises(WorkersLostError, match=r"ended before they had begun, 4 times \(.*code 1"):
        fan_out(fan_tasks.squared, NUMBERS, workers=2)


@pytest.mark.parametrize("left", [0, 2], ids=["no pipe", "a pipe but no process"])
def test_a_computer_that_begins_no_more_processes_is_said_so(left: int) -> None:
    before = resource.getrlimit(resource.RLIMIT_NOFILE)
    with fanning(fan_tasks.squared, workers=2) as fan:
        free = [os.dup(0) for _ in range(3)]
        for file in free:
            os.close(file)
        resource.setrlimit(resource.RLIMIT_NOFILE, (free[left], before[1]))
        try:
            with pytest.raises(WorkersLostError, match=r"can be begun \(Too many open files\)"):
                fan(NUMBERS)
        finally:
            resource.setrlimit(resource.RLIMIT_NOFILE, before)
        assert fan([3, 4]) == [9, 16]


def test_a_worker_that_does_not_end_by_itself_is_ended(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(crew_module, "GRACE", 0.0)
    with fanning(slowly(tmp_path), workers=2) as fan:
        fan([0, 1])


@pytest.mark.parametrize("workers", [0, -2])
def test_no_workers_is_refused(workers: int) -> None:
    with pytest.raises(UsageError, match=f"{workers} workers can do nothing"):
        fan_out(fan_tasks.squared, NUMBERS, workers=workers)


def test_workers_here_and_an_executor_are_not_both_asked_for() -> None:
    with ThreadPoolExecutor(1) as threads, pytest.raises(UsageError, match="leave out"):
        fan_out(fan_tasks.squared, NUMBERS, executor=threads, workers=2)
