"""Columns that no plan better than the one in hand can have otherwise, taken out of the program.

A column whose change alone costs more than the bound is above that plan stands where the relaxed
program has it (reduced-cost fixing: Dantzig, Fulkerson and Johnson 1954). It is exact over all
columns, those left out of the live program too, and removes nothing but plans worth less.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from matchmaker import tolerance

if TYPE_CHECKING:
    from matchmaker.plan.program.program import Amounts, Columns, Program


@dataclass(frozen=True, slots=True, kw_only=True)
class Narrowed:
    """A program without the columns that are settled: ``columns`` are left, in this order.

    ``values`` are those of all columns, right where settled; ``offset`` is what the settled ones
    bring to the objective.
    """

    program: Program
    columns: Columns
    values: Amounts
    offset: float

    def full(self, part: Amounts) -> Amounts:
        """Return values of all columns from those of the columns left."""
        found = self.values.copy()
        found[self.columns] = part
        return found


def unsettled(
    program: Program, bound: float, added: Amounts, least: float
) -> tuple[Columns, Amounts]:
    """Return the columns in which plans worth ``least`` or more can differ; values of the others.

    ``bound`` and ``added`` are the value of the relaxed program, with the program's own bounds on
    its columns, and what each column would add. The values are 0 where a column is unsettled.
    """
    spare = bound - least + tolerance.OBJECTIVE
    low, high = np.array(program.lower), np.array(program.upper)
    whole = np.array(program.whole, dtype=bool)
    down, up = whole & (added < -spare), whole & (added > spare)
    columns = np.flatnonzero(~(down | up | (low == high))).astype(np.int32)
    values = np.where(down, low, high)
    values[columns] = 0.0
    return columns, values


def narrowed(program: Program, columns: Columns, values: Amounts) -> Narrowed:
    """Return the program of these columns alone, the others standing at their ``values``."""
    return Narrowed(
        program=program.part(columns, values),
        columns=columns,
        values=values,
        offset=float(np.array(program.cost) @ values),
    )
