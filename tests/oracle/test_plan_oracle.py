"""The integer program against trying everything, on small random problems of every kind."""

from __future__ import annotations

import pytest

from matchmaker.errors import NoPlanError
from matchmaker.plan.problem import HensTogether
from matchmaker.plan.solve import best_value, solve_plan
from tests.oracle.plan_enumeration import best_by_enumeration
from tests.strategies_plan import problem_by_seed

BLOCKS = [range(start, start + 40) for start in range(0, 400, 40)]


@pytest.mark.parametrize("seeds", BLOCKS, ids=str)
def test_best_value_is_that_of_trying_everything(seeds: range) -> None:
    for seed in seeds:
        problem = problem_by_seed(seed)
        expected = best_by_enumeration(problem)
        found = best_value(problem)
        assert (found is None) == (expected is None), seed
        if found is not None and expected is not None:
            assert found == pytest.approx(expected, abs=1e-6), seed


@pytest.mark.parametrize("seed", range(60))
def test_whole_solve_keeps_the_best_value(seed: int) -> None:
    problem = problem_by_seed(seed)
    expected = best_by_enumeration(problem)
    if expected is None:
        with pytest.raises(NoPlanError):
            solve_plan(problem)
    else:
        assert solve_plan(problem).proof.best_value == pytest.approx(expected, abs=1e-6)


def test_hens_together_with_a_cock_of_two_pens_share_the_pen() -> None:
    tried = 0
    for seed in range(1000, 4000):
        problem = problem_by_seed(seed)
        several = any(limit.pens_max > 1 for limit in problem.cocks)
        if not several or not any(isinstance(one, HensTogether) for one in problem.demands):
            continue
        tried += 1
        expected = best_by_enumeration(problem)
        found = best_value(problem)
        assert (found is None) == (expected is None), seed
        assert found is None or found == pytest.approx(expected, abs=1e-6), seed
        if tried == 40:
            break
    assert tried == 40


@pytest.mark.parametrize("seed", range(20))
def test_cbc_finds_the_same_value(seed: int) -> None:
    problem = problem_by_seed(seed)
    assert best_value(problem, solver="cbc") == pytest.approx(best_value(problem), abs=1e-6)
