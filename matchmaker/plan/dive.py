"""A good plan to start the search from: pens are settled one by one on the relaxed program.

The relaxed program, in which parts of pens and birds are allowed, is solved; the pen with the
most hens at stake is given whole to its cock, and so on until all pens are whole; then the hens
are placed. No proof comes of it, but a search that starts from its plan needs few of its own
attempts at plans, which take most of a search's time.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from matchmaker import tolerance
from matchmaker.plan.arrays import as_arrays
from matchmaker.plan.engine import new_highs
from matchmaker.plan.highs import FEW_SIDE_SEARCHES, highspy
from matchmaker.plan.quiet import quiet_stdout

if TYPE_CHECKING:
    from matchmaker.plan.model import Model
    from matchmaker.plan.program import Amounts, Program

MOST_NODES = 40
"""Nodes of the search that places the hens once the pens are settled."""


_PLACING = {"mip_rel_gap": 1e-4, "mip_max_nodes": MOST_NODES, **FEW_SIDE_SEARCHES}
"""Close to the best plan, in little time."""


@dataclass(slots=True)
class _Dive:
    """The relaxed program and what is still open in it."""

    solver: Any
    pens: dict[int, float]
    upper: dict[int, float]

    def values(self) -> list[float]:
        return list(self.solver.getSolution().col_value)

    def solved(self) -> bool:
        self.solver.run()
        return bool(self.solver.getModelStatus() == highspy.HighsModelStatus.kOptimal)

    def widest(self) -> tuple[int, float] | None:
        """The pen column held in part with the most hens at stake, and how much of it is held."""
        values = self.values()
        parts = {at: values[at] for at in self.pens if _is_part(values[at])}
        if not parts:
            return None
        at = max(parts, key=lambda at: (parts[at] % 1 * self.pens[at], -at))
        return at, parts[at]

    def settle(self, at: int, held: float) -> bool:
        """Round a pen column up, or down where that leaves no plan."""
        self.solver.changeColBounds(at, math.floor(held) + 1, self.upper[at])
        if self.solved():
            return True
        self.upper[at] = math.floor(held)
        self.solver.changeColBounds(at, 0, self.upper[at])
        return self.solved()


def plan_to_start_from(model: Model) -> Amounts | None:
    """A plan of the model, as values by column; ``None`` if the dive finds none."""
    with quiet_stdout():
        values = _dive(model)
    return None if values is None else np.array(values)


def _dive(model: Model) -> list[float] | None:
    program = model.program
    solver = new_highs()
    solver.passModel(as_arrays(program, relaxed=True))
    pens = {column: float(slot.hens_max) for (slot, _), column in model.y.items()}
    upper = {at: float(program.upper[at]) for at in pens}
    dive = _Dive(solver=solver, pens=pens, upper=upper)
    if not dive.solved():
        return None
    while (part := dive.widest()) is not None:
        if not dive.settle(*part):
            return None
    return _place_hens(dive, program)


def _place_hens(dive: _Dive, program: Program) -> list[float] | None:
    """Solve for the hens with the pens as they are settled."""
    values = dive.values()
    for at in dive.pens:
        dive.solver.changeColBounds(at, round(values[at]), round(values[at]))
    kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
    at_once = np.arange(program.width, dtype=np.int32)
    whole = np.array([kinds[one] for one in program.whole])
    dive.solver.changeColsIntegrality(program.width, at_once, whole)
    for option, value in _PLACING.items():
        dive.solver.setOptionValue(option, value)
    dive.solver.run()
    status = dive.solver.getInfo().primal_solution_status
    if status != highspy.SolutionStatus.kSolutionStatusFeasible:
        return None
    return dive.values()


def _is_part(value: float) -> bool:
    return abs(value - round(value)) > tolerance.INTEGRALITY
