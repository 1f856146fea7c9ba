"""Whose the eggs are from today on, and whose those in the incubator are."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from itertools import groupby
from typing import TYPE_CHECKING, Final

from matchmaker.flock.listing import natural
from matchmaker.rebalance.clock import FULL_DAYS, days
from matchmaker.rebalance.orders import orders_of, stays_after
from matchmaker.tables.ages import INCUBATION

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from matchmaker.rebalance.diary import Diary
    from matchmaker.rebalance.posing import Posed
    from matchmaker.rebalance.responding import Answer
    from matchmaker.rebalance.standing import Standing
    from matchmaker.tables.records import EggRecord

HATCH_DAYS: Final = INCUBATION.days
"""Eggs hatch after so many days."""

SET_WITHIN: Final = 7
"""Where nobody wrote when eggs were collected: in the week before they were set."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EggRun:
    """Days, both counted, on which eggs have one lot: surely ``cock``'s and kept, or not.

    ``sires`` are all cocks whose chicks they may hold. ``falls`` is the day after which fewer are
    fertile, if that is within the run.
    """

    first: dt.date
    last: dt.date
    cock: str | None
    sires: tuple[str, ...]
    falls: dt.date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PenEggs:
    """Hens of one pen whose eggs run alike from today on; ``goes`` if they have yet to go there."""

    pen: str | None
    goes: bool
    hens: tuple[str, ...]
    runs: tuple[EggRun, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SetEggs:
    """A row of ``eggs.csv`` that has not hatched: whose the eggs may be; one name is certain."""

    row: int
    pen: str
    hen: str
    set_on: dt.date | None
    eggs: int | None
    sires: tuple[str, ...]


def eggs_to_come(
    standing: Standing, posed: Posed, answer: Answer, kept: tuple[dt.date, dt.date]
) -> tuple[PenEggs, ...]:
    """Whose the eggs are from today on, of every hen for whom something changes.

    ``kept`` are the first and the last day on which any are kept.
    """
    first, last = max(standing.day, kept[0]), kept[1]
    going, begun = stays_after(standing, posed, answer)
    diary = replace(standing.diary, stays=(*going, *begun))
    goes = {one.bird: one.enters for one in orders_of(standing, posed, answer)}
    mates = {pair.hen: pen.cock for pen in answer.pens for pair in pen.pairs}
    found: dict[tuple[str | None, bool, tuple[EggRun, ...]], list[str]] = {}
    hens_here = diary.clocks.keys() - standing.lost.keys() - standing.missing.keys()
    for hen in sorted(hens_here, key=natural):
        runs = tuple(_runs(diary, hen, first, last))
        plain = len(runs) == 1 and runs[0].cock == mates.get(hen) and hen not in goes
        if runs and not (plain and runs[0].falls is None):
            pen = goes[hen] if hen in goes else standing.pen_of.get(hen)
            moves = pen is not None and pen != standing.pen_of.get(hen)
            found.setdefault((pen, moves, runs), []).append(hen)
    return tuple(
        PenEggs(pen=pen, goes=moves, hens=tuple(hens), runs=runs)
        for (pen, moves, runs), hens in sorted(
            found.items(), key=lambda item: (item[0][0] is None, natural(item[0][0] or ""), item[1])
        )
    )


def _runs(diary: Diary, hen: str, first: dt.date, last: dt.date) -> Iterator[EggRun]:
    """Days of one lot together; those on which nobody can be the sire are left out."""
    told = (
        (first + days(number), _lot(diary, hen, first + days(number)))
        for number in range((last - first).days + 1)
    )
    for (cock, sires), same in groupby(told, key=lambda one: one[1]):
        own = [day for day, _ in same]
        if sires:
            falls = _falls(diary, hen, cock, own)
            yield EggRun(first=own[0], last=own[-1], cock=cock, sires=sires, falls=falls)


def _falls(diary: Diary, hen: str, cock: str | None, span: list[dt.date]) -> dt.date | None:
    """The day of a span after which fewer of a cock's eggs are fertile, he having gone."""
    contacts = [one for one in diary.clock(hen).contacts if one.cock == cock]
    lasts = [one.last for one in contacts if one.last is not None]
    if not lasts or len(lasts) < len(contacts):
        return None
    falls = max(lasts) + days(FULL_DAYS)
    return falls if span[0] <= falls < span[-1] else None


def _lot(diary: Diary, hen: str, day: dt.date) -> tuple[str | None, tuple[str, ...]]:
    """Whose an egg of this hen is on a day; of a pen whose eggs are not told apart of any there."""
    owners = [diary.credited(one, day) for one in _neighbours(diary, hen, day)]
    cock = next((owner[0] for owner in owners if owner is not None), None)
    return cock, possible_sires(diary, hen, day)


def _neighbours(diary: Diary, hen: str, day: dt.date) -> tuple[str, ...]:
    """The hens from whose eggs this hen's are not told apart on a day, herself among them."""
    found = {hen}
    for stay in diary.stays_of(hen):
        if stay.covers(day) and stay.pen not in diary.told_apart:
            found |= set(diary.hens_in(stay.pen, day))
    return tuple(sorted(found))


def possible_sires(diary: Diary, hen: str, day: dt.date) -> tuple[str, ...]:
    """Whose chick an egg taken as this hen's may hold.

    Where eggs are not told apart it may be a neighbour's, and so one of her cocks'.
    """
    hens = _neighbours(diary, hen, day)
    return tuple(sorted({cock for one in hens for cock in diary.clock(one).sires(day)}))


def in_the_incubator(
    eggs: Iterable[EggRecord], standing: Standing, season_from: dt.date
) -> tuple[SetEggs, ...]:
    """Eggs of this season that are set and not hatched, and whose they are by the clock."""
    found = []
    for record in eggs:
        since = record.set_on or record.collected_to or record.collected_from
        span = collected(record)
        if since is None or span is None or since < season_from or record.hatched is not None:
            continue
        if since > standing.day or since + days(HATCH_DAYS) < standing.day:
            continue
        found.append(
            SetEggs(
                row=record.row,
                pen=record.pen,
                hen=record.hen,
                set_on=record.set_on,
                eggs=record.eggs,
                sires=_sires_of(record, standing.diary, span),
            )
        )
    return tuple(found)


def collecting_days(
    first: dt.date | None, last: dt.date | None, set_on: dt.date | None
) -> tuple[dt.date, dt.date] | None:
    """Return the first and the last day of collecting a set's eggs, both counted.

    Of what nobody wrote the week before the day of setting is taken, else a week from the end that
    is written; ``None`` where no day is written at all.

    Examples
    --------
    >>> import datetime as dt
    >>> [str(day) for day in collecting_days(None, None, dt.date(2027, 2, 15))]
    ['2027-02-08', '2027-02-14']
    """
    if last is None and set_on is not None:
        last = max(set_on - days(1), first or dt.date.min)
    if last is None:
        return None if first is None else (first, first + days(SET_WITHIN - 1))
    return first or last - days(SET_WITHIN - 1), last


def collected(eggs: EggRecord) -> tuple[dt.date, dt.date] | None:
    """The days of collecting of a row of ``eggs.csv``, as far as any is written."""
    return collecting_days(eggs.collected_from, eggs.collected_to, eggs.set_on)


def _sires_of(record: EggRecord, diary: Diary, span: tuple[dt.date, dt.date]) -> tuple[str, ...]:
    """The cocks of all hens and days from which the eggs may be."""
    first, last = span
    found: set[str] = set()
    for number in range((last - first).days + 1):
        day = first + days(number)
        hens = (record.hen,) if record.hen else diary.hens_in(record.pen, day)
        for hen in hens:
            found |= set(diary.clock(hen).sires(day))
    return tuple(sorted(found))
