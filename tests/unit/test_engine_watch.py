"""Searches ended early: by time, by a word, by Ctrl-C; and that nothing else decides the plan."""

from __future__ import annotations

import contextlib
import os
import random
import signal
import subprocess
import sys
import time
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING, Literal

import pytest

from matchmaker.errors import SolverStoppedError
from matchmaker.plan.arithmetic.result import Outcome
from matchmaker.plan.arithmetic.verify import evaluate
from matchmaker.plan.searching import search as search_module
from matchmaker.plan.searching.solve import solve_plan
from matchmaker.plan.solvers.watch import Progress, Watch
from tests.bench.flocks import flock_problem, hungry

if TYPE_CHECKING:
    from matchmaker.plan.posing.problem import PlanProblem

HARD = hungry(flock_problem(200, 20, 0))
"""Its first dive finds a plan that is not the best."""


def ending(how: Literal["time", "interrupt"]) -> Watch:
    """A watch that ends the search when the first plan is found."""

    def tell(progress: Progress) -> None:
        if progress.best > float("-inf"):
            if how == "time":
                watch.until = time.perf_counter()
            else:
                watch.stop()

    watch = Watch(tell)
    return watch


@pytest.mark.parametrize("how", ["time", "interrupt"])
def test_a_search_that_is_ended_gives_its_plan_and_its_gap(
    how: Literal["time", "interrupt"],
) -> None:
    best = solve_plan(HARD, stages=False)
    found = solve_plan(HARD, watch=ending(how))
    assert (found.outcome, found.proof.stopped) == (Outcome.FEASIBLE, how)
    assert best.outcome is Outcome.OPTIMAL
    assert best.proof.stopped == ""
    assert found.proof.best_value < best.proof.best_value < found.proof.bound + 1e-6
    assert found.proof.gap == pytest.approx(
        (found.proof.bound - found.proof.best_value) / found.proof.best_value
    )
    assert evaluate(HARD, found.pens).broken == ()


def test_too_much_left_open_is_stated_as_a_gap(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(search_module, "MOST_COLUMNS", 10)
    found = solve_plan(HARD)
    assert (found.outcome, found.proof.stopped) == (Outcome.FEASIBLE, "size")
    assert found.proof.gap > 0.0


def test_stopped_before_any_plan_passes_the_interrupt_on() -> None:
    watch = Watch()
    watch.stop()
    with pytest.raises(KeyboardInterrupt):
        solve_plan(HARD, watch=watch)


def test_no_time_at_all_is_said_so() -> None:
    with pytest.raises(SolverStoppedError, match="time ran out"):
        solve_plan(HARD, time_limit=0.0)


@pytest.mark.parametrize("seconds", [0.5, 2.0])
def test_time_limits_are_kept(seconds: float) -> None:
    """To a fifth, and half a second for a slow machine's last step."""
    problem = flock_problem(400, 40, 1)
    begun = time.perf_counter()
    with contextlib.suppress(SolverStoppedError):
        solve_plan(problem, time_limit=seconds)
    assert time.perf_counter() - begun < 1.2 * seconds + 0.5


def test_progress_goes_one_way() -> None:
    seen: list[Progress] = []
    solution = solve_plan(HARD, watch=Watch(seen.append))
    assert seen
    assert all(a.seconds <= b.seconds for a, b in pairwise(seen))
    assert all(a.best <= b.best for a, b in pairwise(seen))
    assert all(a.bound >= b.bound for a, b in pairwise(seen))
    assert seen[-1].best == pytest.approx(solution.proof.best_value)
    assert seen[-1].bound >= solution.proof.best_value - 1e-6
    assert seen[-1].gap == pytest.approx(0.0, abs=1e-6)


INTERRUPTED = """
import signal, sys
signal.signal(signal.SIGINT, signal.default_int_handler)  # a job in the background ignores it
from matchmaker.plan.searching.solve import solve_plan
from matchmaker.plan.solvers.watch import Watch
from tests.unit.test_engine_watch import HARD
found = []
def tell(progress):
    if not found and progress.best > float("-inf"):
        found.append(progress.best)
        print("found", file=sys.stderr, flush=True)
        sys.stdin.readline()
try:
    end = solve_plan(HARD, watch=Watch(tell))
    print(end.outcome, end.proof.stopped, len(end.pens) > 0)
except KeyboardInterrupt:
    print("nothing yet")
"""


def test_ctrl_c_in_a_real_process_keeps_the_plan_found() -> None:
    """The child waits once it has a plan, is interrupted, and goes on with the search."""
    with subprocess.Popen(
        [sys.executable, "-c", INTERRUPTED],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=os.environ | {"PYTHONPATH": "."},
    ) as child:
        assert child.stderr is not None
        assert child.stderr.readline() == "found\n"
        child.send_signal(signal.SIGINT)
        time.sleep(0.2)
        out, err = child.communicate("\n", timeout=60)
    assert (out, err) == ("feasible interrupt True\n", "")


def shuffled(problem: PlanProblem, seed: int) -> PlanProblem:
    rng = random.Random(seed)  # noqa: S311
    return replace(
        problem,
        candidates=tuple(rng.sample(problem.candidates, len(problem.candidates))),
        kinds=tuple(rng.sample(problem.kinds, len(problem.kinds))),
        cocks=tuple(rng.sample(problem.cocks, len(problem.cocks))),
    )


@pytest.mark.parametrize(
    "problem",
    [
        flock_problem(60, 8, 3),
        hungry(flock_problem(60, 8, 3)),
        HARD,
        hungry(flock_problem(440, 40, 0)),
    ],
    ids=["60x8", "60x8+", "200x20+", "440x40+"],
)
def test_any_row_order_gives_the_same_plan(problem: PlanProblem) -> None:
    """The largest of them has so many pairs that they are priced."""
    expected = solve_plan(problem)
    for seed in range(2):
        assert solve_plan(shuffled(problem, seed)).pens == expected.pens


PLANNED = """
import zlib
from matchmaker.plan.searching.solve import solve_plan
from tests.bench.flocks import flock_problem, hungry
for problem in (flock_problem(60, 8, 1), hungry(flock_problem(200, 20, 1))):
    print(zlib.crc32(repr(solve_plan(problem).pens).encode()))
"""


def test_neither_hashes_nor_the_machines_threads_decide_the_plan() -> None:
    """Processes with other hashes, and with as many threads for linear algebra as they like."""
    outputs = {
        subprocess.run(
            [sys.executable, "-c", PLANNED],
            capture_output=True,
            text=True,
            check=True,
            env=os.environ
            | {"PYTHONPATH": ".", "PYTHONHASHSEED": hashes, "OPENBLAS_NUM_THREADS": threads},
        ).stdout
        for hashes, threads in (("0", "1"), ("1", "2"), ("random", "4"))
    }
    assert len(outputs) == 1
