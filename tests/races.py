"""Made-up races of plans: outcomes drawn from a seed, the plan of a small flock under all."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.ahead.choosing import chosen_plan, leads, most_ahead
from matchmaker.ahead.racing import RaceStoppedError, race_together
from matchmaker.looking import Horizon
from matchmaker.looking_further import ByOutcome, Contender, Kind, Raced, rules_for
from tests.outlooks import outlook

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from matchmaker.ahead.racing import RoundOutcomes
    from matchmaker.plan.season.season_plan import SeasonPlan


def luck(
    means: Sequence[float], replicates: int, *, own: float = 0.05, seed: int = 1
) -> NDArray[np.float64]:
    """Return outcomes, (plans, replicates): luck that all share, and of each plan some its own."""
    rng = np.random.default_rng(seed)
    shared = 0.5 * rng.standard_normal(replicates)
    drawn = own * rng.standard_normal((len(means), replicates))
    return np.asarray(np.array(means)[:, None] + shared + drawn)


def given(values: NDArray[np.float64], *, until: int | None = None) -> RoundOutcomes:
    """Return what a race asks for its outcomes; it stops at the replicate ``until``."""

    def outcomes(plans: Sequence[int], replicates: range) -> NDArray[np.float64]:
        if until is not None and replicates.stop > until:
            raise RaceStoppedError
        return np.asarray(values[list(plans), replicates.start : replicates.stop])

    return outcomes


def by_outcome(
    plan: SeasonPlan, values: NDArray[np.float64], *, until: int | None = None
) -> ByOutcome:
    """Return what is chosen by these outcomes; each plan gives up 0.4 more than the one before."""
    horizon = Horizon(seasons=6, replicates=values.shape[1], seed=7)
    rules = rules_for(horizon.replicates)
    kinds = (Kind.BEST, Kind.NEAR, *(Kind.LESS_RELATED for _ in values))
    contenders = tuple(
        Contender(number=at + 1, kind=kinds[at], plan=plan, given_up=0.4 * at, moved=3 * at)
        for at in range(len(values))
    )
    asked = ByOutcome(horizon=horizon, rules=rules, contenders=contenders, raced=None, at=0)
    if len(values) == 1:
        return asked
    try:
        race = race_together(given(values, until=until), len(values), rules)
    except RaceStoppedError:
        return asked
    played = [values[one.plan, : one.replicates] for one in race.standings]
    found = leads(played, rules)
    outlooks = []
    for at, goals in enumerate(played):
        one = outlook(f"plan {at + 1}", replicates=len(goals), seed=at + 1)
        goal = np.tile(goals[:, None], (1, one.tally.goal.shape[1]))
        outlooks.append(replace(one, tally=replace(one.tally, goal=goal)))
    raced = Raced(
        race=race, leads=found, outlooks=tuple(outlooks), most_ahead=most_ahead(race, found)
    )
    return replace(asked, raced=raced, at=chosen_plan(race, found, rules.indifferent))
