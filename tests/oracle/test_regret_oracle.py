"""The price of every pair against constraint programming and against every plan written out."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matchmaker.plan.each_pair.regret import price_pairs
from tests.oracle.plan_by_cpsat import best_by_cpsat
from tests.oracle.plan_enumeration import placements, plans_by_value, value_of
from tests.strategies_plan import larger_problem_by_seed, solved_problems

if TYPE_CHECKING:
    from matchmaker.plan.posing.problem import Candidate, PlanProblem

BLOCKS = [range(start, start + 30) for start in range(0, 180, 30)]
LARGER = [range(start, start + 4) for start in range(0, 8, 4)]
EQUAL = 1e-6


@pytest.mark.parametrize("seeds", BLOCKS, ids=str)
def test_prices_are_those_of_all_plans_written_out(seeds: range) -> None:
    priced = 0
    for seed, problem, best in solved_problems(seeds):
        values = _best_values(problem)
        bounds = {one.candidate: one for one in price_pairs(problem, best)}
        for price in price_pairs(problem, best, exact=True):
            value = values.get(price.candidate)
            assert price.impossible == (value is None), (seed, price)
            assert not bounds[price.candidate].impossible or value is None, (seed, price)
            if value is None:
                continue
            loss = best.proof.best_value - value
            assert price.at_least == price.at_most == pytest.approx(loss, abs=EQUAL), (seed, price)
            known = bounds[price.candidate]
            assert known.at_least <= loss + EQUAL, (seed, known)
            assert known.at_most is None or known.at_most >= loss - EQUAL, (seed, known)
            priced += 1
    assert priced > 8


def _best_values(problem: PlanProblem) -> dict[Candidate, float]:
    """The value of the best plan with each pair that is in one."""
    found: dict[Candidate, float] = {}
    for plan in plans_by_value(problem):
        if all(pair in found for pair in plan) or next(placements(problem, plan), None) is None:
            continue
        for pair in plan:
            found.setdefault(pair, value_of(problem, plan))
    return found


@pytest.mark.slow
@pytest.mark.parametrize("seeds", LARGER, ids=str)
def test_prices_are_the_difference_of_two_solves_by_constraint_programming(seeds: range) -> None:
    priced = 0
    for seed, problem, best in solved_problems(seeds, larger_problem_by_seed):
        value = best_by_cpsat(problem)
        assert value is not None
        table = price_pairs(problem, best, exact=True)
        bounds = price_pairs(problem, best)
        for price, known in list(zip(table, bounds, strict=True))[seed % 9 :: 18]:
            forced = best_by_cpsat(problem, held=(price.candidate,))
            assert price.impossible == (forced is None), (seed, price)
            if forced is None:
                continue
            assert price.at_least == price.at_most
            assert price.at_least == pytest.approx(value - forced, abs=2 * EQUAL), (seed, price)
            assert known.at_least <= value - forced + EQUAL
            assert known.at_most is None or known.at_most >= value - forced - EQUAL
            priced += 1
    assert priced > len(seeds) // 2
