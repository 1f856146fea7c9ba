"""Plans reached from one plan by small steps, each checked by plain arithmetic.

A step exchanges a hen for an unused one or for one of another pen, lets a hen move, leaves one
out or takes one in; cocks keep their pens. Every rule there is holds for every plan found, since
each is scored in full.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field, replace
from itertools import combinations
from typing import TYPE_CHECKING, TypeAlias

from matchmaker import tolerance
from matchmaker.flock.listing import natural
from matchmaker.plan.arithmetic.saturation import counted as line_counts
from matchmaker.plan.arithmetic.verify import evaluate
from matchmaker.plan.nearly_best.near_model import minds_kinship, net_value
from matchmaker.plan.posing.problem import PAIR_COST

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from matchmaker.plan.arithmetic.result import PlannedPen
    from matchmaker.plan.posing.problem import Candidate, PlanProblem

Pens: TypeAlias = "tuple[PlannedPen, ...]"

Keys: TypeAlias = frozenset[tuple[str, str, str, str]]
"""The pairs of a plan: what makes it another plan."""

Step: TypeAlias = "tuple[tuple[tuple[int, Candidate], ...], tuple[tuple[int, Candidate], ...]]"
"""Pairs that leave their pens and pairs that come in, each with the place of the pen."""


def keys_of(pens: Sequence[PlannedPen]) -> Keys:
    """Return the pairs of a plan as a set of their keys."""
    return frozenset(pair.key for pen in pens for pair in pen.pairs)


@dataclass(slots=True)
class Walk:
    """Plans found so far, all worth at least ``least``, the price of kinship taken off.

    It ends where there are ``most``.
    """

    problem: PlanProblem
    least: float
    most: int
    found: dict[Keys, Pens] = field(default_factory=dict)

    def start_from(self, pens: Sequence[PlannedPen]) -> None:
        """Add a plan and every plan reached from it, as long as the number allows."""
        first = keys_of(pens)
        waiting = deque([tuple(pens)] if first not in self.found else [])
        if waiting:
            self.found[first] = waiting[0]
        while waiting and not self.full:
            for other in self._near(waiting.popleft()):
                keys = keys_of(other)
                if keys not in self.found and self._holds(other):
                    self.found[keys] = other
                    waiting.append(other)
                if self.full:
                    return

    @property
    def full(self) -> bool:
        """Whether as many plans are found as were asked for."""
        return len(self.found) >= self.most

    def _holds(self, pens: Pens) -> bool:
        near = net_value(self.problem, pens) >= self.least - tolerance.OBJECTIVE
        return near and not evaluate(self.problem, pens).broken

    def _near(self, pens: Pens) -> Iterator[Pens]:
        """Every plan one step away whose lines alone do not lose too much."""
        worth: dict[str, float] = {goal.line: 0.0 for goal in self.problem.lines}
        for pair in (pair for pen in pens for pair in pen.pairs):
            worth[pair.line] = worth.get(pair.line, 0.0) + pair.value
        value = evaluate(self.problem, pens).value
        if minds_kinship(self.problem):
            value = float("inf")
        for gone, come in _steps(_choices(self.problem, pens)):
            if value + self._change(worth, gone, come) >= self.least - tolerance.OBJECTIVE:
                yield _stepped(pens, gone, come)

    def _change(
        self,
        worth: dict[str, float],
        gone: tuple[tuple[int, Candidate], ...],
        come: tuple[tuple[int, Candidate], ...],
    ) -> float:
        """What a step adds to the value of the lines; endless where a test is touched."""
        moved: dict[str, float] = {}
        for sign, part in ((-1, gone), (1, come)):
            for _, pair in part:
                if pair.tested:
                    return float("inf")
                moved[pair.line] = moved.get(pair.line, 0.0) + sign * pair.value
        added = PAIR_COST * (len(gone) - len(come))
        for goal in self.problem.lines:
            if goal.line in moved:
                before, after = worth[goal.line], worth[goal.line] + moved[goal.line]
                more = line_counts(goal, after) - line_counts(goal, before)
                added += goal.importance * more
        return added


@dataclass(slots=True)
class _Choices:
    """The pairs of a plan by pen, and the pairs that each pen's cock could have."""

    pens: Pens
    inside: list[tuple[int, Candidate]]
    of_birds: dict[tuple[str, str, str], list[Candidate]]
    unused: list[list[Candidate]]

    def at(self, hen: str, place: int) -> Sequence[Candidate]:
        """Pairs of a hen with the cock of a pen."""
        pen = self.pens[place]
        return self.of_birds.get((hen, pen.cock, pen.turn), ())


def _choices(problem: PlanProblem, pens: Pens) -> _Choices:
    inside = [(at, pair) for at, pen in enumerate(pens) for pair in pen.pairs]
    used = {pair.hen for _, pair in inside}
    of_birds: dict[tuple[str, str, str], list[Candidate]] = {}
    of_cocks: dict[tuple[str, str], list[Candidate]] = {}
    for one in problem.candidates:
        of_birds.setdefault((one.hen, one.cock, one.turn), []).append(one)
        if one.hen not in used:
            of_cocks.setdefault((one.cock, one.turn), []).append(one)
    return _Choices(
        pens=pens,
        inside=inside,
        of_birds=of_birds,
        unused=[of_cocks.get((pen.cock, pen.turn), []) for pen in pens],
    )


def _steps(choices: _Choices) -> Iterator[Step]:
    """Every hen out, in, elsewhere, for an unused one, or for one of another pen."""
    for here, leaves in choices.inside:
        gone = ((here, leaves),)
        yield gone, ()
        yield from ((gone, ((here, one),)) for one in choices.unused[here])
        yield from ((gone, come) for come in _elsewhere(choices, leaves))
    for here, ones in enumerate(choices.unused):
        yield from (((), ((here, one),)) for one in ones)
    for (here, one), (there, other) in combinations(choices.inside, 2):
        if here != there:
            for goes in choices.at(one.hen, there):
                for comes in choices.at(other.hen, here):
                    yield ((here, one), (there, other)), ((there, goes), (here, comes))


def _elsewhere(choices: _Choices, leaves: Candidate) -> Iterator[tuple[tuple[int, Candidate], ...]]:
    """The places that a hen could take in the plan's pens, her own in another row too."""
    for there in range(len(choices.pens)):
        for one in choices.at(leaves.hen, there):
            if one != leaves:
                yield ((there, one),)


def _stepped(
    pens: Pens,
    gone: tuple[tuple[int, Candidate], ...],
    come: tuple[tuple[int, Candidate], ...],
) -> Pens:
    """The pens after a step; one that is left empty is closed."""
    pairs = [list(pen.pairs) for pen in pens]
    for at, pair in gone:
        pairs[at].remove(pair)
    for at, pair in come:
        pairs[at].append(pair)
    return tuple(
        replace(pen, pairs=tuple(sorted(own, key=lambda pair: natural(pair.hen))))
        for pen, own in zip(pens, pairs, strict=True)
        if own
    )
