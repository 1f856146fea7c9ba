"""What a pen sheet says of eggs: whose they surely are from when, how many are set when."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.rebalance.clock import days
from matchmaker.report.days import short_day, weekday_text
from matchmaker.report.season import eggs_by_hen
from matchmaker.report.season_words import safe_sentence
from matchmaker.report.wording import listed

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator, Mapping

    from matchmaker.season.dates import EggSet
    from matchmaker.season.guide import SeasonGuide
    from matchmaker.season.safe import Safe


@dataclass(frozen=True, slots=True, kw_only=True)
class SetRow:
    """Eggs of one pen that are set on one day, or were."""

    set_on: str
    eggs: int
    done: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Eggs:
    """What is said of the eggs of a pen.

    ``marks`` tells whether they are told apart. ``first_safe`` is the first day on which eggs are
    surely those of a cock who stands in the pen, ``None`` if there is none, and ``safe_from`` that
    of each hen; ``strip`` tells it in a few words, or whose eggs there are instead. ``safe`` are
    sentences on what the days wait for, and on cocks before and after.
    ``by_hen`` tells the eggs to set of each hen where they are told apart, ``last`` until when eggs
    are set.
    """

    marks: str
    first_safe: dt.date | None
    strip: str
    safe_from: Mapping[str, dt.date | None]
    safe: tuple[str, ...]
    rows: tuple[SetRow, ...]
    total: int
    by_hen: tuple[str, ...]
    last: str


def pen_eggs(guide: SeasonGuide, pen: str, cocks: frozenset[str]) -> Eggs:
    """All that the sheet of a pen says of its eggs; ``guide`` is narrowed to that pen.

    ``cocks`` are those who stand there on the day of the sheet.
    """
    sets = [one for one in guide.sets if pen in one.eggs]
    safe = _safe_days(guide, cocks)
    first = min((day for day in safe.values() if day is not None), default=None)
    return Eggs(
        marks=_marks(guide, pen),
        first_safe=first,
        strip=_strip(guide, cocks, first),
        safe_from=safe,
        safe=tuple(_safe(guide, cocks)),
        rows=tuple(map(_row, sets)),
        total=sum(one.total for one in sets if not one.done),
        by_hen=_by_hen(guide, pen),
        last=_last(guide, sets),
    )


def _strip(guide: SeasonGuide, cocks: frozenset[str], first: dt.date | None) -> str:
    """From when on eggs are safe; where the cocks who stand there have none, whose are."""
    season = guide.table.study.flock.settings.season
    if first is not None:
        return f"Eggs safe from {weekday_text(first, season)}"
    others = {one.cock for one in guide.safe if one.since is not None}
    if not others:
        return "No safe eggs"
    return f"Safe are eggs of {listed(sorted(others))} only" + ("" if cocks else ", who left")


def _safe_days(guide: SeasonGuide, cocks: frozenset[str]) -> dict[str, dt.date | None]:
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


def _safe(guide: SeasonGuide, cocks: frozenset[str]) -> Iterator[str]:
    """What eggs wait for, and from when they are those of a cock who has left or is to come."""
    season = guide.table.study.flock.settings.season
    for one in guide.safe:
        told = safe_sentence(one, guide).removeprefix(f"Pen {one.pen}: ")
        if told:
            yield told[0].upper() + told[1:]
        elif one.since is not None and one.cock not in cocks:
            all_his = sum(one.cock == other.cock for other in guide.safe) == 1
            whose = "all hens he is with" if all_his and len(one.hens) > 1 else listed(one.hens)
            until = _until(guide, one)
            ends = "on" if until is None else f"until {weekday_text(until, season)}"
            since = weekday_text(one.since, season)
            yield f"Eggs of {whose} are surely {one.cock}'s from {since} {ends}."


def _until(guide: SeasonGuide, one: Safe) -> dt.date | None:
    """The last day on which eggs of all these hens are surely his; None where that goes on."""
    day = last = guide.table.study.flock.settings.collect_until
    diary = guide.pens.diary
    while one.since is not None and day > one.since:
        owners = [diary.credited(hen, day) for hen in one.hens]
        if all(owner is not None and owner[0] == one.cock for owner in owners):
            break
        day -= days(1)
    return None if day == last else day


def _row(one: EggSet) -> SetRow:
    return SetRow(set_on=short_day(one.set_on), eggs=one.total, done=one.done)


def _by_hen(guide: SeasonGuide, pen: str) -> tuple[str, ...]:
    """How many eggs of each hen are set in all, where they are told apart."""
    own = eggs_by_hen(guide).get(pen, {})
    told = ", ".join(f"{hen} {count}" for hen, count in sorted(own.items()))
    return (f"By hen: {told}.",) if len(own) > 1 else ()


def _last(guide: SeasonGuide, sets: list[EggSet]) -> str:
    if not sets:
        return "No eggs of this pen are to be set."
    season = guide.table.study.flock.settings.season
    return (
        f"Last day to set from this pen: {weekday_text(max(one.set_on for one in sets), season)}."
    )
