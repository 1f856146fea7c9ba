"""Rotation of lines: hens stay with their line, cocks go round."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from typing import TYPE_CHECKING

from matchmaker.ahead.eye import known_parent
from matchmaker.ahead.morning import Morning
from matchmaker.flock.listing import natural

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    import numpy as np

    from matchmaker.pairs.crossings import Crossing
    from matchmaker.pairs.pair import Pair
    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.arithmetic.result import PlannedPen
    from matchmaker.plan.posing.problem import PlanProblem


def rotation_of_lines(
    table: PairTable,
    problem: PlanProblem,
    rng: np.random.Generator,  # noqa: ARG001  all ways of filling pens are called alike
) -> tuple[PlannedPen, ...]:
    """Fill the pens as those do who let cocks go round, always the same way.

    The lines have a pen each in turn, round after round. A line breeds from its own hens first,
    and there by the cocks of lines like it before those of a pure line, where a row lets them go
    round; where no hens of its own are left, from its cocks on the hens of others, if a row says
    so. The pairs are those of ``keepers_pairs``; scores are not looked at.

    *Cocks.* A family is the birds of one known sire; one whose sire is not known is a family of its
    own. Where cocks of several lines may serve, the hens of each line get those of the line before
    it in the circle, every season the same. Where they come from one other line, its families
    stand in a circle, the lines beside it, and each season the circle is moved on by one place. In
    a family the youngest cock goes first: an older one would meet his daughters.

    *Hens.* The oldest first, then by band. In a line that breeds within itself the families stand
    in a circle too: a cock gets the hens of the family s places on, s going from 1 round to one
    less than there are families, season by season; then those of the families after it. Cocks of a
    line that are sent to the hens of another get these family by family in the same way.

    Notes
    -----
    Fixed circles of donors and recipients are those of Windig & Kaal 2008, Animal 2:1733 (citation
    from memory); there a circle kept the rise of inbreeding lowest, and donors changed each year
    made it more variable. Families of hens, cocks moved on by one place and chicks counted to the
    dam's family are known as spiral or clan mating: common practice, no source, like the order by
    age.
    """
    return _Rotation(table, problem).filled()


class _Rotation:
    """The circles of one season."""

    def __init__(self, table: PairTable, problem: PlanProblem) -> None:
        self.morning = Morning(table, problem)
        self.birds = self.morning.eye.birds
        self.pure = table.steps.hold
        self.season = table.study.flock.settings.season
        self.lines = sorted(self.morning.rows, key=natural)
        self.pens_of: Counter[str] = Counter()

    def filled(self) -> tuple[PlannedPen, ...]:
        """The pens, filled line after line."""
        self.morning.line_after_line(self._serve)
        return self.morning.pens.filled()

    def _serve(self, line: str) -> bool:
        """Give a line one more pen, if that can be."""
        rows = [self.morning.crossings[name] for name in self.morning.rows[line]]
        for crossing in sorted(rows, key=lambda row: self._rank(row, line)):
            for cock in self._cocks(crossing, line):
                pairs = self.morning.rows[line][crossing.name][cock]
                if self.morning.pen_up(cock, self._hens(crossing, line, cock, pairs)):
                    self.pens_of[line] += 1
                    return True
        return False

    def _rank(self, crossing: Crossing, line: str) -> tuple[bool, bool, str]:
        """Rows of the line's own hens first, of them those to which another line sends cocks."""
        fresh_blood = line not in self.pure and bool({*crossing.cocks} & {*self.pure})
        from_line = line not in crossing.cocks and not fresh_blood
        return (line not in crossing.hens, not from_line, crossing.name)

    def _cocks(self, crossing: Crossing, line: str) -> list[str]:
        """The cocks of a row in the order in which the line gets them, of equals the youngest."""
        cocks = self.morning.rows[line][crossing.name]
        if len(crossing.cocks) > 1:
            circle = sorted({*crossing.cocks, line}, key=natural)
            first = circle.index(line) - 1 - self.pens_of[line]
            place = {cock: first - circle.index(self.birds[cock].line) for cock in cocks}
        else:
            circle = self._families(cocks)
            first = self.pens_of[line]
            if crossing.cocks != (line,):
                first += self.lines.index(line) + self.season
            place = {cock: circle.index(self._family(cock)) - first for cock in cocks}
        return sorted(
            cocks,
            key=lambda cock: (place[cock] % len(circle), -self._hatched(cock, 0), natural(cock)),
        )

    def _hens(self, crossing: Crossing, line: str, cock: str, pairs: Sequence[Pair]) -> list[Pair]:
        """A cock's pairs in a row in the order in which he gets the hens, of equals the oldest."""
        circle, first = self._circle_of_hens(crossing, line, cock)
        return sorted(
            pairs,
            key=lambda pair: (
                (circle.index(self._family(pair.hen)) - first) % len(circle) if circle else 0,
                self._hatched(pair.hen, dt.date.max.toordinal()),
                natural(pair.hen),
            ),
        )

    def _circle_of_hens(self, crossing: Crossing, line: str, cock: str) -> tuple[list[str], int]:
        """The families of a row's hens and at which of them the cock begins; none: all are one."""
        cocks = self.morning.rows[line][crossing.name]
        hens = {pair.hen for pairs in cocks.values() for pair in pairs}
        if crossing.hens == crossing.cocks:
            circle = self._families({*hens, *cocks})
            step = 1 + self.season % max(len(circle) - 1, 1)
            return circle, circle.index(self._family(cock)) + step
        if line not in crossing.hens:
            return self._families(hens), self.lines.index(line) + self.season + self.pens_of[line]
        return [], 0

    def _families(self, bands: Iterable[str]) -> list[str]:
        return sorted({self._family(band) for band in bands}, key=natural)

    def _family(self, band: str) -> str:
        """A bird's sire if he is known, else the bird itself."""
        return known_parent(self.birds[band].record.sire) or band

    def _hatched(self, band: str, unknown: int) -> int:
        day = self.birds[band].hatched
        return unknown if day is None else day.toordinal()
