"""Which plan to take after a race: the best of this spring, unless another is surely ahead."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.ahead.paired import paired_difference
from matchmaker.ahead.racing import too_alike
from matchmaker.ahead.student import quantile_above

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.ahead.paired import Values
    from matchmaker.ahead.racing import Race, RaceRules

BEST = 0
"""The number of the best plan of this spring: the one that stays unless another is ahead."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lead:
    """How far a plan is ahead of the best one (below 0: behind), in the outcome's unit.

    Over ``replicates`` that both ran on the same luck. ``low`` and ``high`` are where the race's
    own bound puts the difference, for all plans and rounds together with 1 − ``alpha``; without
    end where too little was seen.
    """

    mean: float
    se: float
    low: float
    high: float
    replicates: int


def leads(outcomes: Sequence[Values], rules: RaceRules) -> tuple[Lead, ...]:
    """How far each plan is ahead of the first, by the outcomes that a race asked for.

    Examples
    --------
    >>> from matchmaker.ahead.racing import RaceRules
    >>> rules = RaceRules(first=4, step=4, most=4)
    >>> found = leads([[1.0, 3.0, 2.0, 5.0], [2.0, 4.0, 3.5, 6.5]], rules)[1]
    >>> found.mean, round(found.low, 2), round(found.high, 2), found.replicates
    (1.25, 0.91, 1.59, 4)
    """
    return tuple(_lead(own, outcomes[BEST], len(outcomes), rules) for own in outcomes)


def _lead(own: Values, best: Values, plans: int, rules: RaceRules) -> Lead:
    count = min(len(own), len(best))
    found = paired_difference(own[:count], best[:count])
    last = next(some for some in rules.rounds() if some.stop == count)
    chance = rules.spent_in(last, plans)
    half = quantile_above(chance, count - 1) * found.se
    if own is not best and found.mean == 0 == found.se and too_alike(count, chance):
        half = math.inf
    return Lead(
        mean=found.mean,
        se=found.se,
        low=found.mean - half,
        high=found.mean + half,
        replicates=count,
    )


def chosen_plan(race: Race, found: Sequence[Lead], indifferent: float) -> int:
    """The number of the plan to take.

    The best plan of this spring (number 0) stays unless it was sent away, and of the plans still
    racing one is ahead of it by more than ``indifferent`` on average and surely by more than
    nothing. Of several such the one of the best mean is taken.

    Notes
    -----
    That a plan is called ahead of the best one without being so has a chance of at most ``alpha``:
    only its comparisons with the others count, whose bounds add up as those of ``race_together``.
    A plan that is ahead of one that was itself ahead of the best one is not taken for that alone.
    """
    if race.standings[BEST].left_at_round is None:
        return BEST
    ahead = [
        standing.plan
        for standing, lead in zip(race.standings, found, strict=True)
        if standing.left_at_round is None and lead.low > 0 and lead.mean > indifferent
    ]
    return max(ahead, key=lambda plan: (race.standings[plan].mean, -plan), default=BEST)


def most_ahead(race: Race, found: Sequence[Lead]) -> float:
    """By how much any plan can be ahead of the best one, but for ``alpha``; 0 if none can.

    Only plans still racing can be the one that leads furthest.
    """
    still = [
        lead.high
        for one, lead in zip(race.standings, found, strict=True)
        if one.plan != BEST and one.left_at_round is None
    ]
    return max([0.0, *still])
