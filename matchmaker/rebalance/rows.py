"""In which row of matings a pair that stands in a pen is counted."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from matchmaker.plan.posing.problem import Candidate

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matchmaker.plan.posing.problem import PenKind
    from matchmaker.rebalance.season import Season
    from matchmaker.rebalance.standing import Standing


class Rows:
    """The row of each standing pair, out of those open to it; each as for a whole season."""

    def __init__(self, season: Season, standing: Standing, kinds: Mapping[str, PenKind]) -> None:
        self._season, self._standing, self._kinds = season, standing, kinds
        self._groups: dict[tuple[str, str], tuple[str, str] | None] = {}

    def of(self, hen: str, cock: str) -> Candidate | None:
        """The pair of a hen and a cock in the row that counts; ``None`` where there is none.

        It is the best one; in a pen that can hold one row only, that of most of its hens. A hen of
        another row, or one whose pair breaks a rule, is there all the same: her chicks are counted
        for nothing.
        """
        rows = self._season.of_birds(hen, cock)
        best = max(rows, key=lambda one: (one.value, one.test_chicks, one.row), default=None)
        group = self._group(self._together_in(hen, cock), cock)
        if best is None or group is None:
            return best
        fitting = [one for one in rows if (one.row, one.line) == group]
        return fitting[0] if fitting else _for_nothing(best, group)

    def _together_in(self, hen: str, cock: str) -> str | None:
        """The hen's pen, if the cock is or was in it; her eggs by others are of other pens."""
        pen = self._standing.pen_of.get(hen)
        here = () if pen is None else self._standing.diary.cocks_of(pen)
        return pen if any(stay.bird == cock for stay in here) else None

    def _group(self, pen: str | None, cock: str) -> tuple[str, str] | None:
        """The row and line that a pen with this cock can hold, if not any."""
        if pen is None or pen not in self._kinds:
            return None
        if (pen, cock) not in self._groups:
            self._groups[pen, cock] = self._commonest(self._kinds[pen], pen, cock)
        return self._groups[pen, cock]

    def _commonest(self, kind: PenKind, pen: str, cock: str) -> tuple[str, str] | None:
        if kind.dam_known and not kind.line and not kind.rows:
            return None
        counts: Counter[tuple[str, str]] = Counter()
        for hen in self._standing.hens_in(pen):
            for one in self._season.pairs.get((hen, cock), ()):
                if kind.line in ("", one.line) and (not kind.rows or one.row in kind.rows):
                    counts[one.row, one.line] += 1
        if counts:
            return min(counts, key=lambda group: (-counts[group], group))
        lines = [goal.line for goal in self._season.problem.lines]
        return (kind.rows[0] if kind.rows else "", kind.line or lines[0]) if lines else None


def _for_nothing(one: Candidate, group: tuple[str, str]) -> Candidate:
    """A pair that stands although it is none for its pen: it takes a place and counts nothing."""
    row, line = group
    return Candidate(
        hen=one.hen, cock=one.cock, row=row, line=line, value=0.0, wanted=0.0, kinship=one.kinship
    )


def is_tolerated(season: Season, pair: Candidate) -> bool:
    """Whether a standing pair is there for nothing: rules reject it, or its pen is for others."""
    rows = season.pairs.get((pair.hen, pair.cock), ())
    return pair.kept and not any((one.row, one.line) == (pair.row, pair.line) for one in rows)
