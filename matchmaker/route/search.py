"""The search for routes: what crosses give is worked out once, then swept season by season.

How many seasons a route takes is exact. Its chicks are the least that were found: where two ways
share a cross, that is counted once, but of ways to one class only the best by itself are followed.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING, Final

from matchmaker.route.costs import cross_chicks
from matchmaker.route.sweep import Sweep
from matchmaker.route.task import Allowed
from matchmaker.route.telling import cells_of
from matchmaker.route.ways import Found, Useful, Way, unbettered
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterable

    from matchmaker.route.genome import Mix, State
    from matchmaker.route.task import Task
    from matchmaker.route.telling import Cell

LEAST_CARRYING: Final = Fraction(1, 8)
"""Birds less likely than this to carry are not bred from unseen: three blind generations."""

SLACK: Final = 1
"""Seasons beyond the quickest route in which one with fewer chicks is still looked for."""

WORK: Final = 12
"""New crosses that may be worked out in that search; with linked loci it would not end."""

EFFORT: Final = 60_000
"""Classes that one search may look at before it gives up: a keeper waits seconds at most."""

NEW_CROSS: Final = 150
NEW_STATE: Final = 12
"""What a cross worked out for the first time counts as, with each state that its chicks may have:
of three loci it takes milliseconds."""

ANYTHING: Final = Allowed()


class Search:
    """All routes of a task; what crosses give is worked out once, whatever is allowed."""

    def __init__(self, task: Task) -> None:
        self.task = task
        self._sorted: dict[tuple[int, int], dict[Sex, list[Useful]]] = {}
        self._mixes: dict[Mix, Mix] = {}
        self._most: int | None = None
        self.left = EFFORT
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
            self.left -= NEW_CROSS + NEW_STATE * sum(map(len, chicks.values()))
            harmed = any(self.task.harmful(mix, sex) for sex, mix in chicks.items())
            self._sorted[key] = (
                {}
                if harmed
                else {
                    sex: self._useful(cells_of(self.task, mix, sex), sex)
                    for sex, mix in chicks.items()
                }
            )
        return self._sorted[key]

    def _useful(self, cells: Iterable[Cell], sex: Sex) -> list[Useful]:
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
                        carrying=float(carrying),
                        sure=carrying == 1,
                        finished=not cell.later and self.task.reached(cell.mix, sex),
                        bearers=self.same(bearers),
                        one_kind=len({self._carried(state) for state, _ in cell.mix}) == 1,
                    )
                )
        return found

    def _carried(self, state: State) -> tuple[int, ...]:
        copies = self.task.genome.copies(state)
        return tuple(copies[locus] for locus in self.task.must_carry)

    def find(
        self, allowed: Allowed = ANYTHING, *, most: int | None = None, slack: int = SLACK
    ) -> list[Found]:
        """The routes that none betters in both seasons and chicks, the quickest first.

        ``most`` are the seasons looked ahead (two for each that no route can do without, and two
        more, unless given), ``slack`` those beyond the quickest route. The list is empty if there
        is no route so short, or if the search gave up (``gave_up``).
        """
        self.left = EFFORT
        shortest = self._shortest()
        for horizon in range(shortest, (2 * shortest + 2 if most is None else most) + 1):
            found, cut = self._within(allowed, horizon)
            if found and not slack:
                return found
            if found:
                self._most = len(self._sorted) + WORK
                longer, _ = self._within(allowed, found[0].season + slack)
                self._most = None
                return unbettered([*found, *longer])
            if not cut or self.gave_up:
                break
        return []

    @property
    def crosses(self) -> int:
        """How many different crosses were worked out so far."""
        return len(self._sorted)

    @property
    def gave_up(self) -> bool:
        """Whether the last search ended before everything was looked at."""
        return self.left <= 0

    def _shortest(self) -> int:
        """Seasons that no route can do without, by the recurrent share alone."""
        donor = float(min((1 - s.share for s in self.task.sources if s.share < 1), default=1))
        seasons = 0
        while donor > self.task.donor_most:
            donor, seasons = donor / 2, seasons + 1
        return seasons

    def _within(self, allowed: Allowed, horizon: int) -> tuple[list[Found], bool]:
        """Routes of so many seasons at most, and whether anything was left out for being late."""
        sweep = Sweep(self, allowed, horizon)
        sweep.run()
        return sweep.routes(), sweep.cut

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
