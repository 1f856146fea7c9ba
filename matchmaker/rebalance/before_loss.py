"""A season's plan before anything is lost: its pens as they would stand on a day."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from matchmaker.plan.posing.turns import season_turns
from matchmaker.rebalance.diary import Stay
from matchmaker.rebalance.morning import diary_of
from matchmaker.rebalance.season import FlockSeason, judged_on
from matchmaker.rebalance.standing import Standing

if TYPE_CHECKING:
    import datetime as dt

    from matchmaker.plan.season.season_plan import SeasonPlan


def pens_on(plan: SeasonPlan, day: dt.date) -> Standing:
    """The pens of a plan on a day, made up as it says and nobody lost.

    Of pens with turns those of turns that have begun count; an earlier turn has ended.
    """
    stays = [stay for stay in stays_of_plan(plan) if _begun(stay, day)]
    cut = tuple(
        stay if stay.last is not None and stay.last < day else replace(stay, last=None)
        for stay in stays
    )
    return Standing(
        day=day,
        diary=diary_of(plan.table.study.flock, cut),
        pen_of={stay.bird: stay.pen for stay in cut if stay.last is None},
        from_plan=True,
    )


def season_of(plan: SeasonPlan, day: dt.date) -> FlockSeason:
    """The season of a plan with its birds as they are on a day."""
    return FlockSeason(table=judged_on(plan.table.study, day))


def _begun(stay: Stay, day: dt.date) -> bool:
    return stay.first is None or stay.first < day


def stays_of_plan(plan: SeasonPlan) -> list[Stay]:
    """The pens of a plan as stays; without an end where they have no part of the season."""
    flock = plan.table.study.flock
    turns = {turn.label: turn for turn in season_turns(flock.tables.pens, flock.settings)}
    found = []
    for pen in plan.pens:
        turn = turns[pen.turn]
        first, last = max(flock.settings.pen_up, turn.first), turn.last if pen.turn else None
        birds = (pen.cock, *(pair.hen for pair in pen.pairs))
        found += [Stay(bird=bird, pen=pen.pen, first=first, last=last) for bird in birds]
    return found
