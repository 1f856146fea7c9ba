"""Near-equal plans, their numbers and the most different of them, against trying everything."""

from __future__ import annotations

import random
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from matchmaker.plan.nearly_best.alternatives import alternatives, moved_hens
from matchmaker.plan.nearly_best.near import near_equals
from matchmaker.plan.nearly_best.near_count import count_at_least
from matchmaker.plan.nearly_best.near_keep import plan_near
from matchmaker.plan.nearly_best.near_model import net_value
from matchmaker.plan.posing.problem import (
    Candidate,
    CockLimit,
    GroupKinship,
    LineCarriers,
    LineGoal,
    PenKind,
    PlanLimits,
    PlanProblem,
)
from matchmaker.tables.records import PlanRecord
from tests.oracle.near_enumeration import pens_of, plans_within, solution_of
from tests.strategies_plan import plain_problem_by_seed
from tests.strategies_rules import with_rarer_rules

if TYPE_CHECKING:
    from tests.oracle.plan_enumeration import Pairs

WITHIN = (0.0, 0.01, 0.1, 0.3)
BLOCKS = [range(start, start + 25) for start in range(0, 200, 25)]


def problem_by_seed(seed: int) -> PlanProblem:
    """Return a small problem, mostly with room for several plans; every kind of rule in some."""
    problem = plain_problem_by_seed(seed)
    lines = (replace(goal, cocks_min=0, wanted_min=0.0) for goal in problem.lines)
    wishes = problem.demands if seed % 3 == 0 else ()
    problem = replace(problem, lines=tuple(lines), demands=wishes)
    return problem if seed % 5 in (0, 3) else with_rarer_rules(problem, seed)


def tried(seeds: range) -> list[tuple[int, PlanProblem, float, list[Pairs]]]:
    """Return the problems of these seeds that have a plan, each with all its near-best plans."""
    found = []
    for seed in seeds:
        problem, within = problem_by_seed(seed), WITHIN[seed % len(WITHIN)]
        plans = plans_within(problem, within)
        if plans and plans[0]:
            found.append((seed, problem, within, plans))
    return found


@pytest.mark.parametrize("seeds", BLOCKS, ids=str)
def test_the_number_is_that_of_trying_everything(seeds: range) -> None:
    exact = 0
    for seed, problem, within, plans in tried(seeds):
        told = near_equals(problem, solution_of(problem, plans[0]), within=within)
        assert told.count == len(plans) if told.exact else told.count <= len(plans), seed
        exact += told.exact
    assert exact >= 5


@pytest.mark.parametrize("seeds", BLOCKS, ids=str)
def test_the_bound_is_never_above_the_number(seeds: range) -> None:
    for seed, problem, within, plans in tried(seeds):
        _check_bounds(problem, within, plans[:5], len(plans), seed)


def _check_bounds(
    problem: PlanProblem, within: float, plans: list[Pairs], number: int, seed: int
) -> int:
    """Check the bound around each of these plans; return the highest."""
    best = solution_of(problem, plans[0])
    least = net_value(problem, best.pens) - within * abs(best.value)
    bounds = []
    for plan in plans:
        pens = pens_of(problem, plan)
        bounds.append(count_at_least(problem, pens, max(0.0, net_value(problem, pens) - least)))
    assert min(bounds) >= 1, seed
    assert max(bounds) <= number, seed
    return max(bounds)


def crowded(seed: int) -> PlanProblem:
    """Return a problem of two cocks of one line and more hens than places, some with limits."""
    rng = random.Random(f"crowded {seed}")  # noqa: S311
    candidates = tuple(
        Candidate(
            hen=f"H{hen}",
            cock=f"C{cock}",
            row="back",
            line="Alder",
            value=round(rng.uniform(3.0, 4.0), 3),
            wanted=round(rng.uniform(3.0, 5.0), 2),
            kinship=rng.choice((0.0, 0.05, 0.1)),
            chicks=round(rng.uniform(5.0, 9.0), 1),
        )
        for hen in range(7)
        for cock in range(2)
        if rng.random() < 0.9
    )
    size = rng.choice((2, 3))
    goal = LineGoal(
        line="Alder",
        importance=rng.choice((0.5, 1.0)),
        chicks_wanted=rng.choice((4.0, 8.0, 30.0)),
        hens_min=rng.choice((0, 0, 3)),
        wanted_min=rng.choice((0.0, 0.0, 12.0)),
        sire_share_max=rng.choice((None, None, 0.6)),
    )
    return PlanProblem(
        candidates=candidates,
        kinds=(PenKind(pens=("1", "2"), hens_max=size, hens_min=1, line="", dam_known=False),),
        cocks=tuple(
            CockLimit(cock=f"C{cock}", hens_max=rng.choice((2, 3)), pens_max=1) for cock in range(2)
        ),
        lines=(goal, LineGoal(line="Birch", importance=1.0, chicks_wanted=1.0)),
        carriers=rng.choice(((), (LineCarriers(line="Birch", birds=("H0", "H1", "H2")),))),
        limits=PlanLimits(
            mean_inbreeding_max=rng.choice((None, None, 0.06)),
            chicks_max=rng.choice((None, None, 30.0)),
        ),
    )


