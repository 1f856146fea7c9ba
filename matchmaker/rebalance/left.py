"""What is left of the season's minimums, limits, tests and wishes on the day of a loss."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from matchmaker.plan.posing.problem import (
    BirdInPen,
    BirdNotInPen,
    BirdUsed,
    HensApart,
    HensTogether,
    PairTogether,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from matchmaker.plan.posing.problem import (
        Candidate,
        Demand,
        LineGoal,
        PlanLimits,
        PlanProblem,
        TestGoal,
    )
    from matchmaker.rebalance.banked import Bank
    from matchmaker.rebalance.standing import Standing


def with_banked(goal: LineGoal, banked: Bank) -> LineGoal:
    """A line with what it has already; its minimums of chicks are lower by it."""
    own = [one for one in banked.pairs if one.line == goal.line]

    def left(field: str) -> float:
        least: float = getattr(goal, f"{field}_min")
        had: float = sum(getattr(one, field) for one in own)
        return max(0.0, least - had)

    return replace(
        goal,
        banked=round(sum(one.value for one in own), 6),
        wanted_min=left("wanted"),
        wanted_cocks_min=left("wanted_cocks"),
        wanted_hens_min=left("wanted_hens"),
        sure_cocks_min=left("sure_cocks"),
        sure_hens_min=left("sure_hens"),
    )


def limits_left(limits: PlanLimits, standing: Standing, banked: Bank) -> PlanLimits:
    """The season's limits; room is left for what is on its way whatever is done today.

    Those are chicks of all eggs that are banked, and the eggs that hens without a cock still lay.
    """
    chicks = sum(one.chicks for one in banked.pairs)
    cockless = [one for hen, one in banked.still.items() if standing.cockless_since(hen)]
    eggs = sum(one.eggs for one in cockless)
    return replace(
        limits,
        pairs=None,
        chicks_max=None if limits.chicks_max is None else max(0.0, limits.chicks_max - chicks),
        eggs_max=None if limits.eggs_max is None else max(0.0, limits.eggs_max - eggs),
    )


def tests_left(
    base: PlanProblem, candidates: Sequence[Candidate], banked: Bank
) -> Iterator[TestGoal]:
    """What more test chicks of each bird are worth, beyond those there are."""
    tested = {one.tested for one in candidates if one.tested}
    for goal in base.tests:
        chicks = sum(one.test_chicks for one in banked.pairs if one.tested == goal.bird)
        if goal.bird in tested:
            pieces = tuple((slope, start + slope * chicks) for slope, start in goal.pieces)
            yield replace(goal, pieces=pieces)


def wishes_left(
    base: PlanProblem,
    standing: Standing,
    candidates: Sequence[Candidate],
    banked: Bank,
) -> tuple[tuple[Demand, ...], tuple[Demand, ...]]:
    """The wishes that can still be kept, and those about birds or pens that are out of question.

    That a bird be used is fulfilled once eggs of it have been kept; who is nowhere is apart.
    """
    pairs = {(one.hen, one.cock) for one in candidates}
    hens = {one.hen for one in candidates}
    birds = hens | {one.cock for one in candidates}

    def possible(wish: Demand) -> bool:
        match wish:
            case PairTogether():
                return (wish.hen, wish.cock) in pairs
            case BirdInPen() | BirdNotInPen():
                return wish.bird in birds and wish.pen not in standing.closed
            case HensTogether() | HensApart():
                return {wish.first, wish.second} <= hens
            case BirdUsed():
                return wish.bird in birds

    kept = tuple(wish for wish in base.demands if possible(wish))
    had = frozenset(bird for one in banked.pairs for bird in (one.hen, one.cock))
    dropped = (wish for wish in base.demands if wish not in kept)
    return kept, tuple(wish for wish in dropped if not _kept_anyway(wish, had))


def _kept_anyway(wish: Demand, had: frozenset[str]) -> bool:
    """Whether a wish that is not posed is fulfilled: who had eggs was used, the gone are apart."""
    if isinstance(wish, BirdUsed):
        return wish.bird in had
    return isinstance(wish, HensApart | BirdNotInPen)
