"""The plan with a pair held, or banned, against every plan of small flocks written out."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from matchmaker.errors import NoPlanError
from matchmaker.plan.each_pair.forced import plan_with, plan_without
from matchmaker.plan.searching.solve import solve_plan
from tests.oracle.plan_enumeration import Pairs, placements, plans_by_value, value_of
from tests.strategies_plan import problem_by_seed, solved_problems

if TYPE_CHECKING:
    from matchmaker.plan.arithmetic.result import Solution
    from matchmaker.plan.posing.problem import Candidate, PlanProblem

BLOCKS = [range(start, start + 25) for start in range(0, 100, 25)]
EQUAL = 1e-6


def _best_plans(problem: PlanProblem, candidate: Candidate, *, held: bool) -> list[Pairs]:
    """All plans of the best value that hold the pair, or do without it."""
    found: list[Pairs] = []
    for plan in plans_by_value(problem):
        if (candidate in plan) != held:
            continue
        if found and value_of(problem, plan) < value_of(problem, found[0]) - EQUAL:
            break
        if next(placements(problem, plan), None) is not None:
            found.append(plan)
    return found


@pytest.mark.parametrize("seeds", BLOCKS, ids=str)
def test_the_plan_with_a_pair_is_worth_most_and_keeps_most(seeds: range) -> None:
    solved = 0
    for seed, problem, best in solved_problems(seeds):
        before = {pair for pen in best.pens for pair in pen.pairs}
        for place, candidate in enumerate(problem.candidates):
            held = place % 3 != 0
            expected = _best_plans(problem, candidate, held=held)
            if not expected:
                with pytest.raises(NoPlanError):
                    _forced(problem, best, candidate, held=held, known=place % 2 == 0)
                continue
            found = _forced(problem, best, candidate, held=held, known=place % 2 == 0)
            pairs = {pair for pen in found.pens for pair in pen.pairs}
            assert (candidate in pairs) == held
            value = value_of(problem, expected[0])
            assert found.value == pytest.approx(value, abs=EQUAL), (seed, candidate)
            assert found.proof.best_value == pytest.approx(value, abs=EQUAL)
            most = max(len(before.intersection(plan)) for plan in expected)
            assert len(before & pairs) == most, (seed, candidate)
            solved += 1
    assert solved > 20


def _forced(
    problem: PlanProblem, best: Solution, candidate: Candidate, *, held: bool, known: bool
) -> Solution:
    if not held:
        return plan_without(problem, best, candidate)
    bound = best.proof.bound if known else None
    return plan_with(problem, best, candidate, bound=bound)


def test_a_pair_that_no_rule_let_in_before_may_make_the_plan_better() -> None:
    """The best plan stems from the problem without the pair, as where a rule is waived."""
    better = 0
    for seed in range(30):
        problem = problem_by_seed(seed)
        for candidate in problem.candidates[:3]:
            rest = tuple(one for one in problem.candidates if one != candidate)
            try:
                best = solve_plan(replace(problem, candidates=rest))
                found = plan_with(problem, best, candidate)
            except NoPlanError:
                continue
            expected = _best_plans(problem, candidate, held=True)
            assert found.value == pytest.approx(value_of(problem, expected[0]), abs=EQUAL)
            better += found.value > best.value + EQUAL
    assert better > 2
