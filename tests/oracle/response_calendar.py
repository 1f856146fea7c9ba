"""A calendar kept day by day: who is in which pen, so which cocks a hen had, so whose an egg is.

Nothing here reads the diary's clocks or the posed problem: all comes from the bare stays. When
somebody may come into a pen follows the planner's stated rules, written down here once more; what
that brings is then counted day by day. An egg of a day on which a hen moves is taken to be laid
in the old pen or in the new one.

Cautious simplifications of the planner are copied here on purpose:

- a hen that stands in a pen counts there to the end for the doubt about its eggs, and for the
  wait of its next cock and of newcomers, even if the response takes her out of it;
- hens that a cock leaves behind count his eggs only as if he had gone today;
- a hen that comes back to her last cock, but not along with him, counts none of his in the new
  pen before a week is over, although she may carry his sperm;
- one that goes on with her cock for another line counts for it only when the eggs that would be
  kept if he had gone today are over;
- eggs of a cock that has gone are kept no longer than until the next one may come.
"""

from __future__ import annotations

import datetime as dt
from functools import cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from matchmaker.plan.posing.problem import Candidate
    from matchmaker.rebalance.diary import Stay
    from matchmaker.rebalance.standing import Standing
    from tests.oracle.response_flocks import SmallSeason

WEEK = 7
LONG_AGO = dt.date(2026, 10, 1).toordinal()
"""Where the calendar begins: a stay whose first day nobody wrote down goes back so far."""

FOREVER = dt.date.max.toordinal()


def curve(gone: int) -> float:
    """Full for a week, then down a straight line that ends at 18.5 days."""
    return 1.0 if gone <= WEEK else max(0.0, (18.5 - gone) / 11.5)


class Mated:
    """The days of one hen with each cock, and whose her eggs can be."""

    def __init__(self, days: Mapping[str, set[int]], clean: int) -> None:
        self.days, self.clean = days, clean

    def sires(self, day: int) -> set[str]:
        """Cocks with her on any day before this one within the clean-out."""
        window = range(day - self.clean + 1, day)
        return {cock for cock, own in self.days.items() if not own.isdisjoint(window)}

    def fertility(self, cock: str, day: int, after: int) -> float:
        """By each unbroken time with a cock: nothing in its first week, then full, then less.

        Nothing either from so many days ``after`` its end on.
        """
        best = 0.0
        for start, end in self._unbroken(cock):
            gone = max(0, day - end)
            if gone <= after and (day >= start + WEEK or start == LONG_AGO):
                best = max(best, curve(gone))
        return best

    @cache  # noqa: B019  a calendar lives as long as its flock
    def _unbroken(self, cock: str) -> list[tuple[int, int]]:
        own = self.days.get(cock, set())
        starts = sorted(day for day in own if day - 1 not in own)
        ends = sorted(day for day in own if day + 1 not in own)
        return list(zip(starts, ends, strict=True))


