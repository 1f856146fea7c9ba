"""A season's plan before anything is lost: its pens as they would stand on a day."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from matchmaker.plan.turns import turn_label
from matchmaker.rebalance.diary import Stay
from matchmaker.rebalance.morning import diary_of
from matchmaker.rebalance.season import FlockSeason, judged_on
from matchmaker.rebalance.standing import Standing

if TYPE_CHECKING:
    import datetime as dt

    from matchmaker.plan.season_plan import FilledPen, SeasonPlan


def pens_on(plan: SeasonPlan, day: dt.date) -> Standing:
    """The pens of a plan on a day, made up as it says and nobody lost.

    Of pens with turns those of turns that have begun count; an earlier turn has ended.
    """
    stays = [stay for pen in plan.pens for stay in _stays(plan, pen) if _begun(stay, day)]
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


def _stays(plan: SeasonPlan, pen: FilledPen) -> list[Stay]:
    first, last = span_of(plan, pen)
    birds = (pen.cock, *(pair.hen for pair in pen.pairs))
    return [Stay(bird=bird, pen=pen.pen, first=first, last=last) for bird in birds]


def span_of(plan: SeasonPlan, pen: FilledPen) -> tuple[dt.date, dt.date | None]:
    """First and last day of a pen of the plan; no last one if it has no turn of its own."""
    settings = plan.table.study.flock.settings
    if not pen.turn:
        return settings.pen_up, None
    for record in plan.table.study.flock.tables.pens:
        label = turn_label(record, settings, periods=True)
        if record.open and record.pen == pen.pen and label == pen.turn:
            return max(record.first_day or settings.pen_up, settings.pen_up), record.last_day
    return settings.pen_up, None
