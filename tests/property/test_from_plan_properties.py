"""A problem a little changed, solved from the plan there was: as good as solved from nothing."""

from __future__ import annotations

import random
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from matchmaker.errors import NoPlanError
from matchmaker.explain.worth import without_bird, without_line
from matchmaker.plan.arithmetic.result import Outcome
from matchmaker.plan.arithmetic.verify import evaluate, verify
from matchmaker.plan.each_pair.from_plan import best_from, fitted
from matchmaker.plan.each_pair.regret import known_plan
from matchmaker.plan.searching.solve import solve_plan
from tests.strategies_plan import solved_problems

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.plan.posing.problem import PlanProblem

SEEDS = [range(start, start + 25) for start in range(0, 125, 25)]


def changed(problem: PlanProblem, rng: random.Random) -> Iterator[PlanProblem]:
    """The problem without a bird, a line or a wish, with more room, with fewer pairs."""
    pair = rng.choice(problem.candidates)
    yield without_bird(problem, pair.cock)
    yield without_bird(problem, pair.hen)
    yield without_line(problem, pair.line)
    yield replace(problem, demands=())
    yield replace(
        problem,
        kinds=tuple(replace(kind, hens_max=kind.hens_max + 1) for kind in problem.kinds),
    )
    yield replace(problem, candidates=tuple(one for one in problem.candidates if one != pair))


def value_from_nothing(problem: PlanProblem) -> float | None:
    """The best value, by a search that knows no plan."""
    try:
        return solve_plan(problem, stages=False).proof.best_value
    except NoPlanError:
        return None


@pytest.mark.parametrize("seeds", SEEDS, ids=str)
def test_from_a_plan_or_from_nothing_the_best_is_the_same(seeds: range) -> None:
    compared = 0
    for seed, problem, best in solved_problems(seeds):
        for other in changed(problem, random.Random(seed)):  # noqa: S311
            value = value_from_nothing(other)
            if value is None:
                with pytest.raises(NoPlanError):
                    best_from(other, best.pens)
                continue
            found = best_from(other, best.pens)
            assert found.outcome is Outcome.OPTIMAL
            assert found.proof.best_value == pytest.approx(value, abs=1e-6), seed
            verify(other, found)
            compared += 1
    assert compared > 10


def test_a_plan_fits_only_where_it_breaks_no_rule() -> None:
    fits = breaks = 0
    for _, problem, best in solved_problems(range(60)):
        if not best.pens:
            continue
        same = fitted(problem, best.pens)
        assert same is not None
        assert same.value == pytest.approx(best.value)
        fits += 1
        without = without_bird(problem, best.pens[0].cock)
        assert fitted(without, best.pens) is None
        breaks += 1
    assert fits == breaks > 10


@pytest.mark.parametrize("seeds", SEEDS[:2], ids=str)
def test_a_plan_found_in_little_time_holds_the_pair_and_its_bound_is_true(seeds: range) -> None:
    found = 0
    for _, problem, best in solved_problems(seeds):
        for pair in problem.candidates:
            known = known_plan(problem, best, pair, bound=best.proof.bound)
            if known is None:
                continue
            found += 1
            assert any(one == pair for pen in known.pens for one in pen.pairs)
            score = evaluate(problem, known.pens)
            assert not score.broken
            assert score.value == pytest.approx(known.value)
            assert known.value <= known.bound <= best.proof.best_value + 1e-6
    assert found > 10
