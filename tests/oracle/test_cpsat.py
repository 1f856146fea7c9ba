"""The integer program against a second model under an independent solver: CP-SAT of OR-tools."""

from __future__ import annotations

import pytest

from matchmaker.plan.searching.solve import best_value
from tests.oracle.plan_by_cpsat import best_by_cpsat
from tests.oracle.plan_enumeration import best_by_enumeration
from tests.strategies_plan import larger_problem_by_seed, problem_by_seed

BLOCKS = [range(start, start + 21) for start in range(0, 126, 21)]


@pytest.mark.slow
@pytest.mark.parametrize("seeds", BLOCKS, ids=str)
def test_best_value_is_that_of_constraint_programming(seeds: range) -> None:
    planned = 0
    for seed in seeds:
        problem = larger_problem_by_seed(seed)
        expected = best_by_cpsat(problem)
        found = best_value(problem)
        assert (found is None) == (expected is None), seed
        if found is not None and expected is not None:
            assert found == pytest.approx(expected, abs=1e-6), seed
            planned += 1
    assert planned > len(seeds) // 2


def test_constraint_programming_agrees_with_trying_everything() -> None:
    """The second model is itself checked, on problems small enough."""
    for seed in range(120):
        problem = problem_by_seed(seed)
        expected = best_by_enumeration(problem)
        found = best_by_cpsat(problem)
        assert (found is None) == (expected is None), seed
        assert found is None or found == pytest.approx(expected, abs=1e-6), seed
