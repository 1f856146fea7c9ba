"""Who was where on which day, and so whose each egg is: the stays of a season and what follows."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING

from matchmaker.pairs.value import DAYS_TO_FERTILE
from matchmaker.rebalance.clock import Clock, Contact, Waits, sure_sire

if TYPE_CHECKING:
    from collections.abc import Mapping


@dataclass(frozen=True, slots=True, kw_only=True)
class Stay:
    """A bird in a pen, both days counted; ``None`` is long ago, and until further notice."""

    bird: str
    pen: str
    first: dt.date | None
    last: dt.date | None = None
    row: int = 0

    def covers(self, day: dt.date) -> bool:
        """Whether the bird is there on a day."""
        begun = self.first is None or self.first <= day
        return begun and (self.last is None or day <= self.last)


@dataclass(frozen=True, kw_only=True)
class Diary:
    """Stays of cocks and hens. ``told_apart`` are the pens in which eggs are known by hen."""

    stays: tuple[Stay, ...]
    cocks: frozenset[str]
    told_apart: frozenset[str]
    waits: Waits = field(default_factory=Waits)

    @cached_property
    def _of_bird(self) -> Mapping[str, tuple[Stay, ...]]:
        found: dict[str, list[Stay]] = defaultdict(list)
        for stay in self.stays:
            found[stay.bird].append(stay)
        return {bird: tuple(stays) for bird, stays in found.items()}

    @cached_property
    def _of_pen(self) -> Mapping[str, tuple[Stay, ...]]:
        found: dict[str, list[Stay]] = defaultdict(list)
        for stay in self.stays:
            found[stay.pen].append(stay)
        return {pen: tuple(stays) for pen, stays in found.items()}

    @cached_property
    def clocks(self) -> Mapping[str, Clock]:
        """The clock of each hen that was in a pen."""
        return {
            bird: Clock(contacts=self._contacts(stays), waits=self.waits)
            for bird, stays in self._of_bird.items()
            if bird not in self.cocks
        }

    def clock(self, hen: str) -> Clock:
        """The clock of a hen; one that was in no pen met no cock."""
        return self.clocks.get(hen, Clock(contacts=(), waits=self.waits))

    def stays_of(self, bird: str) -> tuple[Stay, ...]:
        """All stays of a bird."""
        return self._of_bird.get(bird, ())

    def cocks_of(self, pen: str) -> tuple[Stay, ...]:
        """All stays of cocks in a pen."""
        return tuple(stay for stay in self._of_pen.get(pen, ()) if stay.bird in self.cocks)

    def hens_in(self, pen: str, day: dt.date) -> tuple[str, ...]:
        """The hens in a pen on a day, those that leave or come on it too."""
        return tuple(
            sorted(
                {
                    stay.bird
                    for stay in self._of_pen.get(pen, ())
                    if stay.bird not in self.cocks and stay.covers(day)
                }
            )
        )

    def credited(self, hen: str, day: dt.date) -> tuple[str, float] | None:
        """The cock whose an egg laid on a day surely is, and how fertile it is (1: as usual).

        ``None`` where it may be of two cocks, or of none. In a pen whose eggs are not told apart
        all hens there must be sure of the same cock.
        """
        clocks = [self.clock(hen)]
        for stay in self.stays_of(hen):
            if stay.covers(day) and stay.pen not in self.told_apart:
                clocks += [self.clock(other) for other in self.hens_in(stay.pen, day)]
        sire = sure_sire(clocks, day)
        if sire is None:
            return None
        fertility = self.clock(hen).fertility(sire, day)
        return (sire, fertility) if fertility > 0 else None

    def credit(self, hen: str, first: dt.date, last: dt.date) -> dict[str, float]:
        """Days on which eggs are kept, both ends counted, by cock, each as it is fertile."""
        plain = self._undisturbed(hen)
        if plain is not None:
            cock, since = plain
            count = (last - max(first, since)).days + 1
            return {cock: float(count)} if count > 0 else {}
        found: dict[str, float] = defaultdict(float)
        for number in range((last - first).days + 1):
            owner = self.credited(hen, first + dt.timedelta(days=number))
            if owner is not None:
                found[owner[0]] += owner[1]
        return dict(found)

    def _undisturbed(self, hen: str) -> tuple[str, dt.date] | None:
        """The cock that a hen is with, and the first day on which her eggs are kept as his.

        ``None`` where she, or a hen whose eggs hers are not told apart from, ever met another
        cock, was with hers twice, or is no longer with him: then each day must be looked at.
        """
        stays = self.stays_of(hen)
        if len(stays) != 1 or stays[0].last is not None or stays[0].first is None:
            return None
        (stay,) = stays
        neighbours = () if stay.pen in self.told_apart else self._neighbours(stay.pen)
        found: set[str] = set()
        for clock in (self.clock(hen), *neighbours):
            if len(clock.contacts) != 1 or clock.contacts[0].last is not None:
                return None
            found.add(clock.contacts[0].cock)
        first = self.clock(hen).contacts[0].first
        if len(found) != 1 or first is None:
            return None
        return found.pop(), first + dt.timedelta(days=DAYS_TO_FERTILE)

    def _neighbours(self, pen: str) -> tuple[Clock, ...]:
        """The clocks of all hens that were ever in a pen."""
        hens = {stay.bird for stay in self._of_pen[pen] if stay.bird not in self.cocks}
        return tuple(self.clock(hen) for hen in sorted(hens))

    def _contacts(self, stays: tuple[Stay, ...]) -> tuple[Contact, ...]:
        found = []
        for own in stays:
            for his in self.cocks_of(own.pen):
                first = _later(own.first, his.first)
                last = _earlier(own.last, his.last)
                if meet(own, his):
                    found.append(Contact(cock=his.bird, first=first, last=last))
        return _joined(sorted(found, key=lambda one: (one.cock, one.first or dt.date.min)))


def meet(own: Stay, his: Stay) -> bool:
    """Whether two birds were together in the pen of these stays."""
    first, last = _later(own.first, his.first), _earlier(own.last, his.last)
    if own.pen != his.pen:
        return False
    return first is None or last is None or first < last or _visit(own, his, first, last)


def _joined(contacts: list[Contact]) -> tuple[Contact, ...]:
    """Contacts in order, those with one cock that follow on each other as one.

    A hen that is moved together with her cock was never apart from him.
    """
    found: list[Contact] = []
    for one in contacts:
        last = found[-1] if found and found[-1].cock == one.cock else None
        if last is not None and (last.last is None or _follows(last.last, one.first)):
            found[-1] = replace(last, last=_later_end(last.last, one.last))
        else:
            found.append(one)
    return tuple(sorted(found, key=lambda one: (one.first or dt.date.min, one.cock)))


def _follows(last: dt.date, first: dt.date | None) -> bool:
    return first is None or first <= last + dt.timedelta(days=1)


def _later_end(one: dt.date | None, other: dt.date | None) -> dt.date | None:
    """The later of two last days; ``None`` is not yet."""
    return None if one is None or other is None else max(one, other)


def _visit(own: Stay, his: Stay, first: dt.date, last: dt.date) -> bool:
    """Whether the one day that two stays share is a visit: all of one of them.

    Else one bird left as the other came, and they never met.
    """
    return first == last and (own.first == own.last or his.first == his.last)


def _later(one: dt.date | None, other: dt.date | None) -> dt.date | None:
    """The later of two first days; ``None`` is long ago."""
    return max((day for day in (one, other) if day is not None), default=None)


def _earlier(one: dt.date | None, other: dt.date | None) -> dt.date | None:
    """The earlier of two last days; ``None`` is not yet."""
    return min((day for day in (one, other) if day is not None), default=None)
