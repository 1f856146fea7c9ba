"""The search for routes: season by season, every class that crosses of known classes can give.

A *way* is how a class of birds comes to hand: a cross of two ways, and how its chicks are told.
Ways are kept while none that gives the same class is better in seasons, share and chicks at once.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from fractions import Fraction
from math import ceil
from typing import TYPE_CHECKING, Final

from matchmaker.route.numbers import both_needed, needed
from matchmaker.route.task import PROOFS, Allowed, Telling
from matchmaker.route.telling import Cell, cells_of
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from matchmaker.route.genome import Mix, State
    from matchmaker.route.task import Source, Task

MOST_CHICKS: Final = 5000
"""A cross that needs more chicks reared than this is no step of a route."""

LEAST_CARRYING: Final = Fraction(1, 8)
"""Birds less likely than this to carry are not bred from unseen: three blind generations."""

BREEDING_SEASONS: Final = 2
"""Seasons between the two parents of a cross at most (common practice, no source)."""

WORK: Final = 40
"""New crosses that may be worked out in that search; with linked loci it would not end."""

SLACK: Final = 1
"""Seasons beyond the quickest route in which one with fewer chicks is still looked for."""


@dataclass(frozen=True, eq=False, slots=True)
class Way:
    """How a class of birds comes to hand: it can be bred from after ``season`` seasons (0: now).

    ``behind`` are the ways it rests on; ``chicks`` all chicks to rear for it and them.
    """

    sex: Sex
    mix: Mix
    share: Fraction
    season: int
    source: Source | None = None
    cock: Way | None = None
    hen: Way | None = None
    cell: Cell | None = None
    behind: frozenset[Way] = frozenset()
    chicks: int = 0

    @property
    def history(self) -> frozenset[Way]:
        """All ways behind this one, and itself."""
        return self.behind | {self}

    @property
    def recurrent(self) -> bool:
        """Whether these are birds of the recurrent breed."""
        return self.source is not None and self.source.share == 1

    @property
    def donor(self) -> bool:
        """Whether these are birds of the donor's breed."""
        return self.source is not None and self.source.share == 0

    @property
    def later(self) -> bool:
        """Whether what they are is known only after they have been bred from."""
        return self.cell is not None and self.cell.later


@dataclass(frozen=True, slots=True, kw_only=True)
class Useful:
    """A class that may be bred from: how much of it carries, and what its carriers are.

    ``one_kind``: all have the same number of copies of what is to be brought in.
    """

    cell: Cell
    carrying: Fraction
    bearers: Mix
    one_kind: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """A route: the finished cocks and hens and all that is behind them."""

    cock: Way
    hen: Way
    season: int
    chicks: int
    history: frozenset[Way]


class Search:
    """All routes of a task; what crosses give is worked out once, whatever is allowed."""

    def __init__(self, task: Task) -> None:
        self.task = task
        self._sorted: dict[tuple[int, int], dict[Sex, list[Useful]]] = {}
        self._mixes: dict[Mix, Mix] = {}
        self._most: int | None = None
        self._costs: dict[object, int | None] = {}

    def same(self, mix: Mix) -> Mix:
        """The one object that stands for all mixes equal to this one."""
        return self._mixes.setdefault(mix, mix)

    def cells(self, cocks: Mix, hens: Mix) -> dict[Sex, list[Useful]]:
        """The classes of sons and of daughters of a cross; none where chicks would be harmed.

        The mixes are those that ``same`` gives.
        """
        key = (id(cocks), id(hens))
        if key not in self._sorted:
            if self._most is not None and len(self._sorted) >= self._most:
                return {}
            chicks = {sex: self.task.genome.chicks(cocks, hens, sex) for sex in Sex}
            harmed = any(self.task.harmful(mix, sex) for sex, mix in chicks.items())
            self._sorted[key] = (
                {}
                if harmed
                else {
                    sex: self._useful(cells_of(self.task, mix, sex)) for sex, mix in chicks.items()
                }
            )
        return self._sorted[key]

    def _useful(self, cells: Iterable[Cell]) -> list[Useful]:
        found = []
        for cell in cells:
            carrying = self.task.carrying(cell.mix)
            if carrying >= LEAST_CARRYING:
                bearers = tuple(
                    (state, chance / carrying)
                    for state, chance in cell.mix
                    if self.task.carries(state)
                )
                found.append(
                    Useful(
                        cell=replace(cell, mix=self.same(cell.mix)),
                        carrying=carrying,
                        bearers=self.same(bearers),
                        one_kind=len({self._carried(state) for state, _ in cell.mix}) == 1,
                    )
                )
        return found

    def _carried(self, state: State) -> tuple[int, ...]:
        copies = self.task.genome.copies(state)
        return tuple(copies[locus] for locus in self.task.carried)

    def find(
        self, allowed: Allowed = Allowed(), *, most: int = 16, slack: int = SLACK
    ) -> list[Found]:
        """The routes that none betters in both seasons and chicks, the quickest first.

        ``most`` are the seasons looked ahead, ``slack`` those beyond the quickest route; an empty list if there is no route so short.
        """
        for horizon in range(most + 1):
            found, cut = self._within(allowed, horizon)
            if found and not slack:
                return found
            if found:
                self._most = len(self._sorted) + WORK
                longer, _ = self._within(allowed, found[0].season + slack)
                self._most = None
                return longer or found
            if not cut:
                break
        return []

    def _within(self, allowed: Allowed, horizon: int) -> tuple[list[Found], bool]:
        """Routes of so many seasons at most, and whether anything was left out for being late."""
        round_ = _Round(self, allowed, horizon)
        round_.run()
        return round_.routes(), round_.cut

    def cost(self, history: Iterable[Way]) -> int | None:
        """Chicks to rear for all the crosses behind some ways, test chicks among them."""
        crosses: dict[tuple[Way | None, Way | None], list[Way]] = defaultdict(list)
        for way in history:
            if way.cell is not None:
                crosses[(way.cock, way.hen)].append(way)
        total = 0
        for kept in crosses.values():
            chicks = self.cost_of_cross(kept)
            if chicks is None:
                return None
            total += chicks
        return total

    def cost_of_cross(self, kept: list[Way]) -> int | None:
        """Chicks to rear from one cross for enough of every class kept, with their test chicks."""
        cells = [(way.sex, way.cell) for way in kept if way.cell is not None]
        key = frozenset((sex, id(cell)) for sex, cell in cells)
        if key not in self._costs:
            self._costs[key] = cross_chicks(self.task, cells)
        return self._costs[key]


