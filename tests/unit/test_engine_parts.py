"""Parts of the search, each against solving the whole program at once."""

from __future__ import annotations

import numpy as np
import pytest

import matchmaker.plan.searching.pricing as pricing_module
from matchmaker.plan.arithmetic.result import Outcome
from matchmaker.plan.program.model import Model, build
from matchmaker.plan.program.program import Program
from matchmaker.plan.searching.narrowing import Narrowed, narrowed, unsettled
from matchmaker.plan.searching.pricing import Relaxed
from matchmaker.plan.searching.room_cuts import cuts
from matchmaker.plan.searching.search import Search, find_best, run_search
from matchmaker.plan.searching.surplus import dive_for_surplus
from matchmaker.plan.searching.task import task_of
from matchmaker.plan.searching.totals import boxes_above
from matchmaker.plan.solvers.arrays import as_arrays
from matchmaker.plan.solvers.engine import run
from matchmaker.plan.solvers.highs import highspy, new_highs
from matchmaker.plan.solvers.live import Live
from matchmaker.plan.solvers.quiet import quiet_stdout
from matchmaker.plan.solvers.watch import Watch
from tests.bench.flocks import flock_problem, hungry
from tests.strategies_plan import problem_by_seed

SEEDS = 60
FLOCKS = 4
NUMBERS = range(SEEDS + 2 * FLOCKS)


def model_by_number(number: int) -> Model:
    """Small problems with every kind of rule, then flocks of 24 hens and 4 cocks of both kinds."""
    if number < SEEDS:
        return build(problem_by_seed(number))
    flock = flock_problem(24, 4, (number - SEEDS) % FLOCKS)
    return build(flock if number < SEEDS + FLOCKS else hungry(flock))


def directly(model: Model) -> float:
    """The best value by one plain run of HiGHS, minus infinity where there is no plan."""
    end = run(model.program, "highs")
    return end.value if end.outcome is Outcome.OPTIMAL else float("-inf")


def relaxed_value(program: Program) -> float | None:
    with quiet_stdout():
        solver = new_highs()
        solver.passModel(as_arrays(program, relaxed=True))
        solver.run()
    if solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
        return None
    return -float(solver.getInfo().objective_function_value)


def solved(model: Model) -> Relaxed:
    with quiet_stdout():
        relaxed = Relaxed(task_of(model))
        relaxed.solve()
    return relaxed


@pytest.mark.parametrize("number", NUMBERS)
def test_the_search_finds_what_one_plain_run_finds(number: int) -> None:
    model = model_by_number(number)
    end = find_best(model, Watch())
    value = end.value if end.outcome is Outcome.OPTIMAL else float("-inf")
    assert value == pytest.approx(directly(model_by_number(number)), abs=1e-6)
    assert end.outcome is not Outcome.FEASIBLE
    if end.outcome is Outcome.OPTIMAL:
        assert model.program.values is not None
        assert model.program.feasible(model.program.values, 1e-5)


