"""The parts of a season: cocks that follow each other in a pen, and the eggs that count in each."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.pairs.value import DAYS_TO_FERTILE, credited_days

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from matchmaker.errors import Fault
    from matchmaker.settings import Settings
    from matchmaker.tables.folder import FolderTables
    from matchmaker.tables.records import PenRecord


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """A period for which pens are free, and the eggs that are kept from it.

    ``label`` is "" where there is only the whole season. ``first`` and ``last`` are its days, both
    counted. ``eggs_from`` is the first day on which eggs count for the cock of this turn;
    ``clean_out`` says that it waits for what an earlier cock may have left. ``days`` are the days
    on which eggs are kept, ``part`` their share of those of a whole season.
    """

    label: str
    first: dt.date
    last: dt.date
    eggs_from: dt.date
    days: int
    part: float
    clean_out: bool = False


def turn_label(pen: PenRecord, settings: Settings, *, periods: bool) -> str:
    """What the turn of a pen is called: "" where no pen has a period, else its days."""
    first, last = _days(pen, settings)
    return f"{first} to {last}" if periods else ""


def has_periods(pens: Iterable[PenRecord]) -> bool:
    """Whether any open pen is free for a part of the season only."""
    return any(pen.open and (pen.first_day or pen.last_day) for pen in pens)


def season_turns(pens: Iterable[PenRecord], settings: Settings) -> tuple[Turn, ...]:
    """The turns of the open pens in which eggs are kept, by their first and last day.

    There is always one, though it may be without a day for eggs.

    Eggs count from a week after a cock came in, and not before ``collect_from``. In a turn before
    which another one has ended a hen may have been with another cock: her eggs count from
    ``clean_out_days`` after that turn's last day. Who was where is not known here, so this holds
    for all hens of the turn. That is cautious: a hen that stays with one cock, or that was in no
    pen, loses nothing in truth.
    """
    opened = [pen for pen in pens if pen.open]
    periods = has_periods(opened)
    spans = {(turn_label(pen, settings, periods=periods), *_days(pen, settings)) for pen in opened}
    if not spans:
        spans = {("", settings.pen_up, settings.collect_until)}
    found: list[Turn] = []
    ordered = sorted(spans, key=lambda span: (span[1], span[2]))
    for label, first, last in ordered:
        turn = _turn(label, (first, last), settings, found)
        if turn.days > 0:
            found.append(turn)
    if not found:
        label, first, last = ordered[0]
        found.append(_turn(label, (first, last), settings, ()))
    return tuple(found)


def overlapping(turns: Sequence[Turn]) -> tuple[tuple[str, ...], ...]:
    """The largest sets of turns that have a day in common, labels in order of their first days.

    Among periods every such set is that of some turn's first day.
    """
    at_once = [
        tuple(turn.label for turn in turns if turn.first <= day.first <= turn.last) for day in turns
    ]
    largest = [
        one for one in dict.fromkeys(at_once) if not any(set(one) < set(other) for other in at_once)
    ]
    return tuple(largest)


def _days(pen: PenRecord, settings: Settings) -> tuple[dt.date, dt.date]:
    return (pen.first_day or settings.pen_up, pen.last_day or settings.collect_until)


def _turn(
    label: str, span: tuple[dt.date, dt.date], settings: Settings, earlier: Sequence[Turn]
) -> Turn:
    first, last = span
    begins = max(first, settings.pen_up)
    ended = [turn.last for turn in earlier if turn.last < first]
    start = max(settings.collect_from, begins + dt.timedelta(days=DAYS_TO_FERTILE))
    if ended:
        clean = max(ended) + dt.timedelta(days=settings.limits.clean_out_days)
        start = max(start, clean)
    days = max((min(last, settings.collect_until) - start).days + 1, 0)
    whole = credited_days(settings)
    return Turn(
        label=label,
        first=first,
        last=last,
        eggs_from=start,
        days=days,
        part=days / whole if whole else 0.0,
        clean_out=bool(ended),
    )


def pens_without_eggs(tables: FolderTables) -> list[Fault]:
    """A doubt for each open pen whose period leaves no day on which its eggs are kept."""
    settings = tables.settings
    if settings is None or not has_periods(tables.pens):
        return []
    used = {turn.label for turn in season_turns(tables.pens, settings) if turn.days}
    return [
        tables.fault(
            "pens",
            pen.row,
            "from" if pen.first_day else "until",
            kind="no-egg-days",
            value=str(pen.first_day or pen.last_day),
            problem=f"no eggs of pen {pen.pen} are kept in this period: they count from a week "
            f"after the cock came in and {settings.limits.clean_out_days} days after an earlier "
            f"turn, from {settings.collect_from} to {settings.collect_until}",
            mend="lengthen the period, or the days on which eggs are collected",
        )
        for pen in tables.pens
        if pen.open and turn_label(pen, settings, periods=True) not in used
    ]