def good_chance(task: Task, cell: Cell) -> Fraction:
    """Chance that a chick is of the class's sex, told to be of it and truly carries."""
    return cell.chance * task.carrying(cell.mix) / 2


def to_rear(
    task: Task, cells: list[tuple[Sex, Cell]], birds: int, level: float, rate: float = 1.0
) -> int | None:
    """Chicks to rear from a cross for so many birds of every class kept that truly carry.

    With ``rate``, the chance that an egg set becomes a chick reared, eggs to set.
    """
    best: dict[Sex, float] = {}
    for sex, cell in cells:
        chance = float(good_chance(task, cell)) * rate
        best[sex] = min(best.get(sex, 1.0), chance)
    chances = list(best.values())
    if len(chances) == 1:
        return needed(birds, chances[0], level)
    return both_needed(birds, chances[0], chances[1], level)


def cross_chicks(task: Task, cells: list[tuple[Sex, Cell]]) -> int | None:
    """Chicks to rear from one cross with the test chicks of its birds; None if far too many."""
    reared = to_rear(task, cells, task.birds, task.level)
    if reared is None or reared > MOST_CHICKS:
        return None
    tests = sum(
        ceil(reared * cell.tested / 2) * cell.test_chicks
        for _, cell in cells
        if cell.telling in PROOFS
    )
    return reared + tests