def test_a_plan_to_start_from_is_proved_only_by_a_bound(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the relaxed program ends without an optimum, the empty plan is not yet the best."""
    flock = flock_problem(24, 4, 0)
    monkeypatch.setattr(Relaxed, "solve", lambda _: None)
    with quiet_stdout():
        now = Search(task_of(build(flock)), Watch())
        now.take(np.zeros(now.task.program.width))
        assert run_search(now)
    assert now.settled
    assert now.value == pytest.approx(directly(build(flock)), abs=1e-6)


@pytest.mark.parametrize("few", [0, 10**9])
def test_pricing_gives_the_bound_over_all_pairs(few: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pricing_module, "FEW_PAIRS", few)
    monkeypatch.setattr(pricing_module, "BEST_OF_EACH", 1)
    for seed in range(3):
        for problem in (flock_problem(40, 6, seed), hungry(flock_problem(40, 6, seed))):
            model = build(problem)
            with quiet_stdout():
                relaxed = Relaxed(task_of(model))
                left_out = int(np.count_nonzero(~relaxed.live.inside()))
                relaxed.solve()
            assert (left_out > 0) == (few == 0)
            # The program now holds the rows of room_cuts that were added on the way.
            assert relaxed.bound == pytest.approx(relaxed_value(model.program), abs=1e-5)


@pytest.mark.parametrize("seed", [600342, 600368, 600711])
def test_few_pairs_without_a_plan_are_no_proof(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """The pairs in the program may leave none once rows are added; all of them leave one."""
    problem = problem_by_seed(seed)
    best = directly(build(problem))
    monkeypatch.setattr(pricing_module, "FEW_PAIRS", 0)
    monkeypatch.setattr(pricing_module, "BEST_OF_EACH", 1)
    assert find_best(build(problem), Watch()).value == pytest.approx(best, abs=1e-6)


def test_pricing_holds_within_bounds_on_the_number_of_pairs(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(pricing_module, "FEW_PAIRS", 0)
    monkeypatch.setattr(pricing_module, "BEST_OF_EACH", 1)
    model = build(flock_problem(40, 6, 0))
    relaxed = solved(model)
    column = np.array([model.total], dtype=np.int32)
    with quiet_stdout():
        bound, _ = relaxed.within(column, np.zeros(1), np.array([12.0]))
    model.program.upper[model.total] = 12.0
    assert bound == pytest.approx(relaxed_value(model.program), abs=1e-5)
    assert bound < relaxed.bound


def test_room_cuts_are_true_of_every_plan_and_tighten_the_bound() -> None:
    tightened = 0
    for seed in range(6):
        model = build(hungry(flock_problem(40, 6, seed)))
        before = relaxed_value(model.program)
        best = directly(build(model.problem))
        relaxed = solved(model)
        assert before is not None
        assert best - 1e-6 <= relaxed.bound <= before + 1e-6
        tightened += relaxed.bound < before - 1e-6
        assert directly(model) == pytest.approx(best, abs=1e-6)
    assert tightened


def test_no_room_cut_is_found_for_a_plan() -> None:
    model = build(hungry(flock_problem(40, 6, 1)))
    find_best(model, Watch())
    assert model.program.values is not None
    assert cuts(task_of(model), model.program.values) == []


def left_open(model: Model, best: float) -> Narrowed:
    """What plans worth ``best`` or more can differ in."""
    relaxed, program = solved(model), model.program
    return narrowed(program, *unsettled(program, relaxed.bound, relaxed.added, best))


@pytest.mark.parametrize("number", NUMBERS)
def test_narrowing_loses_no_better_plan(number: int) -> None:
    model = model_by_number(number)
    best = directly(model_by_number(number))
    if best == float("-inf"):
        return
    part = left_open(model, best)
    end = run(part.program, "highs")
    assert end.value + part.offset == pytest.approx(best, abs=1e-6)
    assert part.program.values is not None
    assert model.program.feasible(part.full(part.program.values), 1e-5)


def test_narrowing_removes_columns() -> None:
    model = build(hungry(flock_problem(60, 8, 0)))
    best = directly(build(model.problem))
    assert left_open(model, best).program.width < model.program.width / 2


def test_boxes_hold_every_better_plan() -> None:
    for seed in range(2):
        model = build(flock_problem(40, 6, seed))
        best = directly(build(model.problem))
        with quiet_stdout():
            task = task_of(model)
            live = Live(model.program)
            live.solve()
            boxes = boxes_above(task, live, best - 0.2, 40)
        found = []
        for box in boxes:
            for column, low, high in zip(task.totals, box.low, box.high, strict=True):
                model.program.lower[column], model.program.upper[column] = low, high
            end = run(model.program, "highs")
            assert end.value <= box.bound + 1e-6 or end.outcome is Outcome.NONE
            found.append(end.value if end.outcome is Outcome.OPTIMAL else float("-inf"))
        assert max(found) == pytest.approx(best, abs=1e-6)


def test_a_dive_for_surplus_gives_every_line_enough() -> None:
    model = build(flock_problem(200, 20, 0))
    relaxed = solved(model)
    task, live = relaxed.task, relaxed.live
    with quiet_stdout():
        found = dive_for_surplus(task, live, live.solution(), float("-inf"), Watch())
    assert found is not None
    assert model.program.feasible(found, 1e-5)
    for line in task.lines:
        assert line.values @ found[line.pairs] >= line.enough - 1e-6
    with quiet_stdout():
        assert live.solve()
    assert live.value == pytest.approx(relaxed.bound, abs=1e-5)


def test_a_part_says_the_same_as_the_whole() -> None:
    """Columns left out stand at their values: rows and the objective agree."""
    rng = np.random.default_rng(5)
    for _ in range(20):
        program = Program()
        for _ in range(8):
            program.column(0, 3, whole=True)
        for _ in range(5):
            terms = {int(at): float(rng.integers(-3, 4)) for at in rng.choice(8, 4, replace=False)}
            program.row(terms, -6.0, 9.0)
        program.maximise({at: float(rng.integers(-4, 5)) for at in range(8)})
        values = rng.integers(0, 3, 8).astype(float)
        kept = np.sort(rng.choice(8, 4, replace=False)).astype(np.int32)
        part = program.part(kept, values)
        assert part.feasible(values[kept], 1e-9) == program.feasible(values, 1e-9)
        for column in set(range(8)) - set(kept.tolist()):
            program.lower[column] = program.upper[column] = values[column]
        whole, less = run(program, "highs"), run(part, "highs")
        assert whole.outcome is less.outcome
        if whole.outcome is Outcome.OPTIMAL:
            left = np.ones(8, dtype=bool)
            left[kept] = False
            rest = float(np.array(program.cost)[left] @ values[left])
            assert less.value + rest == pytest.approx(whole.value, abs=1e-6)
