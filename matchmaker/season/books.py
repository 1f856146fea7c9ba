"""What the books tell of eggs and chicks: counts, and whose they are."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from typing import TYPE_CHECKING, Final

from matchmaker.rebalance.eggs import collected
from matchmaker.rebalance.morning import diary_of, written_stays
from matchmaker.tables.records import Status

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.flock.bird import Bird
    from matchmaker.flock.flock import Flock
    from matchmaker.rebalance.diary import Diary
    from matchmaker.tables.records import EggRecord

REARED_DAYS: Final = 112
"""A chick counts as reared at 16 weeks (common practice, no source)."""

MOST_A_DAY: Final = 1.0
"""A hen lays no more than an egg a day (common practice, no source)."""

NOBODY: Final = "\0"
"""Begins the name of a set whose cock is not certain: such a set is a group of its own."""


def sets_by_cock(flock: Flock, eggs: tuple[EggRecord, ...]) -> dict[str, list[tuple[int, int]]]:
    """Eggs and fertile ones of each set, by the cock whose they are."""
    diary = diary_of(flock, written_stays(flock.tables))
    found: dict[str, list[tuple[int, int]]] = defaultdict(list)
    for one in eggs:
        tries, hits = one.eggs or 0, one.fertile or 0
        if one.fertile is None or tries <= 0 or hits > tries:
            continue
        found[one.cock or _only_cock(diary, one) or f"{NOBODY}{one.row}"].append((tries, hits))
    return dict(found)


def _only_cock(diary: Diary, eggs: EggRecord) -> str | None:
    """The one cock that was in the pen in the week of the eggs, if there was one."""
    span = collected(eggs)
    if span is None:
        return None
    here = {stay.bird for stay in diary.cocks_of(eggs.pen) if _meets(stay.first, stay.last, span)}
    return here.pop() if len(here) == 1 else None


def _meets(first: dt.date | None, last: dt.date | None, span: tuple[dt.date, dt.date]) -> bool:
    begun = first is None or first <= span[1]
    return begun and (last is None or last >= span[0])


def chicks_banded(flock: Flock) -> list[tuple[int, int]]:
    """Banded chicks and those alive at 16 weeks, by hatch day, from the first death written on.

    A chick that left alive before, or is not so old yet, counts for the part of a chick that the
    losses before its age are of all losses; else those that died would be counted in full, and
    of those that did not only the few that stayed.

    Notes
    -----
    The losses by age are summed as Nelson (1972, Technometrics 14:945) and Aalen (1978, Ann Stat
    6:701) do, over all hatches; both from memory.
    """
    lives = [
        (bird.hatched, *fate)
        for bird in flock.birds
        if bird.hatched is not None and _hatched_here(bird)
        if (fate := _fate(bird, flock.today)) is not None
    ]
    since = min((day.year for day, _, died in lives if died), default=None)
    lives = [one for one in lives if since is not None and one[0].year >= since]
    losses = _losses([(age, died) for _, age, died in lives])
    found: dict[dt.date, list[float]] = defaultdict(lambda: [0.0, 0.0])
    for day, age, died in lives:
        found[day][died] += 1.0 if died else _losses_until(losses, age)
    counted = [(round(lived), int(dead)) for _, (lived, dead) in sorted(found.items())]
    return [(lived + dead, lived) for lived, dead in counted if lived + dead]


def _losses(lives: list[tuple[int, bool]]) -> list[tuple[int, float]]:
    """The ages of deaths, in order, each with the part of those so old that died then."""
    ages = sorted({age for age, died in lives if died})
    return [
        (age, lives.count((age, True)) / sum(other >= age for other, _ in lives)) for age in ages
    ]


def _losses_until(losses: list[tuple[int, float]], age: int) -> float:
    """The part of all losses that falls before a chick is so old."""
    whole = sum(part for _, part in losses)
    return sum(part for day, part in losses if day < age) / whole if whole else 1.0


def _hatched_here(bird: Bird) -> bool:
    record = bird.record
    own = bool(record.dam.candidates or record.sire.candidates) and not record.source
    return own and not record.hatched_is_year


def _fate(bird: Bird, today: dt.date) -> tuple[int, bool] | None:
    """The age to which a chick is known to have lived, and whether it then died, under 16 weeks.

    ``None`` where a bird is gone and nobody wrote when.
    """
    end = today if bird.alive_here else bird.record.left_on
    age = None if end is None else bird.age_on(end)
    if age is None or age < 0:
        return None
    return (age, age < REARED_DAYS and bird.record.status is Status.DEAD)


def eggs_a_hen(flock: Flock) -> tuple[tuple[float, int] | None, tuple[int, ...]]:
    """The most eggs set a hen and week, and the rows that are more than hens can lay."""
    laid = list(_laid(flock))
    possible = [one for one in laid if one[0] <= 7.0 * MOST_A_DAY]
    too_many = tuple(row for each, row in laid if each > 7.0 * MOST_A_DAY)
    return max(possible, default=None), too_many


def _laid(flock: Flock) -> Iterator[tuple[float, int]]:
    """Eggs a hen and week of each set whose hens and days are known, with its row."""
    diary = diary_of(flock, written_stays(flock.tables))
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
