"""No plan better than one in hand, proved on a live relaxed program that holds a pair: or the plan.

As in ``search``, but without its dives: a plan is at hand, and what is wanted is mostly the proof.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import numpy as np

from matchmaker import tolerance
from matchmaker.plan.arithmetic.result import Outcome
from matchmaker.plan.searching.narrowing import narrowed, unsettled
from matchmaker.plan.searching.totals import boxes_above
from matchmaker.plan.solvers.engine import from_a_plan, limits_of
from matchmaker.plan.solvers.highs_run import run_highs

if TYPE_CHECKING:
    from collections.abc import Callable

    from matchmaker.plan.program.program import Amounts
    from matchmaker.plan.searching.narrowing import Narrowed
    from matchmaker.plan.searching.pricing import Relaxed
    from matchmaker.plan.searching.totals import Box
    from matchmaker.plan.solvers.watch import Watch

MOST_SOLVES: Final = 60
"""Relaxed programs solved to branch on the numbers of pairs."""

HAIR: Final = tolerance.OBJECTIVE / 2


class Prover:
    """Searches the plans of a task as its program and its relaxed program are held.

    ``take`` is told of each better plan found, by column, and says what it is worth.
    """

    __slots__ = ("relaxed", "take", "watch")

    def __init__(self, relaxed: Relaxed, watch: Watch, take: Callable[[Amounts], float]) -> None:
        self.relaxed = relaxed
        self.watch = watch
        self.take = take

    def bound_above(self, value: float) -> float:
        """Return a bound on all plans, ``value`` being that of one in hand, or of none wanted.

        Where the watch does not end it, no plan is worth more than the bound, and one that is
        worth so much has been given to ``take`` unless that is ``value``. Within ``quiet_stdout``.
        """
        relaxed = self.relaxed
        relaxed.solve()
        if relaxed.live.impossible:
            return -np.inf
        bound = relaxed.bound
        if bound <= value + HAIR or not relaxed.live.solved or self.watch.over:
            return bound
        left = -np.inf
        for box in boxes_above(relaxed.task, relaxed.live, value + HAIR, MOST_SOLVES):
            if box.bound <= value + HAIR:
                continue
            if self.watch.over:
                left = max(left, box.bound)
                continue
            most, value = self._search(box, value)
            left = max(left, most)
        return min(bound, max(left, value))

    def _search(self, box: Box, value: float) -> tuple[float, float]:
        """Search one box; return a bound on it, and the value of the best plan in hand."""
        task = self.relaxed.task
        low, high = np.array(box.low), np.array(box.high)
        bound, added = self.relaxed.within(task.totals, low, high)
        if bound <= value + HAIR:
            return bound, value
        part = self._part(box, bound, added, value)
        options: dict[str, Any] = from_a_plan(part.program) | limits_of(self.watch.left(), None)
        options["objective_bound"] = part.offset - value - tolerance.OBJECTIVE
        ended = run_highs(part.program, options, watch=self.watch)
        self.watch.report(nodes=ended.nodes)
        if part.program.values is not None:
            value = max(value, self.take(part.full(part.program.values)))
        if ended.outcome in (Outcome.OPTIMAL, Outcome.NONE):
            return value, value
        return min(bound, max(value, ended.bound + part.offset)), value

    def _part(self, box: Box, bound: float, added: Amounts, value: float) -> Narrowed:
        """Return the program of what the value in hand leaves open in a box."""
        task, program = self.relaxed.task, self.relaxed.task.program
        kept = [(program.lower[column], program.upper[column]) for column in task.totals]
        for column, low, high in zip(task.totals, box.low, box.high, strict=True):
            program.lower[column], program.upper[column] = low, high
        columns, values = unsettled(program, bound, added, value)
        part = narrowed(program, columns, values)
        for column, (lower, upper) in zip(task.totals, kept, strict=True):
            program.lower[column], program.upper[column] = lower, upper
        return part
