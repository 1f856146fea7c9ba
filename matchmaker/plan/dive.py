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
from matchmaker.plan.highs import FEW_SIDE_SEARCHES, SEED, THREADS, highspy, one_thread_again
from matchmaker.plan.quiet import quiet_stdout

if TYPE_CHECKING:
    from matchmaker.plan.arrays import Columns
    from matchmaker.plan.model import Model

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


def plan_to_start_from(model: Model) -> dict[str, float] | None:
    """A plan of the model, as values by name of column; ``None`` if the dive finds none."""
    columns = model.lp.variables()
    for place, column in enumerate(columns):
        column.index = place
    arrays = as_arrays(model.lp, columns, list(model.lp.constraints()))
    whole = list(arrays.integrality_)
    arrays.integrality_ = []
    with quiet_stdout():
        values = _dive(model, arrays, whole)
    if values is None:
        return None
    return {column.name: value for column, value in zip(columns, values, strict=True)}


def _dive(model: Model, arrays: Columns, whole: list[Any]) -> list[float] | None:
    one_thread_again()
    solver = highspy.Highs()
    for option, value in (("output_flag", False), ("threads", THREADS), ("random_seed", SEED)):
        solver.setOptionValue(option, value)
    solver.passModel(arrays)
    pens = {column.index: float(slot.hens_max) for (slot, _), column in model.y.items()}
    upper = {at: float(arrays.col_upper_[at]) for at in pens}
    dive = _Dive(solver=solver, pens=pens, upper=upper)
    if not dive.solved():
        return None
    while (part := dive.widest()) is not None:
        if not dive.settle(*part):
            return None
    return _place_hens(dive, whole)


def _place_hens(dive: _Dive, whole: list[Any]) -> list[float] | None:
    """Solve for the hens with the pens as they are settled."""
    values = dive.values()
    for at in dive.pens:
        dive.solver.changeColBounds(at, round(values[at]), round(values[at]))
    at_once = np.arange(len(whole), dtype=np.int32)
    dive.solver.changeColsIntegrality(len(whole), at_once, np.array(whole))
    for option, value in _PLACING.items():
        dive.solver.setOptionValue(option, value)
    dive.solver.run()
    status = dive.solver.getInfo().primal_solution_status
    if status != highspy.SolutionStatus.kSolutionStatusFeasible:
        return None
    return dive.values()


def _is_part(value: float) -> bool:
    return abs(value - round(value)) > tolerance.INTEGRALITY
