"""Limit, price and least kinship of the parents as a group against all plans of small problems."""

from __future__ import annotations

import random
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

import pytest

from matchmaker.errors import NoPlanError
from matchmaker.plan.posing.problem import GroupKinship, PlanLimits
from matchmaker.plan.searching.frontier import frontier
from matchmaker.plan.searching.kinship_plan import KinshipSolver, solve_group, with_pairs_fixed
from tests.oracle.plan_enumeration import kinship_of, placements, plans_by_value, value_of
from tests.strategies_plan import problem_by_seed

if TYPE_CHECKING:
    from matchmaker.plan.posing.problem import PlanProblem

SEEDS = range(78)
POSED = (
    *(4, 5, 6, 11, 14, 16, 20, 27, 29, 32, 39, 45, 47),
    *(48, 49, 54, 56, 57, 61, 62, 63, 68, 73, 74, 76),
)
"""Those that pose a problem with a plan."""


def _terms(problem: PlanProblem, seed: int) -> GroupKinship:
    """Forebears at random, invented: some offspring have two possible sires (weights of ¼)."""
    rng = random.Random(f"kin {seed}")  # noqa: S311
    birds = sorted({bird for one in problem.candidates for bird in (one.hen, one.cock)})
    parents: list[tuple[tuple[int, float], ...]] = [() for _ in range(4)]
    within = [0.5] * 4
    for _ in range(3 + len(birds)):
        old = rng.sample(range(len(parents)), 3)
        own: tuple[tuple[int, float], ...] = ((old[0], 0.5), (old[1], 0.5))
        if rng.random() < 0.3:
            own = ((old[0], 0.25), (old[1], 0.25), (old[2], 0.5))
        parents.append(own)
        within.append(rng.choice((0.25, 0.25, 0.2, 0.3125)))
    last = len(parents) - len(birds)
    return GroupKinship(
        parents=tuple(parents),
        within=tuple(within),
        birds=tuple((bird, last + at) for at, bird in enumerate(birds)),
    )


@cache
def _posed(seed: int) -> tuple[PlanProblem, list[tuple[float, float]]] | None:
    """A problem with its pairs fixed, and (value, kinship) of all its plans; ``None``: none."""
    problem = replace(problem_by_seed(seed), limits=PlanLimits())
    group = _terms(problem, seed)
    try:
        fixed = with_pairs_fixed(problem)
    except NoPlanError:
        return None
    plans = [
        (value_of(fixed, plan), kinship_of(group, plan))
        for plan in plans_by_value(fixed)
        if next(placements(fixed, plan), None) is not None
    ]
    return replace(fixed, group=group), plans


def posed(seed: int) -> tuple[PlanProblem, list[tuple[float, float]]]:
    """A problem that has plans."""
    found = _posed(seed)
    assert found is not None
    return found


def test_there_are_enough_problems() -> None:
    """Many seeds pose a problem with a plan, and many have kinship to choose."""
    found = {seed: one for seed in SEEDS if (one := _posed(seed)) and one[0].limits.pairs}
    assert tuple(found) == POSED
    assert sum(len({round(k, 9) for _, k in plans}) > 2 for _, plans in found.values()) >= 10


@pytest.mark.parametrize("seed", POSED)
@pytest.mark.parametrize("price", [0.02, 0.5])
def test_price(seed: int, price: float) -> None:
    """The plan is the best by value less the price of its kinship."""
    problem, plans = posed(seed)
    assert problem.group is not None
    solution = solve_group(replace(problem, group=replace(problem.group, price=price)))
    pairs = tuple(pair for pen in solution.pens for pair in pen.pairs)
    reached = solution.value - 100 * price * kinship_of(problem.group, pairs)
    assert reached == pytest.approx(max(v - 100 * price * k for v, k in plans), abs=1e-5)
    assert solution.proof.gap == 0


@pytest.mark.parametrize("seed", POSED)
def test_limit(seed: int) -> None:
    """At any limit the plan is the best of those within it; the limit may be met exactly."""
    problem, plans = posed(seed)
    assert problem.group is not None
    kinships = sorted({round(k, 9) for _, k in plans})
    for limit in {kinships[0], kinships[len(kinships) // 2], kinships[-1]}:
        solution = solve_group(replace(problem, group=replace(problem.group, limit=limit + 1e-9)))
        assert solution.value == pytest.approx(
            max(v for v, k in plans if k <= limit + 2e-9), abs=1e-6
        )


@pytest.mark.parametrize("seed", POSED[:10])
def test_limit_and_price(seed: int) -> None:
    """Both hold at once."""
    problem, plans = posed(seed)
    assert problem.group is not None
    kinships = sorted({round(k, 9) for _, k in plans})
    limit, price = kinships[len(kinships) // 2] + 1e-9, 0.05
    group = replace(problem.group, limit=limit, price=price)
    solution = solve_group(replace(problem, group=group))
    pairs = tuple(pair for pen in solution.pens for pair in pen.pairs)
    best = max(v - 100 * price * k for v, k in plans if k <= limit + 1e-9)
    reached = solution.value - 100 * price * kinship_of(problem.group, pairs)
    assert reached == pytest.approx(best, abs=1e-5)


@pytest.mark.parametrize("seed", POSED)
def test_least_kinship(seed: int) -> None:
    """The least is that of all plans, and a limit below it is refused with that figure."""
    problem, plans = posed(seed)
    assert problem.group is not None
    least = min(k for _, k in plans)
    assert KinshipSolver(problem, problem.group).least().kinship == pytest.approx(least, abs=1e-8)
    group = replace(problem.group, limit=least - 1e-3)
    with pytest.raises(NoPlanError, match="the least possible with") as refused:
        solve_group(replace(problem, group=group))
    said = float(str(refused.value).rsplit(" ", 1)[1])
    assert least - 1e-9 <= said <= least + 1e-4 + 1e-9


@pytest.mark.parametrize("seed", POSED[:12])
def test_frontier(seed: int) -> None:
    """No plan beats a point in both; the ends are the best there are; few points miss none."""
    problem, plans = posed(seed)
    found = frontier(problem, points=50).points
    assert found[0].value == pytest.approx(max(v for v, _ in plans), abs=1e-6)
    assert found[-1].kinship == pytest.approx(min(k for _, k in plans), abs=1e-7)
    for point in found:
        assert not any(
            v > point.value - 1e-6
            and k < point.kinship + 1e-6
            and (v > point.value + 1e-5 or k < point.kinship - 1e-5)
            for v, k in plans
        )
        for price in (point.price_low, point.price_high):
            if price is not None:
                best = max(v - 100 * price * k for v, k in plans)
                assert point.value - 100 * price * point.kinship == pytest.approx(best, abs=1e-4)
