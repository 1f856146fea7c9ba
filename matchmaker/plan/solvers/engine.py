"""The one place that runs a solver: quietly, to gap 0, with one thread, and honest about the end.

HiGHS by default; the CBC that comes with PuLP where HiGHS cannot be imported, or when asked for.
"""

from __future__ import annotations

import time
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final, Literal

import numpy as np

from matchmaker.errors import SolverStoppedError
from matchmaker.plan.arithmetic.result import Outcome
from matchmaker.plan.solvers.arrays import as_arrays
from matchmaker.plan.solvers.highs import FEW_SIDE_SEARCHES, highspy, new_highs
from matchmaker.plan.solvers.highs_run import run_highs
from matchmaker.plan.solvers.quiet import quiet_stdout

if TYPE_CHECKING:
    from matchmaker.plan.program.program import Amounts, Program
    from matchmaker.plan.solvers.watch import Watch

SolverName = Literal["highs", "cbc"]

FROM_NOTHING = {"presolve": "off", "mip_detect_symmetry": False, "mip_pool_soft_limit": 100}
"""Measured on flocks of 60 and 200 hens (``tests.bench``): presolve takes out the numbers of
pairs a line has, on which the search branches best; more cuts than these slow every node."""

FROM_A_PLAN = {"presolve": "off", **FEW_SIDE_SEARCHES}
"""What the search runs with when it has a plan to start from."""

SMALL: Final = 2000
"""Columns of a program in which rows that bind no longer cost more at every node than finding them
again (measured on flocks of 60 hens: 0.7 of the time)."""

FEW_ROWS_KEPT: Final = {
    "mip_pool_soft_limit": 1,
    "mip_lp_age_limit": 1,
    "mip_heuristic_run_rins": False,
}

_PENS_FIXED = FROM_A_PLAN | {
    "presolve": "on",
    "mip_heuristic_effort": 0.0,
    "mip_heuristic_run_rins": False,
}
"""With the pens fixed most columns presolve away, and none of the searches on the side pays."""


TIME_RAN_OUT = "time ran out before any plan was found: allow more seconds"
NO_ANSWER = "the solver stopped with neither a plan nor the proof that none exists"


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
    from matchmaker.plan.solvers.cbc import CBC_VERSION

    return CBC_VERSION


def run(  # noqa: PLR0913  (each says another thing of one run)
    program: Program,
    solver: SolverName,
    *,
    time_limit: float | None = None,
    start: Amounts | None = None,
    node_limit: int | None = None,
    pens_fixed: bool = False,
    watch: Watch | None = None,
) -> Run:
    """Solve to gap 0 and say how it ended; the values are left in the program.

    Rows and columns may be added and bounds changed between runs: nothing is kept from the run
    before but what the caller hands over as ``start``, so a run costs its arrays and its search.
    (Relaxed programs that change little from solve to solve are kept by ``live.Live``.)

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
    watch
        Ends HiGHS's search when it is stopped, with the best plan so far. CBC runs as a process of
        its own and cannot be told; its time limit holds.

    Raises
    ------
    SolverStoppedError
        If it ended with neither a plan nor the proof that none exists.
    """
    clock = time.perf_counter()
    bound: float | None
    with quiet_stdout():
        if solver == "highs":
            options = _tuning(start, pens_fixed=pens_fixed) | limits_of(time_limit, node_limit)
            ended = run_highs(program, options, start=start, watch=watch)
            outcome, bound = ended.outcome, ended.bound
        else:
            outcome, bound = _run_cbc(program, time_limit, node_limit)
    if outcome is None:
        limited = time_limit is not None or watch is not None
        raise SolverStoppedError(TIME_RAN_OUT if limited else NO_ANSWER)
    value = _objective(program) if outcome is not Outcome.NONE else 0.0
    if outcome is Outcome.OPTIMAL and bound is None:
        bound = value
    return Run(
        outcome=outcome,
        value=value,
        bound=float("inf") if bound is None else max(bound, value),
        seconds=time.perf_counter() - clock,
    )


def _run_cbc(
    program: Program, time_limit: float | None, node_limit: int | None
) -> tuple[Outcome | None, float | None]:
    """Run CBC, whose library is loaded only here: where HiGHS is, nobody waits for it."""
    from matchmaker.plan.solvers.cbc import run_cbc

    return run_cbc(program, time_limit, node_limit)


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


def _objective(program: Program) -> float:
    values = program.values
    return 0.0 if values is None else float(np.array(program.cost) @ values)


def from_a_plan(program: Program) -> dict[str, Any]:
    """HiGHS's options for a program of which a plan is known."""
    return FROM_A_PLAN | (FEW_ROWS_KEPT if program.width <= SMALL else {})


def limits_of(seconds: float | None, nodes: int | None) -> dict[str, Any]:
    """HiGHS's options for gap 0 within so many seconds and nodes."""
    limits: dict[str, Any] = {"mip_rel_gap": 0.0, "mip_abs_gap": 0.0}
    if seconds is not None:
        limits["time_limit"] = float(seconds)
    if nodes is not None:
        limits["mip_max_nodes"] = nodes
    return limits


def _tuning(start: Amounts | None, *, pens_fixed: bool) -> dict[str, Any]:
    if pens_fixed:
        return dict(_PENS_FIXED)
    return dict(FROM_NOTHING if start is None else FROM_A_PLAN)
