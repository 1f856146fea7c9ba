"""What a plan that is put into the pens writes to ``moves.csv``: who leaves, and who comes in."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.errors import UsageError
from matchmaker.plan.posing.turns import turn_label
from matchmaker.tables.amend import Amendment, written_date

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from matchmaker.plan.season.season_plan import FilledPen, SeasonPlan
    from matchmaker.tables.records import MoveRecord


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedStay:
    """A bird's stay in a pen as planned: its first day, and its last where the pen has one."""

    bird: str
    pen: str
    first: dt.date
    last: dt.date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PenUp:
    """What making up the pens changes in the moves.

    ``ends`` maps the row of a stay to the day it ends; ``comes`` are the stays to be written anew;
    ``leaving`` are birds, each with its pen, that stand in a pen of the plan without being in it.
    """

    ends: Mapping[int, dt.date]
    comes: tuple[PlannedStay, ...]
    leaving: tuple[tuple[str, str], ...]


def planned_stays(plan: SeasonPlan) -> tuple[PlannedStay, ...]:
    """Every bird of the plan with its pen: pens in their order, the cock first, then his hens."""
    found: dict[PlannedStay, None] = {}
    for pen in plan.pens:
        first, last = _span(plan, pen)
        for bird in (pen.cock, *(pair.hen for pair in pen.pairs)):
            found[PlannedStay(bird=bird, pen=pen.pen, first=first, last=last)] = None
    return tuple(found)


def pen_up_moves(plan: SeasonPlan) -> PenUp:
    """What the moves must say for the pens to be made up by a plan on the day of its settings.

    Raises
    ------
    UsageError
        If the moves say already that one of the birds is elsewhere after that day.
    """
    flock = plan.table.study.flock
    planned, day = planned_stays(plan), flock.settings.pen_up
    pens, birds = {stay.pen for stay in planned}, _by_bird(planned)
    moves = sorted(flock.tables.moves, key=lambda move: move.row)
    ends: dict[int, dt.date] = {}
    leaving: list[tuple[str, str]] = []
    for move in moves:
        stays, bird = birds.get(move.bird, []), flock.by_band()[move.bird]
        _refuse_later(plan, move, stays)
        end = _end(move, stays, pens, day)
        if end is None:
            continue
        if bird.alive_here:
            leaving += [] if stays else [(move.bird, move.pen)]
        else:
            end = min(end, bird.record.left_on or end)
        ends[move.row] = _in_order(plan, move, end)
    comes = tuple(stay for stay in planned if not any(_kept(stay, move, day) for move in moves))
    return PenUp(ends=ends, comes=comes, leaving=tuple(leaving))


def pen_up_amendment(plan: SeasonPlan, found: PenUp) -> Amendment:
    """The changes as cells of ``moves.csv``, days as the keeper writes his."""
    settings = plan.table.study.flock.settings
    return Amendment(
        cells={(row, "moved_out"): written_date(day, settings) for row, day in found.ends.items()},
        added=[
            {
                "bird": stay.bird,
                "pen": stay.pen,
                "moved_in": written_date(stay.first, settings),
                "moved_out": "" if stay.last is None else written_date(stay.last, settings),
            }
            for stay in found.comes
        ],
    )


def _span(plan: SeasonPlan, filled: FilledPen) -> tuple[dt.date, dt.date | None]:
    """First and last day of a pen's turn; a pen that is free to the end has no last day."""
    flock = plan.table.study.flock
    settings = flock.settings
    for pen in flock.tables.pens:
        label = turn_label(pen, settings, periods=bool(filled.turn))
        if pen.open and pen.pen == filled.pen and label == filled.turn:
            return max(pen.first_day or settings.pen_up, settings.pen_up), pen.last_day
    return settings.pen_up, None


def _by_bird(planned: Iterable[PlannedStay]) -> Mapping[str, list[PlannedStay]]:
    stays: dict[str, list[PlannedStay]] = defaultdict(list)
    for stay in planned:
        stays[stay.bird].append(stay)
    return stays


def _kept(stay: PlannedStay, move: MoveRecord, day: dt.date) -> bool:
    """Whether a row of the moves is this planned stay, so that no other is needed."""
    if (move.bird, move.pen) != (stay.bird, stay.pen):
        return False
    lasts = move.moved_out in {None, stay.last}
    if stay.first > day:  # the stay of a later turn: written for that turn, not one from before
        return lasts and move.moved_in == stay.first
    begun = move.moved_in is None or move.moved_in <= day
    return lasts and (begun or (move.moved_out is None and stay.last is None))


def _end(
    move: MoveRecord, planned: list[PlannedStay], pens: set[str], day: dt.date
) -> dt.date | None:
    """The day to be written as the last of a stay, ``None`` where none is to be written.

    A pen of the plan is cleared on the day the pens are made up; from elsewhere a bird is fetched
    when its own turn begins.
    """
    if move.moved_out is not None:
        return None
    kept = [stay for stay in planned if _kept(stay, move, day)]
    if kept:
        return kept[0].last
    if move.pen in pens:
        return day
    return min((stay.first for stay in planned), default=None)


def _in_order(plan: SeasonPlan, move: MoveRecord, end: dt.date) -> dt.date:
    """Refuse to end a stay before it began."""
    if move.moved_in is not None and move.moved_in > end:
        raise UsageError(
            f"{_place(plan, move)}: {move.bird} came into pen {move.pen} on {move.moved_in}, but "
            f"would have to leave it on {end}; mend that row, or make up the pens on a later day"
        )
    return end


def _refuse_later(plan: SeasonPlan, move: MoveRecord, planned: Iterable[PlannedStay]) -> None:
    """Refuse a plan for days of which the moves say already where a bird was."""
    day = plan.table.study.flock.settings.pen_up
    if move.moved_out is None or any(_kept(stay, move, day) for stay in planned):
        return
    since = move.moved_in or dt.date.min
    for stay in planned:
        if max(since, stay.first) < min(move.moved_out, stay.last or dt.date.max):
            raise UsageError(
                f"{_place(plan, move)}: {move.bird} is in pen {move.pen} until "
                f"{move.moved_out}, but in pen {stay.pen} from {stay.first} by the plan; delete "
                "that row if it was only planned, mend its day, or make up the pens on a later day"
            )


def _place(plan: SeasonPlan, move: MoveRecord) -> str:
    place = plan.table.study.flock.tables.place("moves", move.row)
    return f"{place['file']}, row {place['row']}"