class Calendar:
    """Who was with whom on each day, from the stays alone."""

    def __init__(self, season: SmallSeason, standing: Standing) -> None:
        self.season = season
        self.today = standing.day.toordinal()
        self.stays = standing.diary.stays
        self.cocks = standing.diary.cocks
        self.told = standing.diary.told_apart
        self.lost = {bird: day.toordinal() for bird, day in standing.lost.items()}
        waits = standing.diary.waits
        self.clean, self.after = waits.clean_out, waits.eggs_after
        self.alone = max(0, self.clean - WEEK)
        self.kept = min(self.after, self.alone)
        self.first, self.last = season.first.toordinal(), season.last.toordinal()
        self.open = {
            pen: found
            for pen, found in season.pens(standing.day).items()
            if pen not in standing.closed
        }
        self.place = {
            stay.bird: stay.pen
            for stay in self.stays
            if stay.last is None and stay.bird not in self.cocks
        }
        self.homes: dict[str, set[str]] = {}
        self.cock_at: dict[str, str] = {}
        for stay in self.stays:
            if stay.bird in self.cocks and stay.last is None:
                self.homes.setdefault(stay.bird, set()).add(stay.pen)
                self.cock_at[stay.pen] = stay.bird
        self.evicted = {
            (stay.bird, stay.pen)
            for stay in self.stays
            if stay.pen in standing.closed
            and stay.last == standing.day
            and stay.bird not in self.lost
        }
        self.days = self._days_together()
        self.still = dict(self._still())

    def _days_together(self) -> dict[str, dict[str, set[int]]]:
        """The days up to today on which each hen was in one pen with each cock."""
        found: dict[str, dict[str, set[int]]] = {}
        for hers in self.stays:
            if hers.bird in self.cocks:
                continue
            own = found.setdefault(hers.bird, {})
            for his in self.stays:
                if his.bird in self.cocks and his.pen == hers.pen:
                    days = self._span(hers) & self._span(his)
                    if len(days) > 1 or (days and self._met(hers, his)):
                        own.setdefault(his.bird, set()).update(days)
        return found

    def _met(self, hers: Stay, his: Stay) -> bool:
        """Whether two birds met that share one day: else one left as the other came."""
        visit = 1 in (len(self._span(hers)), len(self._span(his)))
        return visit or hers.last is his.last is None

    def _span(self, stay: Stay) -> set[int]:
        first = LONG_AGO if stay.first is None else stay.first.toordinal()
        last = self.today if stay.last is None else stay.last.toordinal()
        return set(range(first, min(last, self.today) + 1))

    def hens_there(self, pen: str, day: int) -> set[str]:
        """The hens in a pen on a day, by the stays, as if all went on as it stands."""
        return {
            stay.bird
            for stay in self.stays
            if stay.pen == pen and stay.bird not in self.cocks and _covers(stay, day)
        }

    def standing(self, pen: str) -> set[str]:
        """The hens that may stay in a pen."""
        return {bird for bird, own in self.place.items() if own == pen}

    def last_cock(self, pen: str) -> int | None:
        """The last day of the last cock in a pen."""
        lasts = [s.last for s in self.stays if s.pen == pen and s.bird in self.cocks]
        return max((day.toordinal() for day in lasts if day is not None), default=None)

    def cock_with(self, hen: str) -> str | None:
        """The cock in whose pen a hen may stay."""
        return self.cock_at.get(self.place.get(hen, ""))

    def hens_most(self, pen: str) -> int:
        """The hens that a pen may hold: those that stand with a cock there, if they are more."""
        most = self.open[pen][0].hens_max
        return max(most, len(self.standing(pen))) if pen in self.cock_at else most

    def hens_least(self, pen: str) -> int:
        """The hens that a pen must hold: those that stand with a cock there, if they are fewer."""
        here, least = len(self.standing(pen)), self.open[pen][0].hens_min
        return min(least, here) if here and pen in self.cock_at else least

    def limit(self, cock: str) -> tuple[int, int]:
        """The hens and pens that a cock may have: at least what he has."""
        asked, homes = self.season.limit(cock), self.homes.get(cock, set())
        hens = sum(len(self.standing(pen)) for pen in homes)
        return max(asked.hens_max, hens), max(asked.pens_max, len(homes))

    def are_together(self, hen: str, cock: str) -> bool:
        """Whether two birds stood together this morning, in a pen that is closed now, too."""
        closed = {pen for bird, pen in self.evicted if bird == hen}
        return self.cock_with(hen) == cock or any((cock, pen) in self.evicted for pen in closed)

    def has_place(self, hen: str) -> bool:
        """Whether a hen stood in a pen this morning."""
        return hen in self.place or hen in {bird for bird, _ in self.evicted}

    def mated(self, hen: str, cock: str | None = None, since: Iterable[int] = ()) -> Mated:
        """A hen's days with each cock, with those to come with one."""
        days = {one: set(own) for one, own in self.days.get(hen, {}).items()}
        if cock is not None:
            days.setdefault(cock, set()).update(since)
        return Mated(days, self.clean)

    def as_it_stands(self, hen: str) -> Mated:
        """A hen's days with each cock if nobody is moved."""
        return self.mated(hen, self.cock_with(hen), range(self.today, self.last + 1))

    @cache  # noqa: B019  a calendar lives as long as its flock
    def sires_there(self, pen: str, day: int) -> frozenset[str]:
        """Whose an egg taken from a pen may be where eggs are not told apart, as it stands."""
        hens = self.hens_there(pen, day)
        return frozenset(cock for hen in hens for cock in self.as_it_stands(hen).sires(day))

    def pens_of(self, hen: str, day: int) -> set[str]:
        """Where a hen is on a day as it stands."""
        return {stay.pen for stay in self.stays if stay.bird == hen and _covers(stay, day)}

    def last_with_other(self, hen: str, cock: str) -> int | None:
        """Her last day with any other cock: today if she is with one."""
        days = [max(own) for other, own in self.days.get(hen, {}).items() if other != cock]
        return max(days, default=None)

    def carries(self, hen: str) -> bool:
        """Whether a hen's eggs from today on may be any cock's."""
        return any(max(own) + self.clean > self.today for own in self.days.get(hen, {}).values())

    def had(self) -> Iterator[Candidate]:
        """What the eggs laid before today give, hen by hen."""
        for hen in sorted(self.days):
            hers = self.as_it_stands(hen)
            amounts: dict[str, float] = {}
            end = min(self.today - 1, self.last, self.lost.get(hen, FOREVER))
            for day in range(self.first, end + 1):
                sires = hers.sires(day)
                for pen in self.pens_of(hen, day) - self.told:
                    sires |= self.sires_there(pen, day)
                if len(sires) == 1:
                    (sire,) = sires
                    amounts[sire] = amounts.get(sire, 0.0) + hers.fertility(sire, day, self.after)
            for cock, amount in amounts.items():
                yield from self.parts(hen, cock, amount)

    def _still(self) -> Iterator[tuple[str, Candidate]]:
        """What each hen lays in any case by the cock she is with, or was with last.

        By one she is with, as if he had gone today and she stayed where she is.
        """
        for hen in sorted(self.days.keys() - self.lost.keys()):
            here = self.cock_with(hen)
            for cock, amount in self.laid_alone(hen).items():
                if here in (None, cock):
                    for one in self.parts(hen, cock, amount):
                        yield hen, one

    def laid_alone(self, hen: str) -> dict[str, float]:
        """Days on which a hen to whom no cock comes lays surely by one; kept for a while."""
        hers = self.mated(hen)
        lasts = [max(own) for own in hers.days.values() if own]
        pen, found = self.place.get(hen), dict[str, float]()
        end = min([self.last, *([max(lasts) + self.kept] if lasts else [0])])
        left = self.cock_with(hen) is not None
        if pen in self.open and left:
            end = min(end, self.open[pen][1].toordinal())
        for day in range(max(self.today, self.first), end + 1):
            owners = hers.sires(day)
            for where in self.pens_of(hen, day) - self.told:
                owners |= self.sires_left(where, day) if left else self.sires_there(where, day)
            if len(owners) == 1:
                (cock,) = owners
                found[cock] = found.get(cock, 0.0) + hers.fertility(cock, day, self.after)
        return found

    def sires_left(self, pen: str, day: int) -> set[str]:
        """Whose an egg taken from a pen may be if its cock goes today."""
        hens = self.hens_there(pen, day)
        return {cock for hen in hens for cock in self.mated(hen).sires(day)}

    def parts(self, hen: str, cock: str, amount: float) -> Iterator[Candidate]:
        """What a pair that stands, or stood, gives on so many days."""
        one = self.row_of(hen, cock)
        if one is not None and amount > 0:
            yield self.season.part(one, amount)

    def row_of(self, hen: str, cock: str) -> Candidate | None:
        """The row in which a standing pair counts: the best, or that of a pen of one row.

        Eggs by a cock who never was in her present pen count in the best.
        """
        from tests.oracle.response_flocks import pair_of

        rows = self.season.of_birds(hen, cock)
        best = max(rows, key=lambda one: (one.value, one.row), default=None)
        pen = self.place.get(hen)
        was_here = any((stay.bird, stay.pen) == (cock, pen) for stay in self.stays)
        group = self._group(pen, cock) if pen is not None and was_here else None
        if best is None or group is None:
            return best
        nothing = pair_of(hen, cock, *group, 0.0)
        return next((one for one in rows if (one.row, one.line) == group), nothing)

    def _group(self, pen: str, cock: str) -> tuple[str, str] | None:
        """The row and line that a pen of one row holds: the one open to most that stand there.

        Those to whom it is not open are there all the same, and count for nothing.
        """
        if pen not in self.open:
            return None
        kind = self.open[pen][0]
        if kind.dam_known and not kind.line:
            return None
        rows = [
            (one.row, one.line)
            for hen in self.standing(pen)
            for one in self.season.pairs.get((hen, cock), ())
            if kind.line in ("", one.line)
        ]
        if not rows:
            return "", kind.line or self.season.problem.lines[0].line
        return min(set(rows), key=lambda row: (-rows.count(row), row))


def _covers(stay: Stay, day: int) -> bool:
    begun = stay.first is None or stay.first.toordinal() <= day
    return begun and (stay.last is None or day <= stay.last.toordinal())