class _Round:
    """One search with a fixed number of seasons."""

    def __init__(self, search: Search, allowed: Allowed, horizon: int) -> None:
        self.search, self.task = search, search.task
        self.allowed, self.horizon = allowed, horizon
        self.cut = False
        self.known: dict[tuple[Sex, int], list[tuple[Way, Fraction]]] = defaultdict(list)
        self.waiting: dict[int, list[tuple[Way, Useful]]] = defaultdict(list)
        self.by_sex: dict[Sex, list[list[Way]]] = {
            sex: [[] for _ in range(horizon + 3)] for sex in Sex
        }
        self.least = min(
            (1 - source.share for source in self.task.sources if source.share < 1),
            default=Fraction(1),
        )

    def run(self) -> None:
        for source in self.task.sources:
            mix = self.search.same(source.mix)
            self.by_sex[source.sex][0].append(Way(source.sex, mix, source.share, 0, source=source))
        for season in range(self.horizon):
            self._settle(season)
            for cock, hen in self._pairs(season):
                for sex, cells in self.search.cells(cock.mix, hen.mix).items():
                    for useful in cells:
                        self._add(cock, hen, sex, useful)
        self._settle(self.horizon)
        late = any(self.by_sex[sex][season] for sex in Sex for season in self._last_seasons())
        self.cut = self.cut or late or bool(self.waiting)

    def _last_seasons(self) -> tuple[int, ...]:
        return (self.horizon - 1, self.horizon)

    def _pairs(self, season: int) -> Iterator[tuple[Way, Way]]:
        """Crosses possible in a season and not before."""
        cocks, hens = (
            [way for past in self.by_sex[sex][: season + 1] for way in past]
            for sex in (Sex.COCK, Sex.HEN)
        )
        for cock in cocks:
            for hen in hens:
                if max(cock.season, hen.season) == season and self._sensible(cock, hen):
                    yield cock, hen

    def _sensible(self, cock: Way, hen: Way) -> bool:
        if cock.recurrent or hen.recurrent:
            carrier = hen if cock.recurrent else cock
            if carrier.recurrent:
                return False
            one_sex = self.allowed.carriers
            return one_sex is None or carrier.donor or carrier.sex is one_sex
        if cock.donor or hen.donor:
            return False
        return (
            cock.source is not None
            or hen.source is not None
            or (abs(cock.season - hen.season) <= BREEDING_SEASONS)
        )

    def _add(self, cock: Way, hen: Way, sex: Sex, useful: Useful) -> None:
        """Take a class up unless it is not allowed, comes too late or is bettered.

        Carriers are crossed with carriers only to bring out birds whose copies are certain.
        """
        cell = useful.cell
        if cell.telling not in self.allowed.tellings:
            return
        between = not (cock.recurrent or hen.recurrent)
        if (self.allowed.sure or between) and useful.carrying < 1:
            return
        season = max(cock.season, hen.season) + 1 + cell.delay
        share = (cock.share + hen.share) / 2
        last = 1 - share <= self.task.donor_most
        if between and not (useful.one_kind and (last or cock.share == hen.share)):
            return
        if self._in_time(cell, sex, share, season):
            self._keep(Way(sex, cell.mix, share, season, None, cock, hen, cell), useful)
        else:
            self.cut = True

    def _in_time(self, cell: Cell, sex: Sex, share: Fraction, season: int) -> bool:
        """Whether a class can still be bred to the goal by the last season."""
        left = self.horizon - season
        most = self.task.donor_most
        if left < 0:
            return False
        if self.task.reached(cell.mix, sex) and not cell.later and 1 - share <= most:
            return True
        if left == 0:
            return False
        # Every cross halves the donor's part at best; the last mate has had its own crosses.
        lowest = (1 - share) / 2 ** (left - 1)
        mate = self.least / 2 ** (self.horizon - 1)
        return (lowest + (mate if self._last_is_between_carriers() else 0)) / 2 <= most

    def _last_is_between_carriers(self) -> bool:
        return any(copies == 2 for copies in self.task.wanted)

    def _keep(self, way: Way, useful: Useful) -> None:
        """Note a way down for its season, if none of the same carriers is as good."""
        assert way.cock is not None and way.hen is not None
        floor = max(way.cock.chicks, way.hen.chicks)
        if self._bettered(way, useful, floor):
            return
        behind = way.cock.history | way.hen.history
        chicks = self.search.cost((*behind, way))
        if chicks is not None and not self._bettered(way, useful, chicks):
            self.waiting[way.season].append((replace(way, behind=behind, chicks=chicks), useful))

    def _bettered(self, way: Way, useful: Useful, chicks: int) -> bool:
        """Whether a way of the same carriers is as good as this one with so many chicks."""
        return any(
            _betters(rival, surer, way, useful.carrying, chicks)
            for rival, surer in self.known[way.sex, id(useful.bearers)]
        )

    def _settle(self, season: int) -> None:
        """Of the ways of a season take up those that no other betters, the cheapest first."""
        order = sorted(
            self.waiting.pop(season, []),
            key=lambda one: (one[0].chicks, -one[0].share, one[0].later, -one[1].carrying),
        )
        for way, useful in order:
            if not self._bettered(way, useful, way.chicks):
                self.known[way.sex, id(useful.bearers)].append((way, useful.carrying))
                self.by_sex[way.sex][season].append(way)

    def routes(self) -> list[Found]:
        """Finished cocks with finished hens, those kept that none betters."""
        done = {sex: [w for past in self.by_sex[sex] for w in past if self._done(w)] for sex in Sex}
        found: list[Found] = []
        for cock in done[Sex.COCK]:
            for hen in done[Sex.HEN]:
                season = max(cock.season, hen.season)
                history = cock.history | hen.history
                chicks = self.search.cost(history)
                if chicks is not None:
                    found.append(
                        Found(cock=cock, hen=hen, season=season, chicks=chicks, history=history)
                    )
        found.sort(key=lambda one: (one.season, one.chicks, len(one.history)))
        kept: list[Found] = []
        for one in found:
            if all(one.chicks < other.chicks for other in kept):
                kept.append(one)
        return kept

    def _done(self, way: Way) -> bool:
        return (
            not way.later and way.share >= self.task.share and self.task.reached(way.mix, way.sex)
        )


def _betters(rival: Way, surer: Fraction, way: Way, carrying: Fraction, chicks: int) -> bool:
    """Whether a rival is as good as a way that needs so many chicks."""
    return (
        rival.season <= way.season
        and rival.share >= way.share
        and rival.chicks <= chicks
        and surer >= carrying
        and (way.later or not rival.later)
    )
