"""One search with a fixed number of seasons, season by season, every class that crosses can give.

Ways are kept while none that gives the same carriers is as good in seasons, share, chicks and
sureness at once.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from matchmaker.route.ways import Found, Useful, Way, unbettered
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.route.search import Search
    from matchmaker.route.task import Allowed, Task

BREEDING_SEASONS: Final = 2
"""Seasons between the two parents of a cross at most (common practice, no source)."""


class Sweep:
    """One search with a fixed number of seasons."""

    def __init__(self, search: Search, allowed: Allowed, horizon: int) -> None:
        self.search, self.task = search, search.task
        self.allowed, self.horizon = allowed, horizon
        self.cut = False
        self.known: dict[tuple[Sex, int], list[tuple[Way, float]]] = defaultdict(list)
        self.waiting: dict[int, list[tuple[Way, Useful]]] = defaultdict(list)
        self.by_sex: dict[Sex, list[list[Way]]] = {
            sex: [[] for _ in range(horizon + 3)] for sex in Sex
        }
        self.most = float(self.task.donor_most)
        self.mate = _last_mate(self.task, horizon)

    def run(self) -> None:
        """Go through the seasons; afterwards ``routes`` has the answer."""
        for source in self.task.sources:
            mix = self.search.same(source.mix)
            way = Way(source.sex, mix, float(source.share), 0, source=source)
            self.by_sex[source.sex][0].append(way)
        for season in range(self.horizon):
            self._settle(season)
            for cock, hen in self._pairs(season):
                for sex, cells in self.search.cells(cock.mix, hen.mix).items():
                    for useful in cells:
                        if useful.cell.telling in self.allowed.tellings:
                            self.search.left -= 1
                            self._add(cock, hen, sex, useful)
                if self.search.gave_up:
                    return
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
        back = cock.recurrent or hen.recurrent
        opening = max(cock.season, hen.season) == 0
        if opening and self.allowed.first and back is not (self.allowed.first == "backcross"):
            return False
        if back:
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
        between = not (cock.recurrent or hen.recurrent)
        if (self.allowed.sure or between) and not useful.sure:
            return
        share = (cock.share + hen.share) / 2
        last = 1 - share <= self.most
        if between and not (useful.one_kind and (last or cock.share == hen.share)):
            return
        season = max(cock.season, hen.season) + 1 + cell.delay
        if self._in_time(useful, share, season):
            self._keep(Way(sex, cell.mix, share, season, None, cock, hen, cell), useful)
        else:
            self.cut = True

    def _in_time(self, useful: Useful, share: float, season: int) -> bool:
        """Whether a class can still be bred to the goal by the last season.

        Every cross halves the donor's part at best; the last mate has had its own crosses.
        """
        left = self.horizon - season
        if left < 0:
            return False
        if useful.finished and 1 - share <= self.most:
            return True
        return left > 0 and (1 - share) / 2 ** (left - 1) + self.mate <= 2 * self.most

    def _keep(self, way: Way, useful: Useful) -> None:
        """Note a way down for its season, if none of the same carriers is as good."""
        parents = way.parents
        if self._bettered(way, useful, max(parent.chicks for parent in parents)):
            return
        behind = parents[0].history | parents[1].history
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
        return unbettered(found)

    def _done(self, way: Way) -> bool:
        return (
            not way.later and way.share >= self.task.share and self.task.reached(way.mix, way.sex)
        )


def _last_mate(task: Task, horizon: int) -> float:
    """Least donor's part that the mate in the last cross can have; 0 if the breed itself may do.

    Where two copies are wanted off the Z the last cross is between carriers.
    """
    between = any(
        copies == 2 and not locus.z_linked
        for copies, locus in zip(task.wanted, task.genome.loci, strict=True)
    )
    least = min((1 - source.share for source in task.sources if source.share < 1), default=1)
    return float(least) / 2 ** max(horizon - 1, 0) if between else 0.0


def _betters(rival: Way, surer: float, way: Way, carrying: float, chicks: int) -> bool:
    """Whether a rival is as good as a way that needs so many chicks."""
    return (
        rival.season <= way.season
        and rival.share >= way.share
        and rival.chicks <= chicks
        and surer >= carrying
        and (way.later or not rival.later)
    )
