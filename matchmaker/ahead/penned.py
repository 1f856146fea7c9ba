"""Pens filled bird by bird, each bird held to what is possible in a pen, without any planning."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.flock.listing import natural
from matchmaker.plan.arithmetic.result import PlannedPen

if TYPE_CHECKING:
    from collections.abc import Iterable

    from matchmaker.plan.posing.problem import Candidate, CockLimit, PenKind, PlanProblem


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pen:
    """One open pen of a problem, in one turn of the season; each stands for itself."""

    label: str
    kind: PenKind


class Pens:
    """The open pens of a problem and who is in them.

    Kept are: the places of a pen and its line and use, one row in a pen whose dams are not told
    apart, one place at a time for a hen, the hens and pens of a cock at a time. The planner's
    limits and minimums of lines and of the whole, and the wishes that ask for pairs or pens, are
    not; for incubator and rearing room see ``breeding.part_set``. ``more`` are limits of cocks
    that the problem has no pair of.
    """

    def __init__(self, problem: PlanProblem, more: Iterable[CockLimit] = ()) -> None:
        pens = [Pen(label=label, kind=kind) for kind in problem.kinds for label in kind.pens]
        self.pens = sorted(pens, key=lambda pen: (natural(pen.label), pen.kind.turn))
        self._limits = {limit.cock: limit for limit in (*more, *problem.cocks)}
        self._inside: dict[Pen, list[Candidate]] = {pen: [] for pen in self.pens}
        self._at_once = {
            turn: [together for together in problem.turns if turn in together]
            for together in problem.turns
            for turn in together
        }

    def free(self) -> list[Pen]:
        """The pens in which nobody is yet, by their labels."""
        return [pen for pen in self.pens if not self._inside[pen]]

    def fits(self, pen: Pen, one: Candidate) -> bool:
        """Whether one more pair can be put into a pen."""
        return (
            self.takes(pen, one)
            and self._beside(pen, one)
            and all(self._free_to(pen, one, turns) for turns in self._at_once.get(one.turn, ()))
        )

    def takes(self, pen: Pen, one: Candidate) -> bool:
        """Whether a pen is there for such a pair, whoever is in it."""
        kind = pen.kind
        return (
            one.turn == kind.turn
            and (not kind.line or one.line == kind.line)
            and (not kind.rows or one.row in kind.rows)
            and (kind.dam_known or not one.dams_known)
        )

    def places(self, pen: Pen, cock: str) -> int:
        """Hens that a cock could have in a pen that is free, other birds apart."""
        return min(pen.kind.hens_max, self._limits[cock].hens_max) if cock in self._limits else 0

    def fill(self, pen: Pen, ones: Iterable[Candidate]) -> tuple[Candidate, ...]:
        """Put pairs into a free pen, in their order, as far as they fit; those that it took.

        With fewer than the least number of hens of the pen it stays free and takes none.
        """
        inside = self._inside[pen]
        for one in ones:
            if self.fits(pen, one):
                inside.append(one)
            if len(inside) == pen.kind.hens_max:
                break
        if len(inside) < max(1, pen.kind.hens_min):
            inside.clear()
        return tuple(inside)

    def filled(self) -> tuple[PlannedPen, ...]:
        """The pens that hold birds, by their labels, hens by their bands."""
        return tuple(
            PlannedPen(
                pen=pen.label,
                cock=inside[0].cock,
                pairs=tuple(sorted(inside, key=lambda one: natural(one.hen))),
                turn=pen.kind.turn,
            )
            for pen, inside in self._inside.items()
            if inside
        )

    def _beside(self, pen: Pen, one: Candidate) -> bool:
        """Whether the pair goes with those that are in the pen, and has a place there."""
        inside = self._inside[pen]
        if len(inside) >= pen.kind.hens_max:
            return False
        if not inside:
            return True
        first = inside[0]
        same_row = (first.row, first.line) == (one.row, one.line)
        return first.cock == one.cock and (pen.kind.dam_known or same_row)

    def _free_to(self, pen: Pen, one: Candidate, turns: tuple[str, ...]) -> bool:
        """Whether hen and cock are free for the pair in turns that overlap."""
        limit = self._limits.get(one.cock)
        if limit is None:
            return False
        pens = 0 if self._inside[pen] else 1
        hens = 0
        for other, pairs in self._inside.items():
            if not pairs or other.kind.turn not in turns:
                continue
            if any(pair.hen == one.hen for pair in pairs):
                return False
            if pairs[0].cock == one.cock:
                hens += len(pairs)
                pens += 1
        return hens < limit.hens_max and pens <= limit.pens_max
