"""The keeper's morning of making up pens: his pairs by line, row and cock, and the pens to fill."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.ahead.eye import keepers_eye, keepers_pairs
from matchmaker.ahead.penned import Pens
from matchmaker.flock.listing import natural
from matchmaker.plan.posing.pose import cock_limit
from matchmaker.plan.posing.terms import season_terms

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from matchmaker.ahead.penned import Pen
    from matchmaker.pairs.crossings import Crossing
    from matchmaker.pairs.pair import Pair
    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.posing.problem import Candidate, PlanProblem


class Morning:
    """What the keeper has before him: ``pens``, and ``rows`` with his pairs for each line.

    ``used`` are the cocks that have a pen. Where the season has turns each bird is in one of them
    only: nobody is moved in mid-season.
    """

    def __init__(self, table: PairTable, problem: PlanProblem) -> None:
        self.eye = keepers_eye(table)
        self.rows, crossings = _by_line(keepers_pairs(table, self.eye))
        self.crossings: Mapping[str, Crossing] = crossings
        self.used: set[str] = set()
        self._placed: set[str] = set()
        cocks = sorted(
            {cock for rows in self.rows.values() for row in rows.values() for cock in row}
        )
        settings = table.study.flock.settings
        self.pens = Pens(problem, [cock_limit(self.eye.birds[cock], settings) for cock in cocks])
        self._importance = {goal.line: goal.importance for goal in problem.lines}
        self._candidates = {one.key: one for one in problem.candidates}
        self._terms = season_terms(table)

    def lines(self) -> list[str]:
        """The lines that have pairs, the most important first, then by name."""
        return sorted(self.rows, key=lambda line: (-self._importance.get(line, 0.0), natural(line)))

    def line_after_line(self, serve: Callable[[str], bool]) -> None:
        """Let each line in turn have a pen, round after round, until no line can have one more."""
        waiting = self.lines()
        while waiting:
            waiting = [line for line in waiting if serve(line)]

    def pen_up(self, cock: str, pairs: Sequence[Pair]) -> bool:
        """Give a cock a pen with these hens of one row, the first first; whether it could be done.

        Pens kept for the line or the use come before others, then those in which he can have most
        hens, of these the smallest.
        """
        if cock in self.used:
            return False
        for pen in sorted(self.pens.free(), key=lambda pen: self._preference(pen, cock)):
            taken = self.pens.fill(pen, (self._candidate(pair, pen) for pair in pairs))
            if taken:
                self.used.add(cock)
                self._placed |= {one.hen for one in taken}
                return True
        return False

    def free_of(self, pairs: Sequence[Pair]) -> list[Pair]:
        """Those pairs whose hen has no place in any pen yet."""
        return [pair for pair in pairs if pair.hen not in self._placed]

    def _preference(self, pen: Pen, cock: str) -> tuple[bool, int, int]:
        kept = bool(pen.kind.line or pen.kind.rows)
        return (not kept, -self.pens.places(pen, cock), pen.kind.hens_max)

    def _candidate(self, pair: Pair, pen: Pen) -> Candidate:
        """The pair in the turn of a pen; of one that the rules reject it is worked out here."""
        key = (*pair.key, pen.kind.turn)
        if key not in self._candidates:
            turn = self._terms.turn(pen.kind.turn)
            self._candidates[key] = self._terms.candidate(pair, turn, kept=False)
        return self._candidates[key]


def _by_line(
    pairs: Sequence[Pair],
) -> tuple[dict[str, dict[str, dict[str, list[Pair]]]], dict[str, Crossing]]:
    """Pairs by line of the chicks, row and cock; and the rows by name."""
    rows: dict[str, dict[str, dict[str, list[Pair]]]] = {}
    crossings = {pair.crossing.name: pair.crossing for pair in pairs if pair.crossing is not None}
    for pair in pairs:
        row = rows.setdefault(pair.line or "", {}).setdefault(pair.key[-1], {})
        row.setdefault(pair.cock, []).append(pair)
    return rows, crossings
