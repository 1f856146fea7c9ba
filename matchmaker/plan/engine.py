"""The one place that runs a solver: quietly, to gap 0, with one thread, and honest about the end.

HiGHS by default; the CBC that comes with PuLP where HiGHS cannot be imported, or when asked for.
"""

from __future__ import annotations

import time
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
import pulp

from matchmaker.errors import SolverStoppedError
from matchmaker.plan.arrays import Highs, as_arrays
from matchmaker.plan.cbc import run_cbc
from matchmaker.plan.highs import FEW_SIDE_SEARCHES, SEED, THREADS, highspy, one_thread_again
from matchmaker.plan.quiet import quiet_stdout
from matchmaker.plan.result import Outcome

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matchmaker.plan.program import Amounts, Program

SolverName = Literal["highs", "cbc"]

_TUNING = {"presolve": "off", "mip_detect_symmetry": False, "mip_pool_soft_limit": 100}
"""Measured on flocks of 60 and 200 hens (``tests.bench``): presolve takes out the numbers of
pairs a line has, on which the search branches best; more cuts than these slow every node."""

_FROM_A_PLAN = {"presolve": "off", **FEW_SIDE_SEARCHES}
"""What the search runs with when it has a plan to start from."""

_PENS_FIXED = _FROM_A_PLAN | {
    "presolve": "on",
    "mip_heuristic_effort": 0.0,
    "mip_heuristic_run_rins": False,
}
"""With the pens fixed most columns presolve away, and none of the searches on the side pays."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """How one solve ended. ``bound`` is on the objective maximised; both figures are 0 for NONE."""

    outcome: Outcome
    value: float
    bound: float
    seconds: float


def choose_solver(wanted: SolverName | None) -> SolverName:
    """Return the solver to use: the one asked for, else HiGHS, else CBC."""
    if wanted is not None:
        return wanted
    return "cbc" if highspy is None else "highs"


def solver_version(solver: SolverName) -> str:
    """Return the version of a solver as it names itself."""
    if solver == "highs":
        with quiet_stdout():
            return str(highspy.Highs().version())
    return f"bundled with PuLP {pulp.__version__}"


def run(
    program: Program,
    solver: SolverName,
    *,
    time_limit: float | None = None,
    start: Amounts | None = None,
    node_limit: int | None = None,
    pens_fixed: bool = False,
) -> Run:
    """Solve to gap 0 and say how it ended; the values are left in the program.

    Parameters
    ----------
    program
        What is to be maximised.
    solver
        Which solver to use.
    time_limit
        Seconds after which to stop with what there is.
    start
        Values by column of a plan known to be feasible; HiGHS starts from it.
    node_limit
        Nodes of the search after which to stop; unlike a time limit it ends the same every time.
    pens_fixed
        Whether the pens are settled, which calls for other tuning.

    Raises
    ------
    SolverStoppedError
        If it ended with neither a plan nor the proof that none exists.
    """
    clock = time.perf_counter()
    with quiet_stdout():
        if solver == "highs":
            tuning = _tuning(start, pens_fixed=pens_fixed)
            outcome, bound = _run_highs(program, start, tuning, (time_limit, node_limit))
        else:
            status, solution_status, bound = run_cbc(program, time_limit, node_limit)
            outcome = _CBC_OUTCOMES.get((status, solution_status))
    if outcome is None:
        msg = f"{solver} stopped without a plan and without proof that none exists"
        raise SolverStoppedError(msg)
    value = _objective(program) if outcome is not Outcome.NONE else 0.0
    if outcome is Outcome.OPTIMAL and bound is None:
        bound = value
    return Run(
        outcome=outcome,
        value=value,
        bound=float("inf") if bound is None else max(bound, value),
        seconds=time.perf_counter() - clock,
    )


_CBC_OUTCOMES = {
    (pulp.LpStatusOptimal, pulp.LpSolutionOptimal): Outcome.OPTIMAL,
    (pulp.LpStatusOptimal, pulp.LpSolutionIntegerFeasible): Outcome.FEASIBLE,
    (pulp.LpStatusInfeasible, pulp.LpSolutionInfeasible): Outcome.NONE,
    (pulp.LpStatusInfeasible, pulp.LpSolutionNoSolutionFound): Outcome.NONE,  # integers only
}


def reduced_costs(program: Program) -> tuple[float, Amounts]:
    """Return the best value with parts of birds allowed, and what each column would add to it.

    HiGHS only. Of the columns in that optimum's own basis the figure is 0.
    """
    with quiet_stdout():
        relaxed = new_highs()
        relaxed.passModel(as_arrays(program, relaxed=True))
        relaxed.run()
    added = -np.array(relaxed.getSolution().col_dual)
    return -float(relaxed.getInfo().objective_function_value), added


def new_highs() -> Highs:
    """Return a quiet HiGHS with one thread and a fixed seed."""
    one_thread_again()
    solver = highspy.Highs()
    for option, value in (("output_flag", False), ("threads", THREADS), ("random_seed", SEED)):
        solver.setOptionValue(option, value)
    return solver


def _objective(program: Program) -> float:
    values = program.values
    return 0.0 if values is None else float(np.array(program.cost) @ values)


def _run_highs(
    program: Program,
    start: Amounts | None,
    tuning: Mapping[str, Any],
    limits: tuple[float | None, int | None],
) -> tuple[Outcome | None, float | None]:
    """Run HiGHS from a plan if there is one: how it ended, and its bound."""
    solver = new_highs()
    seconds, nodes = limits
    options = {**tuning, "mip_rel_gap": 0.0, "mip_abs_gap": 0.0}
    if seconds is not None:
        options["time_limit"] = float(seconds)
    if nodes is not None:
        options["mip_max_nodes"] = nodes
    for option, value in options.items():
        solver.setOptionValue(option, value)
    solver.passModel(as_arrays(program))
    if start is not None:
        given = highspy.HighsSolution()
        given.col_value = list(start) + [0.0] * (program.width - len(start))
        solver.setSolution(given)
    solver.run()
    info = solver.getInfo()
    has_plan = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
    if has_plan:
        program.values = np.array(solver.getSolution().col_value)
    return _highs_outcome(solver.getModelStatus(), has_plan=has_plan), -float(info.mip_dual_bound)


def _highs_outcome(end: object, *, has_plan: bool) -> Outcome | None:
    states = highspy.HighsModelStatus
    if end == states.kOptimal or (end == states.kModelEmpty and has_plan):
        return Outcome.OPTIMAL
    if end in (states.kInfeasible, states.kUnboundedOrInfeasible):
        return Outcome.NONE
    return Outcome.FEASIBLE if has_plan else None


def _tuning(start: Amounts | None, *, pens_fixed: bool) -> dict[str, Any]:
    if pens_fixed:
        return dict(_PENS_FIXED)
    return dict(_TUNING if start is None else _FROM_A_PLAN)
