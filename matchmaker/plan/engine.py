"""The one place that runs a solver: quietly, to gap 0, with one thread, and honest about the end.

HiGHS by default; the CBC that comes with PuLP where HiGHS cannot be imported, or when asked for.
"""

from __future__ import annotations

import re
import tempfile
import time
import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, TypeAlias

import pulp

from matchmaker.errors import SolverStoppedError
from matchmaker.plan.arrays import as_arrays
from matchmaker.plan.highs import FEW_SIDE_SEARCHES, SEED, THREADS, highspy, one_thread_again
from matchmaker.plan.quiet import quiet_stdout
from matchmaker.plan.result import Outcome

Columns: TypeAlias = Any
"""PuLP carries no types."""

if TYPE_CHECKING:
    from collections.abc import Mapping

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
    lp: pulp.LpProblem,
    solver: SolverName,
    *,
    time_limit: float | None = None,
    start: Mapping[str, float] | None = None,
    node_limit: int | None = None,
    pens_fixed: bool = False,
) -> Run:
    """Solve to gap 0 and say how it ended; the values are left in the variables.

    Parameters
    ----------
    lp
        The model, to be maximised.
    solver
        Which solver to use.
    time_limit
        Seconds after which to stop with what there is.
    start
        Values by name of variable of a plan known to be feasible; HiGHS starts from it.
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
        bound = (
            _run_highs(
                lp,
                _Highs(start, time_limit, node_limit, tuning=_tuning(start, pens_fixed=pens_fixed)),
            )
            if solver == "highs"
            else _run_cbc(lp, time_limit, node_limit)
        )
    outcome = _OUTCOMES.get((lp.status, lp.sol_status))
    if outcome is None:
        msg = f"{solver} stopped without a plan and without proof that none exists"
        raise SolverStoppedError(msg)
    value = float(lp.objective.value() or 0.0) if outcome is not Outcome.NONE else 0.0
    if outcome is Outcome.OPTIMAL and bound is None:
        bound = value
    return Run(
        outcome=outcome,
        value=value,
        bound=float("inf") if bound is None else max(bound, value),
        seconds=time.perf_counter() - clock,
    )


_OUTCOMES = {
    (pulp.LpStatusOptimal, pulp.LpSolutionOptimal): Outcome.OPTIMAL,
    (pulp.LpStatusOptimal, pulp.LpSolutionIntegerFeasible): Outcome.FEASIBLE,
    (pulp.LpStatusInfeasible, pulp.LpSolutionInfeasible): Outcome.NONE,
    (pulp.LpStatusInfeasible, pulp.LpSolutionNoSolutionFound): Outcome.NONE,  # CBC, integers only
}


def reduced_costs(lp: pulp.LpProblem) -> tuple[float, dict[str, float]]:
    """Return the best value with parts of birds allowed, and what each column would add to it.

    HiGHS only. Of the columns in that optimum's own basis the figure is 0.
    """
    with quiet_stdout():
        columns = lp.variables()
        for place, column in enumerate(columns):
            column.index = place
        one_thread_again()
        relaxed = highspy.Highs()
        relaxed.setOptionValue("output_flag", "off")
        arrays = as_arrays(lp, columns, list(lp.constraints()))
        arrays.integrality_ = []
        relaxed.passModel(arrays)
        relaxed.run()
    duals = relaxed.getSolution().col_dual
    names = [column.name for column in columns]
    added = {name: -dual for name, dual in zip(names, duals, strict=True)}
    return -float(relaxed.getInfo().objective_function_value), added


def _run_highs(lp: pulp.LpProblem, solver: _Highs) -> float:
    one_thread_again()
    lp.solve(solver)
    return -float(lp.solverModel.getInfo().mip_dual_bound)


def _run_cbc(lp: pulp.LpProblem, time_limit: float | None, node_limit: int | None) -> float | None:
    """Run CBC; its bound stands only in its log."""
    with tempfile.TemporaryDirectory() as folder, warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        log = Path(folder) / "cbc.log"
        lp.solve(
            pulp.PULP_CBC_CMD(
                msg=False,
                gapRel=0.0,
                gapAbs=0.0,
                threads=THREADS,
                timeLimit=time_limit,
                maxNodes=node_limit,
                logPath=str(log),
                options=[f"randomCbcSeed {SEED + 1}"],
            )
        )
        return _cbc_bound(log.read_text(encoding="utf-8", errors="replace"))


def _cbc_bound(log: str) -> float | None:
    """Return the bound on the maximum that CBC's log states, if it states one."""
    found = re.findall(r"^(?:Upper|Lower) bound:\s+(\S+)", log, flags=re.MULTILINE)
    return abs(float(found[-1])) if found else None


def _tuning(start: Mapping[str, float] | None, *, pens_fixed: bool) -> dict[str, Any]:
    if pens_fixed:
        return dict(_PENS_FIXED)
    return dict(_TUNING if start is None else _FROM_A_PLAN)


class _Highs(pulp.HiGHS):  # type: ignore[misc]  # PuLP carries no types
    """PuLP's adapter, with the model passed in one piece and a plan to start from."""

    def __init__(
        self,
        start: Mapping[str, float] | None,
        time_limit: float | None,
        node_limit: int | None,
        *,
        tuning: Mapping[str, Any],
    ) -> None:
        if node_limit is not None:
            tuning = {**tuning, "mip_max_nodes": node_limit}
        super().__init__(
            msg=False,
            gapRel=0.0,
            gapAbs=0.0,
            threads=THREADS,
            timeLimit=time_limit,
            random_seed=SEED,
            **tuning,
        )
        self.start = start

    def buildSolverModel(self, lp: pulp.LpProblem) -> None:  # noqa: N802 (PuLP's name)
        """Pass columns and rows as arrays: many times faster than one by one."""
        columns = lp.variables()
        for place, column in enumerate(columns):
            column.index = place
        rows = list(lp.constraints())
        lp.solverModel.passModel(as_arrays(lp, columns, rows))

    def callSolver(self, lp: pulp.LpProblem) -> None:  # noqa: N802 (PuLP's name)
        """Run, from the given plan if there is one."""
        if self.start:
            given = highspy.HighsSolution()
            given.col_value = [self.start.get(one.name, 0.0) for one in lp.variables()]
            lp.solverModel.setSolution(given)
        lp.solverModel.run()

    def findSolutionValues(self, lp: pulp.LpProblem) -> tuple[int, int]:  # noqa: N802 (PuLP's name)
        """Read the values where there are some."""
        end = lp.solverModel.getModelStatus()
        values = lp.solverModel.getSolution().col_value
        info = lp.solverModel.getInfo()
        has_plan = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
        if has_plan:
            for column, value in zip(lp.variables(), values, strict=True):
                column.varValue = value
        return _highs_status(end, has_plan=has_plan)


def _highs_status(end: object, *, has_plan: bool) -> tuple[int, int]:
    states = highspy.HighsModelStatus
    if end == states.kOptimal or (end == states.kModelEmpty and has_plan):
        return pulp.LpStatusOptimal, pulp.LpSolutionOptimal
    if end in (states.kInfeasible, states.kUnboundedOrInfeasible):
        return pulp.LpStatusInfeasible, pulp.LpSolutionInfeasible
    if has_plan:
        return pulp.LpStatusOptimal, pulp.LpSolutionIntegerFeasible
    return pulp.LpStatusNotSolved, pulp.LpSolutionNoSolutionFound
