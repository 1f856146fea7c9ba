"""What a pen sheet says of eggs: whose they surely are from when, how many are set when."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.report.days import short_day, short_span
from matchmaker.report.season_dates import date_text, due_words
from matchmaker.report.season_words import safe_sentence
from matchmaker.report.wording import listed
from matchmaker.season.dates import Task

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator, Mapping

    from matchmaker.season.dates import EggSet
    from matchmaker.season.guide import SeasonGuide


@dataclass(frozen=True, slots=True, kw_only=True)
class SetRow:
    """Eggs of one pen that are set on one day."""

    number: str
    laid: str
    set_on: str
    eggs: int
    hatches: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Eggs:
    """What is said of the eggs of a pen.

    ``marks`` tells whether they are told apart, ``safe`` from when they are surely a cock's, one
    sentence for each kind of hens; ``first_safe`` is the earliest such day, "" if there is none.
    ``by_hen`` are the eggs to set of each hen where they are told apart, ``last`` says until when
    eggs are set.
    """

    marks: str
    first_safe: str
    safe: tuple[str, ...]
    rows: tuple[SetRow, ...]
    total: int
    by_hen: Mapping[str, int]
    last: tuple[str, ...]


def pen_eggs(guide: SeasonGuide, pen: str) -> Eggs:
    """All that the sheet of a pen says of its eggs; ``guide`` is narrowed to that pen."""
    sets = [one for one in guide.sets if pen in one.eggs]
    rows = tuple(_row(one, pen) for one in sets)
    since = [one.since for one in guide.safe if one.since is not None]
    season = guide.table.study.flock.settings.season
    return Eggs(
        marks=_marks(guide, pen),
        first_safe=date_text(min(since), season) if since else "",
        safe=tuple(_safe(guide)),
        rows=rows,
        total=sum(row.eggs for row in rows),
        by_hen=_by_hen(guide, pen),
        last=tuple(_last(guide, sets)),
    )


def safe_days(guide: SeasonGuide, cocks: frozenset[str]) -> dict[str, dt.date | None]:
    """By hen the first day on which her eggs are surely one of these cocks'."""
    found: dict[str, dt.date | None] = {}
    for one in guide.safe:
        for hen in one.hens if one.cock in cocks else ():
            known = found.get(hen)
            found[hen] = one.since if known is None else min(known, one.since or known)
    return found


def _marks(guide: SeasonGuide, pen: str) -> str:
    told = pen in guide.pens.diary.told_apart
    return "Mark each egg with her band." if told else "Eggs are not told apart: mark the pen."


def _safe(guide: SeasonGuide) -> Iterator[str]:
    season = guide.table.study.flock.settings.season
    for one in guide.safe:
        told = safe_sentence(one, guide).removeprefix(f"Pen {one.pen}: ")
        if told:
            yield told[0].upper() + told[1:]
        elif one.since is not None:
            yield (
                f"Eggs of {listed(one.hens)} are surely {one.cock}'s from "
                f"{date_text(one.since, season)} on."
            )


def _row(one: EggSet, pen: str) -> SetRow:
    first, last = one.first, one.last
    return SetRow(
        number=one.number,
        laid="set already" if first is None or last is None else short_span(first, last),
        set_on=short_day(one.set_on),
        eggs=one.eggs[pen],
        hatches=short_day(one.hatches),
    )


def _by_hen(guide: SeasonGuide, pen: str) -> dict[str, int]:
    found: dict[str, int] = {}
    for lot, count in guide.rows:
        if lot.hen and lot.pen == pen:
            found[lot.hen] = found.get(lot.hen, 0) + count
    return found


def _last(guide: SeasonGuide, sets: list[EggSet]) -> Iterator[str]:
    season = guide.table.study.flock.settings.season
    if sets:
        yield f"Last set of this pen: {date_text(max(one.set_on for one in sets), season)}."
    else:
        yield "No eggs of this pen are to be set."
    limits = [due for due in guide.dates if due.task is Task.LAST_SET]
    if sets and limits:
        first = min(limits, key=lambda due: due.day)
        yield f"{due_words(first, guide.table)}: {date_text(first.day, season)}."
