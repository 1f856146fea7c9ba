"""One run of HiGHS on a program: its options, its start, its callbacks, how it ended."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from matchmaker.plan.arithmetic.result import Outcome
from matchmaker.plan.solvers.arrays import Highs, as_arrays
from matchmaker.plan.solvers.highs import highspy, new_highs

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matchmaker.plan.program.program import Amounts, Program
    from matchmaker.plan.solvers.watch import Watch


@dataclass(frozen=True, slots=True, kw_only=True)
class Ended:
    """``outcome`` is ``None`` for neither a plan nor the proof that none exists."""

    outcome: Outcome | None
    bound: float
    nodes: int


def run_highs(
    program: Program,
    options: Mapping[str, Any],
    *,
    start: Amounts | None = None,
    watch: Watch | None = None,
    offset: float | None = None,
) -> Ended:
    """Run HiGHS on a program, from a plan if there is one; the values are left in the program.

    Within ``quiet_stdout``. With a watch the run ends when it says so; it is told how far the run
    is if ``offset`` says by how much the program's values fall short of the plan's.
    """
    solver = new_highs()
    for option, value in options.items():
        solver.setOptionValue(option, value)
    solver.passModel(as_arrays(program))
    if start is not None:
        given = highspy.HighsSolution()
        given.col_value = list(start) + [0.0] * (program.width - len(start))
        solver.setSolution(given)
    if watch is not None:
        heed(solver, watch, offset)
    solver.run()
    info = solver.getInfo()
    has_plan = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
    program.values = np.array(solver.getSolution().col_value) if has_plan else program.values
    return Ended(
        outcome=_outcome(solver.getModelStatus(), has_plan=has_plan),
        bound=-float(info.mip_dual_bound),
        nodes=max(0, int(info.mip_node_count)),
    )


def heed(solver: Highs, watch: Watch, offset: float | None = None) -> None:
    """Let a solver end its run when the watch says so, and tell the watch how far it is."""

    def ask(event: Highs) -> None:
        if watch.over:
            event.interrupt()

    def tell(event: Highs) -> None:
        now = event.data_out
        if offset is not None:
            watch.look(offset - now.mip_primal_bound, offset - now.mip_dual_bound)
        ask(event)

    solver.cbMipInterrupt += tell
    solver.cbSimplexInterrupt += ask


def _outcome(end: object, *, has_plan: bool) -> Outcome | None:
    states = highspy.HighsModelStatus
    if end == states.kOptimal or (end == states.kModelEmpty and has_plan):
        return Outcome.OPTIMAL
    if end in (states.kInfeasible, states.kUnboundedOrInfeasible):
        return Outcome.NONE
    return Outcome.FEASIBLE if has_plan else None
