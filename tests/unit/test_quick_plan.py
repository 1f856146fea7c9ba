"""Plans in little time: never further from the proved best than they say, every rule kept."""

from __future__ import annotations

import random
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from matchmaker import verbs
from matchmaker.errors import NoPlanError
from matchmaker.plan.arithmetic.result import Outcome
from matchmaker.plan.arithmetic.verify import evaluate
from matchmaker.plan.posing.pose import pose_problem
from matchmaker.plan.searching import quick
from matchmaker.plan.searching.best import best_plan
from matchmaker.plan.searching.dive import dive
from matchmaker.plan.searching.quick import NEAR_ENOUGH, quick_plan
from matchmaker.plan.searching.solve import solve_plan
from tests.bench.flocks import flock_problem
from tests.strategies_plan import larger_problem_by_seed, problem_by_seed, solved_problems
from tests.strategies_rules import with_group

if TYPE_CHECKING:
    from matchmaker.plan.arithmetic.result import Solution
    from matchmaker.plan.posing.problem import PlanProblem
    from matchmaker.plan.program.program import Amounts
    from matchmaker.plan.searching.task import Task

EXAMPLES = Path(__file__).parents[2] / "examples"
ROUNDING = 1e-6


def assert_near(problem: PlanProblem, best: Solution, gap: float) -> None:
    """The quick plan keeps every rule, and lies as near the best as it says and as was asked."""
    found = quick_plan(problem, gap=gap)
    score = evaluate(problem, found.pens)
    assert score.broken == ()
    assert score.value == found.value
    most = best.proof.best_value
    least = most - gap * max(1.0, abs(found.value)) - ROUNDING
    assert least <= found.value <= most + ROUNDING
    assert found.proof.bound >= most - ROUNDING
    assert found.proof.gap <= gap + ROUNDING


def test_small_plans_are_as_near_the_best_as_asked() -> None:
    for _, problem, best in solved_problems(range(24)):
        for gap in (0.0, NEAR_ENOUGH, 0.1):
            assert_near(problem, best, gap)


def test_larger_plans_are_as_near_the_best_as_asked() -> None:
    for _, problem, best in solved_problems(range(8), larger_problem_by_seed):
        assert_near(problem, best, NEAR_ENOUGH)


def test_with_many_numbers_of_pairs_left_one_search_goes_over_all(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(quick, "MOST_BOXES", -1)
    for _, problem, best in solved_problems(range(4), larger_problem_by_seed):
        assert_near(problem, best, NEAR_ENOUGH)


def test_without_a_plan_it_says_what_clashes_as_the_proof_does() -> None:
    planned = {seed for seed, _, _ in solved_problems(range(12))}
    refused = [problem_by_seed(seed) for seed in range(12) if seed not in planned]
    assert len(refused) > 2
    for problem in refused:
        with pytest.raises(NoPlanError) as proved:
            solve_plan(problem)
        with pytest.raises(NoPlanError) as found:
            quick_plan(problem)
        assert found.value.conflict == proved.value.conflict


def test_an_example_in_any_order_gives_one_plan_near_the_best() -> None:
    problem = pose_problem(verbs.pairs(EXAMPLES / "tarn-croft"), fresh=True)
    found = quick_plan(problem)
    assert_near(problem, solve_plan(problem, stages=False), NEAR_ENOUGH)
    candidates = list(problem.candidates)
    random.Random(1).shuffle(candidates)  # noqa: S311
    again = quick_plan(replace(problem, candidates=tuple(candidates)))
    assert (again.pens, again.value) == (found.pens, found.value)


def test_all_of_the_gap_is_stated() -> None:
    problem = pose_problem(verbs.pairs(EXAMPLES / "tarn-croft"), fresh=True)
    near, exact = quick_plan(problem, gap=0.05), quick_plan(problem, gap=0.0)
    assert near.outcome is Outcome.FEASIBLE
    assert near.proof.bound >= exact.value
    assert exact.outcome is Outcome.OPTIMAL
    assert exact.proof.bound == exact.value


def test_without_a_search_the_gap_left_is_stated() -> None:
    wider = 0
    for _, problem, best in solved_problems(range(4), larger_problem_by_seed):
        found = quick_plan(problem, gap=0.0, nodes=0)
        assert evaluate(problem, found.pens).broken == ()
        assert found.value <= best.proof.best_value + ROUNDING
        assert found.proof.bound >= best.proof.best_value - ROUNDING
        wider += found.proof.gap > ROUNDING
    assert wider > 0


def test_where_a_dive_finds_nothing_all_is_searched(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(quick, "dive", lambda *_, **__: None)
    for _, problem, best in solved_problems(range(12)):
        assert_near(problem, best, NEAR_ENOUGH)


def test_where_the_search_ends_with_nothing_the_best_is_found(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(quick, "dive", lambda *_, **__: None)
    monkeypatch.setattr(quick, "MOST_NODES", 0)
    for _, problem, best in solved_problems(range(12)):
        assert quick_plan(problem).value == pytest.approx(best.proof.best_value)


def test_a_limit_on_the_kinship_of_the_parents_is_kept() -> None:
    for seed, problem, _ in solved_problems(range(12)):
        kept = with_group(problem, seed, priced=seed % 2 == 0)
        try:
            best = best_plan(kept)
        except NoPlanError:
            continue
        assert quick_plan(kept).proof.best_value == pytest.approx(best.proof.best_value)


def test_a_plan_may_be_worth_more_than_the_search_that_found_it_says(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A search that ends near enough may leave the columns of a line's surplus at nothing."""
    lowered = 0

    def without_surplus(task: Task, *asked: Any, **how: Any) -> Amounts | None:
        nonlocal lowered
        found = dive(task, *asked, **how)
        if found is None:
            return None
        costs = np.array(task.program.cost)
        part = (costs > 0) & (costs < 1)
        lowered += bool((found[part] > 0).any())
        return np.where(part, 0.0, found)

    monkeypatch.setattr(quick, "dive", without_surplus)
    for seed in range(4):
        problem = flock_problem(24, 4, seed)
        found = quick_plan(problem, gap=0.5, nodes=0)
        assert evaluate(problem, found.pens).value == found.value <= found.proof.bound + ROUNDING
    assert lowered
