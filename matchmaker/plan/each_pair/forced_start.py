"""A plan for a forced pair that is at hand before any search: the best plan a little changed.

Where the watch leaves a search no time this plan stands, with the bound that is known by then.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from matchmaker import tolerance
from matchmaker.plan.each_pair.forced_pens import held_pens, pens_for_pair, plan_by_pens
from matchmaker.plan.each_pair.regret_pool import Pool
from matchmaker.plan.searching.task import task_of
from matchmaker.plan.solvers.live import Live
from matchmaker.plan.solvers.quiet import quiet_stdout
from matchmaker.plan.solvers.watch import Watch

if TYPE_CHECKING:
    from matchmaker.plan.arithmetic.result import PlannedPen, Solution
    from matchmaker.plan.posing.problem import Candidate
    from matchmaker.plan.program.model import Model
    from matchmaker.plan.program.program import Amounts
    from matchmaker.plan.searching.search import Search
    from matchmaker.plan.searching.task import Task

LAST_CHANGES: Final = 12
"""Changes of pens that are tried when the watch is over and there is no plan yet: each takes one
relaxed program, so that they add a tenth of a second or two."""


def plan_in_hand(
    model: Model, best: Solution, candidate: Candidate
) -> tuple[Amounts | None, float]:
    """Return the best plan with a pair one step from the best plan, by column, and its worth.

    ``None`` and minus infinity where there is no such plan.
    """
    found = None
    pens = _one_step(model, best, candidate)
    if pens is not None:
        with quiet_stdout():
            found = _by_column(task_of(model), model, pens)
    return found, -np.inf if found is None else float(np.array(model.program.cost) @ found)


def _one_step(model: Model, best: Solution, candidate: Candidate) -> tuple[PlannedPen, ...] | None:
    pool = Pool(model)
    pool.add(best.pens)
    place = pool.place(candidate)
    if place is None:
        return None
    pool.step_from(best.pens, [place])
    for pens in reversed(pool.plans):
        if any(pair == candidate for pen in pens for pair in pen.pairs):
            return pens
    return None


def _by_column(task: Task, model: Model, pens: tuple[PlannedPen, ...]) -> Amounts | None:
    """Return a plan as values by column; ``None`` where the program does not hold it as it is."""
    live = Live(model.program)
    taken = {pair.key for pen in pens for pair in pen.pairs}
    pairs = np.array([float(one.key in taken) for one in model.layout.candidates])
    held = held_pens(model, pens)
    live.hold_all(task.pairs, pairs, pairs)
    live.hold_all(task.pens, held, held)
    if not live.solve():
        return None
    values = live.solution()
    parts = np.abs(values - np.round(values))[np.array(model.program.whole, dtype=bool)]
    return None if np.any(parts > tolerance.INTEGRALITY) else values


def plan_at_last(now: Search, model: Model, best: Solution, candidate: Candidate) -> Amounts | None:
    """Return a plan by few changes of pens, however little time there is; ``None``: none found."""
    changes = pens_for_pair(model, best.pens, candidate)[:LAST_CHANGES]
    return plan_by_pens(now.task, now.relaxed.live, changes, Watch())
