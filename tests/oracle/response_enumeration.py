"""The best response to a loss by trying all of them, each weighed by a calendar of its days.

A cock or none is tried for each pen, and for each hen a pen that is held or none. Of the calendar
(``response_calendar``) each pen's days to come are asked. Two rules of the planner are copied: a
pair that would give nothing is not begun, and a cock that takes over a pen leaves his own, unless
he may hold several.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from itertools import combinations, product
from typing import TYPE_CHECKING

from tests.oracle.response_calendar import WEEK, Calendar, Mated

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from matchmaker.plan.posing.problem import Candidate
    from matchmaker.rebalance.standing import Standing
    from tests.oracle.response_flocks import SmallSeason


class PenDays:
    """One pen from today on, with a cock and hens."""

    def __init__(self, calendar: Calendar, pen: str, cock: str, hens: frozenset[str]) -> None:
        self.calendar, self.pen, self.cock, self.hens = calendar, pen, cock, hens
        self.here = calendar.standing(pen)
        self.stays = pen in calendar.homes.get(cock, ())
        self.apart = pen in calendar.told
        others = [calendar.last_with_other(hen, cock) for hen in self.here]
        self.others = [last for last in others if last is not None]
        self.begins = self._cock_comes()
        self.comes = {hen: self._hen_comes(hen) for hen in hens - self.here}
        self.mated = {hen: self._mated(hen) for hen in self.here | hens}

    def _cock_comes(self) -> int:
        """When all that stand here have been without another cock for so long."""
        today = self.calendar.today
        if self.stays:
            return today
        return max([today, *(last + self.calendar.alone for last in self.others)])

    def _hen_comes(self, hen: str) -> int:
        """A newcomer's day: with the cock, when it costs nothing, or when she spoils nothing."""
        calendar = self.calendar
        last = calendar.last_with_other(hen, self.cock)
        if self.comes_along(hen) or last is None:
            comes = self.begins
        elif self.apart or last + calendar.clean <= self._doubtful_until():
            comes = max(calendar.today, last + calendar.alone)
        else:
            comes = max(calendar.today, last + calendar.clean)
        if self.stays or self.apart or not self.others or not calendar.carries(hen):
            return comes
        kept = max(self.others) + calendar.kept
        return comes if kept < calendar.today else max(comes, kept + 1)

    def _doubtful_until(self) -> int:
        """The first day on which no hen that stands here carries another cock's sperm."""
        clear = [last + self.calendar.clean for last in self.others]
        return max([self.calendar.today, *clear])

    def comes_along(self, hen: str) -> bool:
        """Whether a hen goes with the cock she is with, or stays; not if she brings another's.

        Birds of a closed pen are together only if this one is free for them today.
        """
        calendar = self.calendar
        if calendar.cock_with(hen) != self.cock:
            along = calendar.are_together(hen, self.cock) and self.begins == calendar.today
        else:
            along = True
        last = calendar.last_with_other(hen, self.cock)
        clear = calendar.today if last is None else last + calendar.clean
        return along and (self.apart or clear <= max(self.begins, self._doubtful_until()))

    def _mated(self, hen: str) -> Mated:
        """Her days, with those with the cock: in this pen, and till then in his old one."""
        calendar = self.calendar
        met = max(self.begins, self.comes.get(hen, calendar.today))
        since = set(range(met, calendar.last + 1))
        if self.comes_along(hen):
            since |= set(range(calendar.today, met))
        elif calendar.cock_with(hen) == self.cock:
            since |= set(range(calendar.today, self.begins))
        return calendar.mated(hen, self.cock, since)

    def sires(self, hen: str, day: int) -> set[str]:
        """Whose an egg may be: of hers, or of all that are there where eggs are not told apart."""
        calendar, found = self.calendar, self.mated[hen].sires(day)
        comes = self.comes.get(hen, calendar.today)
        old = calendar.pens_of(hen, day) if day <= comes else set[str]()
        if hen in self.here or calendar.cock_with(hen) not in (None, self.cock):
            old = set()
        for pen in old - calendar.told - {self.pen}:
            found |= calendar.sires_there(pen, day)
        return found if self.apart or day < comes else found | self._of_all(day)

    @cache  # noqa: B019  a pen lives as long as its flock
    def _of_all(self, day: int) -> frozenset[str]:
        there = {one for one in self.here | self.hens if self.comes.get(one, 0) <= day}
        return frozenset(cock for one in there for cock in self.mated[one].sires(day))

    def pairs_of(self, hen: str) -> Iterator[tuple[Candidate, ...]]:
        """The rows of a hen with the cock, for the days on which her eggs are surely his.

        Each with what she would have laid by him in any case taken off.
        """
        calendar, season = self.calendar, self.calendar.season
        staying = hen in self.here and self.stays
        standing, still = calendar.row_of(hen, self.cock), calendar.still.get(hen)
        if staying and standing is not None:
            yield self._net(season.part(standing, self._amount(hen)))
        for one in () if staying else season.pairs[hen, self.cock]:
            first = calendar.today
            if still is not None and still.cock == self.cock and still.line != one.line:
                first = max(self.comes.get(hen, self.begins), first + calendar.kept + 1)
            pairs = self._net(season.part(one, self._amount(hen, first)))
            if sum(pair.value for pair in pairs) > 1e-9:
                yield pairs

    def _amount(self, hen: str, first: int = 0) -> float:
        """Days from a first one on, each as its eggs are fertile."""
        calendar = self.calendar
        keeps = calendar.after if self.comes_along(hen) else calendar.kept
        return sum(
            self.mated[hen].fertility(self.cock, day, keeps)
            for day in self._days(hen)
            if day >= first and self.sires(hen, day) == {self.cock}
        )

    def _days(self, hen: str) -> Iterator[int]:
        """The days on which a hen's eggs are kept: as long as the pen is used in which she is.

        Those of one that was with the cock, but does not come along, are not in her first week.
        """
        calendar, comes = self.calendar, self.comes.get(hen, 0)
        home = calendar.place.get(hen) if calendar.cock_with(hen) == self.cock else None
        ends = {pen: last.toordinal() for pen, (_, last) in calendar.open.items()}
        enters = self.comes.get(hen, self.begins)
        week = range(enters, max(enters, self.begins) + WEEK)
        for day in range(max(calendar.today, calendar.first), calendar.last + 1):
            until = ends[self.pen] if day >= comes else ends.get(home or "", calendar.last)
            if day <= until and (self.comes_along(hen) or day not in week):
                yield day

    def _net(self, part: Candidate) -> tuple[Candidate, ...]:
        """A pair, and what is not counted twice: the hen's eggs in any case, if for one line."""
        still = self.calendar.still.get(part.hen)
        if still is None or (still.cock, still.line) != (part.cock, part.line):
            return (part,)
        return (part, replace(still, value=-still.value, wanted=-still.wanted))


