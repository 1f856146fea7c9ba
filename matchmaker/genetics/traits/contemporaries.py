"""Contemporaries: which scores may be compared with each other, having had the same chances.

Birds of one hatch and sex that lived together and were scored at one age. A group with too few
birds says little by itself and joins the one nearest to it.
"""

from __future__ import annotations

import heapq
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, TypeAlias

import numpy as np

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable, Hashable, Sequence

    from matchmaker.genetics.kin.ancestry import Nodes
    from matchmaker.tables.records import Sex

SMALLEST: Final = 4
"""A group with fewer scored birds joins another."""

NO_DAY: Final = 10**7
"""Day of a hatch that nobody wrote down: far from every other."""

Key: TypeAlias = tuple[str, int, int, str]
"""Sex, day of hatching, age when scored and the group given, as they are sorted."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Circumstances:
    """When and among whom a bird was scored; ``age`` is in whole years, ``None`` if unknown."""

    sex: Sex | None
    hatched: dt.date | None
    given: str = ""
    age: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Contemporaries:
    """Groups of scores that are compared with each other.

    ``groups`` (shape (scores,)) are numbers of groups from 0 on; ``names`` say each group in
    words, ``sexes`` whose it is, and ``joined`` the groups that were too small and went into it.
    """

    groups: Nodes
    names: tuple[str, ...] = ()
    sexes: tuple[Sex | None, ...] = ()
    joined: tuple[tuple[str, ...], ...] = ()


def age_in_years(hatched: dt.date | None, scored: dt.date | None) -> int | None:
    """Whole years from hatching to scoring, ``None`` if one of the days is not known.

    Examples
    --------
    >>> from datetime import date
    >>> age_in_years(date(2024, 4, 12), date(2025, 4, 11))
    0
    >>> age_in_years(date(2024, 4, 12), date(2025, 4, 12))
    1
    """
    if hatched is None or scored is None:
        return None
    before = (scored.month, scored.day) < (hatched.month, hatched.day)
    return scored.year - hatched.year - before


def contemporaries_of(
    birds: Sequence[int], circumstances: Sequence[Circumstances]
) -> Contemporaries:
    """Sort scores into groups of contemporaries; ``birds`` says whose each score is.

    Notes
    -----
    At first a group is one hatch, sex, group given and age. While one of a sex has fewer than
    ``SMALLEST`` birds, the one with the fewest (among equals the first in order of sex, hatch, age
    and group given) joins its nearest: of the same season, age and group given, else of the same
    season and age, else of the same age, else any of its sex; among these the nearest by day of
    hatching, of several as near the next before it in that order, else the next behind. Where the
    hatch is not known, one of the same group given comes first. The order of the scores does not
    matter.

    Examples
    --------
    A hatch of four, and a late pullet that joins it:

    >>> from datetime import date
    >>> from matchmaker.tables.records import Sex
    >>> days = [date(2026, 4, 2)] * 4 + [date(2026, 5, 20)]
    >>> scored = [Circumstances(sex=Sex.HEN, hatched=day, age=0) for day in days]
    >>> found = contemporaries_of(range(5), scored)
    >>> found.groups.tolist(), found.names, found.joined
    ([0, 0, 0, 0, 0], ('hens hatched 2026-04-02',), (('hens hatched 2026-05-20',),))
    """
    # Numbered first, for there are many scores and few circumstances.
    numbers: dict[Circumstances, int] = {}
    of_scores = [numbers.setdefault(at, len(numbers)) for at in circumstances]
    members: list[set[int]] = [set() for _ in numbers]
    for bird, one in zip(birds, of_scores, strict=True):
        members[one].add(int(bird))
    listed = sorted(numbers, key=_key)
    ends = _Merging(listed, [members[numbers[at]] for at in listed]).merged()
    kept = sorted(set(ends))
    number = dict(zip(kept, range(len(kept)), strict=True))
    joined: list[list[str]] = [[] for _ in kept]
    for place, end in enumerate(ends):
        if place != end:
            joined[number[end]].append(_name(listed[place]))
    group_of = np.zeros(len(listed), dtype=np.int64)
    for at, end in zip(listed, ends, strict=True):
        group_of[numbers[at]] = number[end]
    return Contemporaries(
        groups=group_of[np.array(of_scores, dtype=np.int64)],
        names=tuple(_name(listed[place]) for place in kept),
        sexes=tuple(listed[place].sex for place in kept),
        joined=tuple(map(tuple, joined)),
    )


def _day(at: Circumstances) -> int:
    return NO_DAY if at.hatched is None else at.hatched.toordinal()


def _season(at: Circumstances) -> int | None:
    return None if at.hatched is None else at.hatched.year


def _age(at: Circumstances) -> int:
    return -1 if at.age is None else at.age


def _key(at: Circumstances) -> Key:
    return (at.sex or "", _day(at), _age(at), at.given)


def _name(at: Circumstances) -> str:
    who = f"{at.sex}s" if at.sex else "birds of unknown sex"
    when = f"hatched {at.hatched}" if at.hatched else "of unknown hatch"
    given = f", group {at.given}" if at.given else ""
    age = f", scored at {at.age} years" if at.age and at.age > 1 else ""
    age = ", scored at one year" if at.age == 1 else age
    return f"{who} {when}{given}{age}"


_NEARNESS: Final[tuple[Callable[[Circumstances], Hashable], ...]] = (
    lambda at: (at.sex, _season(at), at.age, at.given),
    lambda at: (at.sex, _season(at), at.age),
    lambda at: (at.sex, at.age),
    lambda at: at.sex,
    lambda at: (at.sex, at.given),
)
"""What two groups may have in common: see ``_tiers``."""


def _tiers(at: Circumstances) -> tuple[int, ...]:
    """In which chains to look for the nearest group, one after the other.

    Where nobody knows the hatch, the group given is the only sign of who its contemporaries were.
    """
    return (4, 1, 2, 3) if at.hatched is None and at.given else (0, 1, 2, 3)


NOBODY: Final = -1


class _Chain:
    """Groups in the order of their numbers, those with something in common linked up.

    Groups that are gone are passed over.
    """

    def __init__(self, commons: Sequence[Hashable], days: Sequence[int]) -> None:
        self._days = days
        self._before = [NOBODY] * len(commons)
        self._after = [NOBODY] * len(commons)
        last: dict[Hashable, int] = {}
        for at, common in enumerate(commons):
            earlier = last.get(common, NOBODY)
            last[common] = at
            if earlier != NOBODY:
                self._before[at], self._after[earlier] = earlier, at

    def remove(self, at: int) -> None:
        earlier, later = self._before[at], self._after[at]
        if later != NOBODY:
            self._before[later] = earlier
        if earlier != NOBODY:
            self._after[earlier] = later

    def nearest(self, at: int) -> int:
        """The nearer neighbour by day of hatching, the earlier of two, ``NOBODY`` if none."""
        earlier, later = self._before[at], self._after[at]
        if NOBODY in (earlier, later):
            return max(earlier, later)
        day = self._days[at]
        return earlier if day - self._days[earlier] <= self._days[later] - day else later


class _Merging:
    """Small groups join others, the smallest first; groups are numbered in order of their keys."""

    def __init__(self, listed: Sequence[Circumstances], members: list[set[int]]) -> None:
        self._members = members
        self._into = [NOBODY] * len(listed)
        self._tiers = [_tiers(at) for at in listed]
        days = [_day(at) for at in listed]
        self._chains = [_Chain([common(at) for at in listed], days) for common in _NEARNESS]

    def merged(self) -> list[int]:
        """For each group the one it ended in, itself if it stayed."""
        waiting = [
            (len(birds), at) for at, birds in enumerate(self._members) if len(birds) < SMALLEST
        ]
        heapq.heapify(waiting)
        order = []
        while waiting:
            size, at = heapq.heappop(waiting)
            if self._into[at] != NOBODY or size != len(self._members[at]):
                continue  # gone, or grown since it was put here
            other = self._nearest(at)
            if other != NOBODY:
                self._join(at, other)
                order.append(at)
                if len(self._members[other]) < SMALLEST:
                    heapq.heappush(waiting, (len(self._members[other]), other))
        ends = list(range(len(self._into)))
        for at in reversed(order):  # what it joined, if at all, went later
            ends[at] = ends[self._into[at]]
        return ends

    def _nearest(self, at: int) -> int:
        for tier in self._tiers[at]:
            other = self._chains[tier].nearest(at)
            if other != NOBODY:
                return other
        return NOBODY

    def _join(self, at: int, other: int) -> None:
        self._members[other] |= self._members[at]
        self._into[at] = other
        for chain in self._chains:
            chain.remove(at)
