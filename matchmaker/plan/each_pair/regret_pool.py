"""Plans that are known, and what each pair costs at most by them: every plan serves all its pairs.

From a plan others follow by arithmetic: a hen takes another's place, two hens change places, a hen
moves into free room. The best such step for a pair is tried first, and a plan counts only if it
keeps every rule (``verify.evaluate``).
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final, TypeAlias

import numpy as np

from matchmaker import tolerance
from matchmaker.flock.listing import natural
from matchmaker.plan.arithmetic.saturation import counted as line_counts
from matchmaker.plan.arithmetic.verify import WrongPlanError, evaluate
from matchmaker.plan.posing.problem import PAIR_COST
from matchmaker.plan.program.decode import decode

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from matchmaker.plan.arithmetic.result import PlannedPen
    from matchmaker.plan.posing.problem import Candidate
    from matchmaker.plan.program.model import Model
    from matchmaker.plan.program.program import Amounts

TRIES: Final = 3
"""Steps that are checked for one pair in one plan, the most promising first."""

Step: TypeAlias = "tuple[tuple[Candidate, ...], tuple[Candidate, ...]]"
"""Pairs that leave a plan, and pairs that join it."""


class Pool:
    """Plans of one model, and the best value known with each pair.

    ``value`` holds for each candidate of the layout the value of the best plan known with it, minus
    infinity where there is none.
    """

    __slots__ = ("_at", "_model", "best", "plans", "value")

    def __init__(self, model: Model) -> None:
        self._model = model
        self._at = {one.key: place for place, one in enumerate(model.layout.candidates)}
        self.value = np.full(len(self._at), -np.inf)
        self.plans: list[tuple[PlannedPen, ...]] = []
        self.best = float("-inf")

    def place(self, candidate: Candidate) -> int | None:
        """The place of a candidate in the layout, ``None`` if it is not one of the problem."""
        place = self._at.get(candidate.key)
        known = self._model.layout.candidates
        return place if place is not None and known[place] == candidate else None

    def add(self, pens: tuple[PlannedPen, ...]) -> bool:
        """Take a plan in if it keeps every rule; say whether it does."""
        score = evaluate(self._model.problem, pens)
        if score.broken:
            return False
        self.best = max(self.best, score.value)
        at = [self._at[pair.key] for pen in pens for pair in pen.pairs]
        if np.any(self.value[at] < score.value - tolerance.OBJECTIVE / 2):
            self.plans.append(pens)
        self.value[at] = np.maximum(self.value[at], score.value)
        return True

    def add_solved(self, values: Amounts) -> tuple[PlannedPen, ...]:
        """Take in a plan as a solver left it, by column.

        Raises
        ------
        WrongPlanError
            If it breaks a rule: a bug.
        """
        program = self._model.program
        before, program.values = program.values, values
        pens = decode(self._model)
        program.values = before
        if not self.add(pens):
            raise WrongPlanError(evaluate(self._model.problem, pens).broken)
        return pens

    def step_from(self, pens: tuple[PlannedPen, ...], wanted: Iterable[int]) -> None:
        """Look for plans with these pairs one step from a plan."""
        plan = _Plan(self._model, pens)
        for place in wanted:
            one = self._model.layout.candidates[place]
            steps = sorted(
                (
                    (plan.value_after(step), number, step)
                    for number, step in enumerate(plan.steps(one))
                ),
                key=lambda found: (-found[0], found[1]),
            )
            for value, _, step in steps[:TRIES]:
                if value <= self.value[place] + tolerance.OBJECTIVE or self.add(plan.after(step)):
                    break


class _Plan:
    """A plan and what is needed to change it by one step."""

    __slots__ = ("_allowed", "_goals", "_of_hen", "_pens", "_worth")

    def __init__(self, model: Model, pens: Sequence[PlannedPen]) -> None:
        self._pens = tuple(pens)
        self._allowed = {one.key: one for one in model.layout.candidates}
        self._of_hen = {(pair.hen, pair.turn): pair for pen in pens for pair in pen.pairs}
        self._goals = {goal.line: goal for goal in model.problem.lines}
        self._worth = dict.fromkeys(self._goals, 0.0)
        for pair in self._of_hen.values():
            if pair.line:
                self._worth[pair.line] += pair.value

    def steps(self, one: Candidate) -> Iterator[Step]:
        """Yield steps that bring a pair into a pen of its cock."""
        before = self._of_hen.get((one.hen, one.turn))
        gone = () if before is None else (before,)
        yield gone, (one,)
        for pen in self._pens:
            if (pen.cock, pen.turn) != (one.cock, one.turn):
                continue
            for other in pen.pairs:
                if other.hen == one.hen:
                    continue
                yield (*gone, other), (one,)
                if before is None:
                    continue
                back = self._allowed.get((other.hen, before.cock, before.row, before.turn))
                if back is not None:
                    yield (*gone, other), (one, back)

    def value_after(self, step: Step) -> float:
        """What the lines count after a step less the cost of the pairs that it adds."""
        worth = dict(self._worth)
        for pairs, sign in zip(step, (-1.0, 1.0), strict=True):
            for pair in pairs:
                if pair.line:
                    worth[pair.line] += sign * pair.value
        counted = sum(
            goal.importance * line_counts(goal, worth[line]) for line, goal in self._goals.items()
        )
        return counted - PAIR_COST * (len(self._of_hen) - len(step[0]) + len(step[1]))

    def after(self, step: Step) -> tuple[PlannedPen, ...]:
        """Return the pens after a step: who joins goes where his place became free, or is room."""
        gone = {pair.key for pair in step[0]}
        joins = list(step[1])
        made = []
        for pen in self._pens:
            stay = [pair for pair in pen.pairs if pair.key not in gone]
            here = [one for one in joins if (one.cock, one.turn) == (pen.cock, pen.turn)]
            for one in here[:1]:
                joins.remove(one)
                stay.append(one)
            pairs = tuple(sorted(stay, key=lambda pair: natural(pair.hen)))
            if pairs:
                made.append(replace(pen, pairs=pairs))
        return tuple(made)