@dataclass(frozen=True, kw_only=True)
class Option:
    """One way to fill a pen, or to leave it.

    ``moved`` are the birds that come, ``leave`` the hens that stand here and get no place here:
    where the pen is left they need not go if its cock does, ``with_cock``, but cost as much.
    """

    pen: str
    cock: str | None
    hens: frozenset[str]
    moved: int
    leave: frozenset[str]
    pairs: tuple[tuple[Candidate, ...], ...] = ()
    with_cock: str | None = None


class Yard:
    """All responses of a small flock, and the best with so many birds moved at most."""

    def __init__(self, season: SmallSeason, standing: Standing) -> None:
        self.season = season
        self.calendar = Calendar(season, standing)
        self.had = tuple(self.calendar.had())
        self.best: dict[int, float] = {}
        self.how: dict[int, tuple[Option, ...]] = {}
        options = [list(self.options(pen)) for pen in self.calendar.open]
        self._fill(options, [])

    def at_most(self, moves: int | None) -> float | None:
        """The value of the best response that moves no more birds; ``None`` if there is none."""
        return max(
            (value for moved, value in self.best.items() if moves is None or moved <= moves),
            default=None,
        )

    def options(self, pen: str) -> Iterator[Option]:
        """Every way to fill a pen, and to leave it without a cock."""
        calendar = self.calendar
        here = frozenset(calendar.standing(pen))
        stays, nobody = calendar.cock_at.get(pen), frozenset[str]()
        leave = nobody if stays is None else here
        yield Option(pen=pen, cock=None, hens=nobody, moved=0, leave=leave, with_cock=stays)
        for cock in self._welcome(pen):
            for hens in self._companies(cock, pen):
                days = PenDays(calendar, pen, cock, hens)
                for pairs in self._rows(days):
                    yield Option(
                        pen=pen,
                        cock=cock,
                        hens=hens,
                        moved=len(hens - here) + (not days.stays),
                        leave=here - hens,
                        pairs=pairs,
                    )

    def _welcome(self, pen: str) -> list[str]:
        """The cocks that may hold a pen."""
        calendar = self.calendar
        if pen in calendar.cock_at:
            return [calendar.cock_at[pen]]
        names = sorted({cock for _, cock in self.season.pairs} - calendar.lost.keys())
        lost_one = calendar.last_cock(pen) is not None
        return [cock for cock in names if cock not in calendar.homes or lost_one]

    def _companies(self, cock: str, pen: str) -> Iterator[frozenset[str]]:
        """All sets of hens, of a number that pen and cock allow, each of which may live there."""
        calendar = self.calendar
        birds = {hen for hen, _ in self.season.pairs} | calendar.place.keys()
        fitting = sorted(
            hen
            for hen in birds - calendar.lost.keys()
            if (hen, cock) in self.season.pairs
            or (calendar.place.get(hen) == pen and calendar.cock_at.get(pen) == cock)
        )
        most = min(calendar.hens_most(pen), calendar.limit(cock)[0])
        for size in range(max(1, calendar.hens_least(pen)), most + 1):
            yield from map(frozenset, combinations(fitting, size))

    def _rows(self, days: PenDays) -> Iterator[tuple[tuple[Candidate, ...], ...]]:
        """The rows of the pairs in a pen: all alike where its eggs are not told apart."""
        kind = self.calendar.open[days.pen][0]
        for pairs in product(*(list(days.pairs_of(hen)) for hen in sorted(days.hens))):
            alike = kind.dam_known or len({(one.row, one.line) for one, *_ in pairs}) == 1
            if alike and all(kind.line in ("", one.line) for one, *_ in pairs):
                yield pairs

    def _fill(self, options: Sequence[Sequence[Option]], chosen: list[Option]) -> None:
        if len(chosen) == len(options):
            self._weigh(chosen)
            return
        for one in options[len(chosen)]:
            if not any(one.hens & other.hens for other in chosen) and self._has_room(one, chosen):
                self._fill(options, [*chosen, one])

    def _has_room(self, one: Option, chosen: Sequence[Option]) -> bool:
        """Whether the cock may have this pen too."""
        if one.cock is None:
            return True
        own = [other for other in chosen if other.cock == one.cock]
        hens_max, pens_max = self.calendar.limit(one.cock)
        hens = len(one.hens) + sum(len(other.hens) for other in own)
        return len(own) < pens_max and hens <= hens_max

    def _weigh(self, chosen: Sequence[Option]) -> None:
        homes, still = self.calendar.homes, self.calendar.still
        placed = {hen for one in chosen for hen in one.hens}
        held = [(one.cock, one.pen) for one in chosen if one.cock is not None]
        goes = {cock for cock, pen in held if pen not in homes.get(cock, ())}
        behind = {hen for one in chosen if one.with_cock in goes for hen in one.leave - placed}
        moved = sum(one.moved for one in chosen)
        moved += sum(len(one.leave - placed) for one in chosen if one.with_cock not in goes)
        laid = [*self.had, *still.values()]
        total = -0.05 * (moved + len(behind))
        pairs = [pair for one in chosen for pair, *_ in one.pairs]
        laid += [less for one in chosen for _, *off in one.pairs for less in off]
        for goal in self.season.problem.lines:
            own = [pair for pair in pairs if pair.line == goal.line]
            eggs = [pair for pair in (*own, *laid) if pair.line == goal.line]
            if goal.wanted_min and sum(one.wanted for one in eggs) < goal.wanted_min - 1e-6:
                return
            if len(own) < goal.hens_min or len({pair.cock for pair in own}) < goal.cocks_min:
                return
            worth = sum(one.value for one in eggs)
            full = min(worth, goal.chicks_wanted)
            beyond = max(0.0, min(worth, 2 * goal.chicks_wanted) - full)
            total += goal.importance * (full + beyond / 4)
        if total > self.best.get(moved, total - 1):
            self.best[moved], self.how[moved] = total, tuple(chosen)
