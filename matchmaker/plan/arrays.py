"""A PuLP model as the arrays that HiGHS takes in one piece."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pulp

from matchmaker.plan.highs import highspy

if TYPE_CHECKING:
    from typing import TypeAlias

    Columns: TypeAlias = Any


def as_arrays(lp: pulp.LpProblem, columns: list[Columns], rows: list[Columns]) -> Columns:
    """Return the model as HiGHS's own arrays; HiGHS minimises, so the objective is negated."""
    model = highspy.HighsLp()
    infinite = highspy.kHighsInf
    model.num_col_, model.num_row_ = len(columns), len(rows)
    model.col_cost_ = np.array([-lp.objective.get(one, 0.0) for one in columns])
    model.col_lower_ = np.array(
        [-infinite if one.lowBound is None else one.lowBound for one in columns]
    )
    model.col_upper_ = np.array(
        [infinite if one.upBound is None else one.upBound for one in columns]
    )
    lower, upper = [row.getLb() for row in rows], [row.getUb() for row in rows]
    model.row_lower_ = np.array([-infinite if one is None else one for one in lower])
    model.row_upper_ = np.array([infinite if one is None else one for one in upper])
    model.integrality_ = [
        highspy.HighsVarType.kInteger
        if one.cat == pulp.LpInteger
        else highspy.HighsVarType.kContinuous
        for one in columns
    ]
    matrix = model.a_matrix_
    matrix.format_ = highspy.MatrixFormat.kRowwise
    matrix.num_col_, matrix.num_row_ = len(columns), len(rows)
    matrix.start_ = np.cumsum([0, *(len(row) for row in rows)])
    matrix.index_ = np.array([one.index for row in rows for one in row], dtype=np.int32)
    matrix.value_ = np.array([value for row in rows for value in row.values()], dtype=float)
    return model
