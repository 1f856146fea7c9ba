"""A program as the arrays that HiGHS takes in one piece."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeAlias

import numpy as np

from matchmaker.plan.solvers.highs import highspy

if TYPE_CHECKING:
    from matchmaker.plan.program.program import Program

Highs: TypeAlias = Any
"""Objects of highspy, which carries no types."""


def as_arrays(program: Program, *, relaxed: bool = False) -> Highs:
    """Return the program as HiGHS's own arrays; HiGHS minimises, so the objective is negated.

    ``relaxed`` leaves out which columns are whole.
    """
    model = highspy.HighsLp()
    model.num_col_, model.num_row_ = program.width, program.height
    model.col_cost_ = -np.array(program.cost)
    model.col_lower_ = np.array(program.lower)
    model.col_upper_ = np.array(program.upper)
    model.row_lower_ = np.array(program.row_lower)
    model.row_upper_ = np.array(program.row_upper)
    if not relaxed:
        kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
        model.integrality_ = [kinds[whole] for whole in program.whole]
    starts, columns, coefficients = program.matrix()
    matrix = model.a_matrix_
    matrix.format_ = highspy.MatrixFormat.kRowwise
    matrix.num_col_, matrix.num_row_ = program.width, program.height
    matrix.start_, matrix.index_, matrix.value_ = starts, columns, coefficients
    return model
