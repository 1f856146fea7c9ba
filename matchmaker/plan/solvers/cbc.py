"""CBC, which comes with PuLP: an independent solver of the same program, slower by far."""

from __future__ import annotations

import re
import tempfile
import warnings
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pulp

from matchmaker.plan.arithmetic.result import Outcome
from matchmaker.plan.solvers.highs import SEED, THREADS

if TYPE_CHECKING:
    from collections.abc import Iterable

    from matchmaker.plan.program.program import Program


def as_pulp(program: Program) -> tuple[pulp.LpProblem, list[Any]]:
    """Return the program as a PuLP problem, and its columns in order."""
    lp = pulp.LpProblem("plan", pulp.LpMaximize)
    columns = [
        lp.add_variable(f"x_{at}", _bound(low), _bound(high), _KINDS[whole])
        for at, (low, high, whole) in enumerate(
            zip(program.lower, program.upper, program.whole, strict=True)
        )
    ]
    lp.setObjective(_terms(columns, enumerate(program.cost)))
    starts, indices, coefficients = program.matrix()
    for row in range(program.height):
        inside = slice(starts[row], starts[row + 1])
        found = list(zip(indices[inside], coefficients[inside], strict=True))
        _add_row(lp, columns, found or [(0, 0.0)], program.row_lower[row], program.row_upper[row])
    return lp, columns


def run_cbc(
    program: Program, time_limit: float | None, node_limit: int | None
) -> tuple[Outcome | None, float | None]:
    """Run CBC: how it ended, and the bound, which stands only in its log.

    ``None`` for neither a plan nor the proof that none exists. The values are left in the program.
    """
    lp, columns = as_pulp(program)
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
        bound = _bound_in(log.read_text(encoding="utf-8", errors="replace"))
    if lp.status == pulp.LpStatusOptimal:
        program.values = np.array([float(one.varValue or 0.0) for one in columns])
    return _OUTCOMES.get((lp.status, lp.sol_status)), bound


CBC_VERSION: Final = f"bundled with PuLP {pulp.__version__}"

_OUTCOMES: Final = {
    (pulp.LpStatusOptimal, pulp.LpSolutionOptimal): Outcome.OPTIMAL,
    (pulp.LpStatusOptimal, pulp.LpSolutionIntegerFeasible): Outcome.FEASIBLE,
    (pulp.LpStatusInfeasible, pulp.LpSolutionInfeasible): Outcome.NONE,
    (pulp.LpStatusInfeasible, pulp.LpSolutionNoSolutionFound): Outcome.NONE,  # integers only
}


_KINDS = (pulp.LpContinuous, pulp.LpInteger)


def _bound(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None


def _terms(columns: list[Any], amounts: Iterable[tuple[int, float]]) -> pulp.LpAffineExpression:
    return pulp.LpAffineExpression({columns[at]: float(amount) for at, amount in amounts})


def _add_row(
    lp: pulp.LpProblem, columns: list[Any], terms: list[tuple[int, float]], low: float, high: float
) -> None:
    """Add a row, as two where it is bounded on both sides."""
    if low == high:
        lp.addConstraint(pulp.LpConstraint(_terms(columns, terms), pulp.LpConstraintEQ, rhs=low))
        return
    for bound, sense in ((low, pulp.LpConstraintGE), (high, pulp.LpConstraintLE)):
        if np.isfinite(bound):
            lp.addConstraint(pulp.LpConstraint(_terms(columns, terms), sense, rhs=float(bound)))


def _bound_in(log: str) -> float | None:
    """Return the bound on the maximum that CBC's log states, if it states one."""
    found = re.findall(r"^(?:Upper|Lower) bound:\s+(\S+)", log, flags=re.MULTILINE)
    return abs(float(found[-1])) if found else None
