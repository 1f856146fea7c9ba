"""A linear program with whole columns as growing arrays: the one form every solver is given.

Columns are numbered from 0; terms are mappings from column to coefficient. The objective is
maximised. Rows may also be given as arrays, which large problems need.
"""

from __future__ import annotations

import math
from array import array
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from matchmaker import tolerance

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

Terms: TypeAlias = "dict[int, float]"
"""Coefficients by column."""

Columns: TypeAlias = "NDArray[np.int32]"
Amounts: TypeAlias = "NDArray[np.float64]"

INFINITE = math.inf


class Program:
    """Columns with bounds, rows with bounds, an objective to maximise, and the values in hand.

    ``values`` holds one number a column once something has been solved; ``lower`` and ``upper`` may
    be changed between solves, rows and columns added.
    """

    __slots__ = (
        "_coefficients",
        "_indices",
        "_starts",
        "cost",
        "lower",
        "row_lower",
        "row_upper",
        "upper",
        "values",
        "whole",
    )

    def __init__(self) -> None:
        self.lower = array("d")
        self.upper = array("d")
        self.cost = array("d")
        self.whole = array("b")
        self.row_lower = array("d")
        self.row_upper = array("d")
        self.values: Amounts | None = None
        self._starts = array("q", [0])
        self._indices = array("i")
        self._coefficients = array("d")

    @property
    def width(self) -> int:
        """Number of columns."""
        return len(self.lower)

    @property
    def height(self) -> int:
        """Number of rows."""
        return len(self.row_lower)

    def column(self, low: float, high: float, *, whole: bool) -> int:
        """Add a column and return its number."""
        self.lower.append(low)
        self.upper.append(high)
        self.cost.append(0.0)
        self.whole.append(whole)
        return self.width - 1

    def row(self, terms: Mapping[int, float], low: float, high: float) -> int:
        """Add low <= terms <= high and return the row's number."""
        self._indices.extend(terms.keys())
        self._coefficients.extend(terms.values())
        return self._end_row(low, high)

    def row_over(
        self,
        columns: Columns,
        coefficients: Amounts,
        terms: Mapping[int, float],
        low: float,
        high: float,
    ) -> int:
        """Add a row over arrays of columns and coefficients (of one length) and some terms more."""
        self._indices.frombytes(np.ascontiguousarray(columns, dtype=np.int32).tobytes())
        self._coefficients.frombytes(np.ascontiguousarray(coefficients, dtype=float).tobytes())
        return self.row(terms, low, high)

    def maximise(self, terms: Mapping[int, float]) -> None:
        """Set the objective."""
        self.cost = array("d", bytes(8 * self.width))
        for column, amount in terms.items():
            self.cost[column] = amount

    def amount(self, terms: Mapping[int, float]) -> float:
        """Return what terms amount to under the values in hand; 0 without any."""
        if self.values is None:
            return 0.0
        return float(sum(value * self.values[column] for column, value in terms.items()))

    def value_of(self, column: int) -> float:
        """Return the value in hand of one column; 0 where there is none."""
        if self.values is None or column >= len(self.values):
            return 0.0
        return float(self.values[column])

    def matrix(self) -> tuple[NDArray[np.int64], Columns, Amounts]:
        """Return the rows as (starts, columns, coefficients): compressed, row after row.

        They are the program's own arrays, not to be changed; no row can be added while they are
        held.
        """
        starts = np.frombuffer(self._starts, dtype=np.int64)
        if not len(self._indices):
            return starts, np.zeros(0, dtype=np.int32), np.zeros(0)
        return (
            starts,
            np.frombuffer(self._indices, dtype=np.int32),
            np.frombuffer(self._coefficients, dtype=np.float64),
        )

    def feasible(self, values: Sequence[float] | Amounts, tolerance: float) -> bool:
        """Return whether values satisfy all bounds and rows."""
        given = np.asarray(values, dtype=float)
        starts, columns, coefficients = self.matrix()
        sums = np.zeros(self.height)
        np.add.at(
            sums, np.repeat(np.arange(self.height), np.diff(starts)), coefficients * given[columns]
        )
        return bool(
            np.all(given >= np.array(self.lower) - tolerance)
            and np.all(given <= np.array(self.upper) + tolerance)
            and np.all(sums >= np.array(self.row_lower) - tolerance)
            and np.all(sums <= np.array(self.row_upper) + tolerance)
        )

    def part(self, kept: Columns, values: Amounts, *, every_row: bool = False) -> Program:
        """Return the program of the columns ``kept``, all others standing at these values.

        ``kept`` is in order. The number at a place of ``kept`` is the column that stands there in
        the part; what the others bring to the objective is left out. Rows without columns left go,
        unless they are broken or ``every_row`` is asked for.
        """
        starts, columns, coefficients = self.matrix()
        place = np.full(self.width, -1, dtype=np.int32)
        place[kept] = np.arange(len(kept), dtype=np.int32)
        rows = np.repeat(np.arange(self.height, dtype=np.int32), np.diff(starts))
        inside = place[columns] >= 0
        out = ~inside & (values[columns] != 0)
        shift = np.bincount(
            rows[out], coefficients[out] * values[columns[out]], minlength=self.height
        )
        low, high = np.array(self.row_lower) - shift, np.array(self.row_upper) - shift
        lengths = np.bincount(rows[inside], minlength=self.height)
        broken = (low > tolerance.INTEGRALITY) | (high < -tolerance.INTEGRALITY)
        stay = (lengths > 0) | broken | every_row
        made = Program()
        for name in ("lower", "upper", "cost"):
            setattr(made, name, array("d", np.array(getattr(self, name))[kept].tobytes()))
        made.whole = array("b", np.array(self.whole)[kept].tobytes())
        made.row_lower = array("d", low[stay].tobytes())
        made.row_upper = array("d", high[stay].tobytes())
        ends = np.concatenate(([0], np.cumsum(lengths[stay]))).astype(np.int64)
        made._starts = array("q", ends.tobytes())
        made._indices = array("i", place[columns[inside]].tobytes())
        made._coefficients = array("d", coefficients[inside].tobytes())
        return made

    def _end_row(self, low: float, high: float) -> int:
        self.row_lower.append(low)
        self.row_upper.append(high)
        self._starts.append(len(self._indices))
        return self.height - 1
