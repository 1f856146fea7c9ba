"""The integer program against trying everything, on small random problems of every kind."""

from __future__ import annotations

from collections import Counter
from dataclasses import fields
from typing import TYPE_CHECKING

import pytest

from matchmaker.errors import NoPlanError
from matchmaker.plan.posing.problem import HensTogether, PlanLimits
from matchmaker.plan.searching.solve import best_value, solve_plan
from tests.oracle.plan_enumeration import best_by_enumeration
from tests.strategies_plan import problem_by_seed

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.plan.posing.problem import PlanProblem

BLOCKS = [range(start, start + 40) for start in range(0, 800, 40)]


@pytest.mark.parametrize("seeds", BLOCKS, ids=str)
def test_best_value_is_that_of_trying_everything(seeds: range) -> None:
    for seed in seeds:
        problem = problem_by_seed(seed)
        expected = best_by_enumeration(problem)
        found = best_value(problem)
        assert (found is None) == (expected is None), seed
        if found is not None and expected is not None:
            assert found == pytest.approx(expected, abs=1e-6), seed


def test_every_kind_of_rule_is_among_those_that_have_a_plan() -> None:
    met: Counter[str] = Counter()
    for seed in range(800):
        problem = problem_by_seed(seed)
        if best_by_enumeration(problem) is not None:
            met.update(_rules(problem))
    assert met["none"] > 80
    assert all(met[rule] > 8 for rule in RULES), met


def _rules(problem: PlanProblem) -> Iterator[str]:
    limits, lines = problem.limits, problem.lines
    present = {
        "turns": problem.turns != (("",),),
        "tests": problem.tests,
        "carriers": problem.carriers,
        "known dams": any(one.dams_known for one in problem.candidates),
        "line's share": any(goal.sire_share_max for goal in lines),
        "minimum by sex": any(goal.wanted_cocks_min or goal.wanted_hens_min for goal in lines),
        "sure minimum": any(goal.sure_cocks_min or goal.sure_hens_min for goal in lines),
    } | {one.name: getattr(limits, one.name) is not None for one in fields(PlanLimits)}
    assert set(present) == set(RULES)
    yield from (rule for rule, there in present.items() if there)
    if not any(present.values()):
        yield "none"


RULES = (
    "turns",
    "tests",
    "carriers",
    "known dams",
    "line's share",
    "minimum by sex",
    "sure minimum",
    "mean_inbreeding_max",
    "sire_share_max",
    "chicks_max",
    "eggs_max",
    "pairs",
)


@pytest.mark.parametrize("seed", range(150))
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