@pytest.mark.parametrize("seed", range(40))
def test_the_bound_of_many_plans_is_never_above_their_number(seed: int) -> None:
    problem, within = crowded(seed), (0.02, 0.1, 0.3)[seed % 3]
    plans = plans_within(problem, within)
    _check_bounds(problem, within, plans[:3], len(plans), seed)


def test_the_bound_finds_most_plans_where_nothing_limits_them() -> None:
    told = []
    for seed in range(30):
        problem = replace(crowded(seed), limits=PlanLimits())
        plans = plans_within(problem, 0.3)
        told.append(_check_bounds(problem, 0.3, plans[:1], len(plans), seed) / len(plans))
    assert sum(told) / len(told) > 0.4


@pytest.mark.parametrize("seeds", BLOCKS, ids=str)
def test_alternatives_are_the_most_different_then_the_best(seeds: range) -> None:
    for seed, problem, within, plans in tried(seeds):
        best = solution_of(problem, plans[0])
        told = alternatives(problem, best, 3, within=within)
        if not told:
            assert len(plans) == 1, seed
        before = [best.pens]
        for one in told:
            others = [pens_of(problem, plan) for plan in plans]
            apart = [min(len(moved_hens(b, other)) for b in before) for other in others]
            assert one.apart == max(apart), seed
            assert one.proved
            far = [
                net_value(problem, o) for o, a in zip(others, apart, strict=True) if a == one.apart
            ]
            assert net_value(problem, one.pens) == pytest.approx(max(far), abs=2e-6), seed
            assert one.moved == len(moved_hens(best.pens, one.pens))
            before.append(one.pens)


def rows_of(plan: Pairs, problem: PlanProblem) -> list[PlanRecord]:
    """Return a plan as the rows of a file."""
    return [
        PlanRecord(row=2, pen=pen.pen, line=pair.line, cock=pen.cock, hen=pair.hen, why="")
        for pen in pens_of(problem, plan)
        for pair in pen.pairs
    ]


def test_the_plan_near_another_keeps_most_of_it() -> None:
    gave_up = 0
    for seed, problem, _, _ in tried(range(200)):
        every, near = plans_within(problem, 2.0), plans_within(problem, 0.1)
        given = random.Random(seed).choice(every)  # noqa: S311
        together = {(pair.hen, pair.cock) for pair in given}
        told = plan_near(problem, rows_of(given, problem), within=0.1)
        kept = [len(together & {(p.hen, p.cock) for p in plan}) for plan in near]
        assert told.kept == max(kept), seed
        assert told.proved
        assert told.loss <= told.most_loss + 1e-6
        gave_up += told.loss > 1e-6
    assert gave_up >= 5


def related(problem: PlanProblem, seed: int, pairs: int) -> PlanProblem:
    """Return the problem with kinship of the group at a price, some with a limit, invented."""
    rng = random.Random(seed)  # noqa: S311
    birds = sorted({bird for one in problem.candidates for bird in (one.hen, one.cock)})
    parents = tuple(
        () if place < 2 else ((rng.randrange(2), 0.5), (rng.randrange(place), 0.5))
        for place in range(len(birds) + 2)
    )
    group = GroupKinship(
        parents=parents,
        within=tuple(0.5 if not own else 0.25 for own in parents),
        birds=tuple((bird, place + 2) for place, bird in enumerate(birds)),
        limit=rng.choice((None, 0.36, 0.4)),
        price=rng.choice((None, 0.1, 0.5)),
    )
    return replace(problem, group=group, limits=replace(problem.limits, pairs=pairs))


def test_limit_and_price_of_kinship_hold_among_near_equals() -> None:
    told_of = 0
    for seed in range(16):
        problem = related(crowded(seed), seed, 4)
        plans = plans_within(problem, 0.05)
        if not plans:
            continue
        best = solution_of(problem, plans[0])
        told = near_equals(problem, best, within=0.05)
        assert told.count == len(plans) if told.exact else told.count <= len(plans), seed
        assert told.exact or told.count > 1
        others = alternatives(problem, best, 1, within=0.05)
        apart = max(len(moved_hens(best.pens, pens_of(problem, plan))) for plan in plans)
        assert [one.apart for one in others] == ([apart] if apart else []), seed
        told_of += problem.group is not None and problem.group.limit is not None
    assert told_of >= 5
