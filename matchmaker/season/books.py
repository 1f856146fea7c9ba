"""What the books tell of eggs and chicks: counts, and whose they are."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from typing import TYPE_CHECKING, Final

from matchmaker.rebalance.diary import Diary
from matchmaker.rebalance.morning import written_stays
from matchmaker.tables.records import Sex, Status

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.flock.bird import Bird
    from matchmaker.flock.flock import Flock
    from matchmaker.tables.records import EggRecord

REARED_DAYS: Final = 112
"""A chick counts as reared at 16 weeks (common practice, no source)."""

MOST_A_DAY: Final = 1.0
"""A hen lays no more than an egg a day (common practice, no source)."""

NOBODY: Final = "\0"
"""Begins the name of a set whose cock is not certain: such a set is a group of its own."""


def sets_by_cock(flock: Flock, eggs: tuple[EggRecord, ...]) -> dict[str, list[tuple[int, int]]]:
    """Eggs and fertile ones of each set, by the cock whose they are."""
    diary = _books(flock)
    found: dict[str, list[tuple[int, int]]] = defaultdict(list)
    for one in eggs:
        tries, hits = one.eggs or 0, one.fertile or 0
        if one.fertile is None or tries <= 0 or hits > tries:
            continue
        found[one.cock or _only_cock(diary, one) or f"{NOBODY}{one.row}"].append((tries, hits))
    return dict(found)


def _books(flock: Flock) -> Diary:
    cocks = frozenset(bird.band for bird in flock.birds if bird.sex is Sex.COCK)
    return Diary(stays=written_stays(flock.tables), cocks=cocks, told_apart=frozenset())


def _only_cock(diary: Diary, eggs: EggRecord) -> str | None:
    """The one cock that was in the pen in the week of the eggs, if there was one."""
    span = collected(eggs)
    if span is None:
        return None
    here = {stay.bird for stay in diary.cocks_of(eggs.pen) if _meets(stay.first, stay.last, span)}
    return here.pop() if len(here) == 1 else None


def collected(eggs: EggRecord) -> tuple[dt.date, dt.date] | None:
    """The days of a set's eggs; the week before it was set where they are not written."""
    last = eggs.collected_to or (eggs.set_on and eggs.set_on - dt.timedelta(days=1))
    first = eggs.collected_from or (last and last - dt.timedelta(days=6))
    last = last or (first and first + dt.timedelta(days=6))
    return None if first is None or last is None or last < first else (first, last)


def _meets(first: dt.date | None, last: dt.date | None, span: tuple[dt.date, dt.date]) -> bool:
    begun = first is None or first <= span[1]
    return begun and (last is None or last >= span[0])


def chicks_banded(flock: Flock) -> list[tuple[int, int]]:
    """Banded chicks and those alive at 16 weeks, by hatch day, from the first death written on."""
    fates = [
        (bird.hatched, fate)
        for bird in flock.birds
        if bird.hatched is not None and _hatched_here(bird)
        if (fate := _fate(bird, flock.today)) is not None
    ]
    since = min((day.year for day, lived in fates if not lived), default=None)
    found: dict[dt.date, list[bool]] = defaultdict(list)
    for day, lived in fates:
        if since is not None and day.year >= since:
            found[day].append(lived)
    return [(len(lived), sum(lived)) for _, lived in sorted(found.items())]


def _hatched_here(bird: Bird) -> bool:
    record = bird.record
    own = bool(record.dam.candidates or record.sire.candidates) and not record.source
    return own and not record.hatched_is_year


def _fate(bird: Bird, today: dt.date) -> bool | None:
    """Whether a chick lived for 16 weeks; ``None`` where that is not known."""
    end = bird.record.left_on or today
    age = bird.age_on(end)
    if age is None:
        return None
    if age >= REARED_DAYS:
        return True
    dead = bird.record.status is Status.DEAD and bird.record.left_on is not None
    return False if dead else None


def eggs_a_hen(flock: Flock) -> tuple[tuple[float, int] | None, tuple[int, ...]]:
    """The most eggs set a hen and week, and the rows that are more than hens can lay."""
    laid = list(_laid(flock))
    possible = [one for one in laid if one[0] <= 7.0 * MOST_A_DAY]
    too_many = tuple(row for each, row in laid if each > 7.0 * MOST_A_DAY)
    return max(possible, default=None), too_many


def _laid(flock: Flock) -> Iterator[tuple[float, int]]:
    """Eggs a hen and week of each set whose hens and days are known, with its row."""
    diary = _books(flock)
    for one in flock.tables.eggs:
        span = collected(one)
        if span is None or not one.eggs or (one.collected_from is None):
            continue
        days = [
            span[0] + dt.timedelta(days=number) for number in range((span[1] - span[0]).days + 1)
        ]
        hens = sum(1 if one.hen else len(diary.hens_in(one.pen, day)) for day in days)
        if hens:
            yield 7.0 * one.eggs / hens, one.row
