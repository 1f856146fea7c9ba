"""Plans as a keeper makes them with pencil and paper: best pair first, best to best, need first.

Each gives a feasible plan of a problem, or ``None`` where it ends without one. They know pens,
places, rows and one hen one place; what they cannot see ahead, they miss. For problems without
demands, tests, turns or limits on the whole, and with cocks of one pen.
"""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from matchmaker.plan.arithmetic.result import PlannedPen
from matchmaker.plan.arithmetic.saturation import saturate
from matchmaker.plan.arithmetic.verify import evaluate
from matchmaker.plan.posing.problem import PAIR_COST

if TYPE_CHECKING:
    from collections.abc import Iterable

    from matchmaker.plan.posing.problem import Candidate, PenKind, PlanProblem


class Yard:
    """Pens as they fill up: who has which pen, who is in it, what each line counts so far."""

    def __init__(self, problem: PlanProblem) -> None:
        self.problem = problem
        self.limits = {one.cock: one for one in problem.cocks}
        self.goals = {one.line: one for one in problem.lines}
        self.free = {kind.pens: list(kind.pens) for kind in problem.kinds}
        self.pens: dict[str, tuple[PenKind, str, list[Candidate]]] = {}
        self.placed: set[str] = set()
        self.worth: dict[str, float] = defaultdict(float)

    def gain(self, pair: Candidate) -> float:
        """What one more pair adds to the value as the lines now stand."""
        goal = self.goals[pair.line]
        before = saturate(self.worth[pair.line], goal.chicks_wanted)
        after = saturate(self.worth[pair.line] + pair.value, goal.chicks_wanted)
        return goal.importance * (after - before) - PAIR_COST

    def place(self, pair: Candidate) -> bool:
        """Put a pair in its cock's pen, or give him the largest free pen; say whether it fits."""
        if pair.hen in self.placed:
            return False
        if pair.cock not in self.pens and not self._give_pen(pair):
            return False
        kind, _, inside = self.pens[pair.cock]
        most = min(kind.hens_max, self.limits[pair.cock].hens_max)
        mixed = any(one.row != pair.row for one in inside) and not kind.dam_known
        if len(inside) >= most or mixed or kind.line not in ("", pair.line):
            return False
        inside.append(pair)
        self.placed.add(pair.hen)
        self.worth[pair.line] += pair.value
        return True

    def plan(self) -> tuple[PlannedPen, ...] | None:
        """Return the plan if it keeps every rule; pens with too few hens are given up first."""
        plan = tuple(
            PlannedPen(pen=label, cock=cock, pairs=tuple(sorted(inside, key=lambda one: one.hen)))
            for cock, (kind, label, inside) in self.pens.items()
            if len(inside) >= max(1, kind.hens_min)
        )
        return None if evaluate(self.problem, plan).broken else plan

    def fill(self, pairs: Iterable[Candidate]) -> None:
        """Place the most valuable pair first, as long as one more adds something."""
        for one in sorted(pairs, key=lambda one: (-one.value, one.key)):
            if self.gain(one) > 0:
                self.place(one)

    def _give_pen(self, pair: Candidate) -> bool:
        kinds = [
            kind
            for kind in self.problem.kinds
            if self.free[kind.pens]
            and kind.line in ("", pair.line)
            and max(1, kind.hens_min) <= min(kind.hens_max, self.limits[pair.cock].hens_max)
        ]
        if not kinds:
            return False
        kind = max(kinds, key=lambda one: one.hens_max)
        self.pens[pair.cock] = (kind, self.free[kind.pens].pop(0), [])
        return True


def best_pair_first(problem: PlanProblem) -> tuple[PlannedPen, ...] | None:
    """The pair of the highest value first, as long as one more pair adds something."""
    yard = Yard(problem)
    yard.fill(problem.candidates)
    return yard.plan()


def best_to_best(problem: PlanProblem) -> tuple[PlannedPen, ...] | None:
    """The cock whose pairs are the best on average takes the best hens he may have, and so on."""
    yard = Yard(problem)
    of_cock: dict[str, list[Candidate]] = defaultdict(list)
    for one in problem.candidates:
        of_cock[one.cock].append(one)
    means = {cock: sum(one.value for one in own) / len(own) for cock, own in of_cock.items()}
    for cock in sorted(of_cock, key=lambda cock: (-means[cock], cock)):
        yard.fill(of_cock[cock])
    return yard.plan()


def need_first(problem: PlanProblem) -> tuple[PlannedPen, ...] | None:
    """Each line's minimum of cocks and hens first, the scarcest line first; then pair by pair."""
    yard = Yard(problem)
    of_line: dict[str, list[Candidate]] = defaultdict(list)
    for one in problem.candidates:
        of_line[one.line].append(one)
    for goal in sorted(problem.lines, key=lambda one: len(of_line[one.line])):
        cocks: set[str] = set()
        hens = 0
        for one in sorted(of_line[goal.line], key=lambda one: (-one.value, one.key)):
            wants_cock = len(cocks) < goal.cocks_min and one.cock not in cocks
            wants_hen = len(cocks) >= goal.cocks_min and hens < goal.hens_min
            if (wants_cock or wants_hen) and yard.place(one):
                cocks.add(one.cock)
                hens += 1
    yard.fill(problem.candidates)
    return yard.plan()


BY_HAND = {
    "best pair first": best_pair_first,
    "best to best": best_to_best,
    "need first": need_first,
}
