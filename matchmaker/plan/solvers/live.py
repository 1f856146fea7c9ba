"""A program with parts of birds allowed, kept by HiGHS between solves: only what changed is redone.

Bounds, rows and the objective may be changed; columns may be left out (they then stand at 0) and
taken in later, which is how programs too wide for one solve are relaxed (``pricing``). All of it
goes on within ``quiet_stdout``: HiGHS prints whatever it is told.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from matchmaker.plan.program.program import INFINITE
from matchmaker.plan.solvers.arrays import as_arrays
from matchmaker.plan.solvers.highs import highspy, new_highs
from matchmaker.plan.solvers.highs_run import heed

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from matchmaker.plan.program.program import Amounts, Columns, Program
    from matchmaker.plan.solvers.watch import Watch


DUAL, PRIMAL = 1, 4
"""HiGHS's numbers of the two simplex methods. (Measured at 2,000 hens, 200 cocks, for a new aim:
dual 10,000 steps in 3.4 s, primal 120 in 0.04 s.)"""


class Live:
    """The relaxed program; columns are named by their numbers in ``program``.

    Its bounds are its own: holding a column does not change the program. ``solved`` says whether
    the last solve ended with an optimum, ``impossible`` whether with the proof that there is none
    (neither, where the watch or the numbers ended it). ``solves`` counts.
    """

    __slots__ = (
        "_place",
        "_solver",
        "_wide",
        "columns",
        "impossible",
        "program",
        "solved",
        "solves",
    )

    def __init__(
        self,
        program: Program,
        columns: Columns | None = None,
        watch: Watch | None = None,
        *,
        presolve: bool = True,
    ) -> None:
        self.program = program
        every = np.arange(program.width, dtype=np.int32)
        self.columns = every if columns is None else columns
        self._place = np.full(program.width, -1, dtype=np.int32)
        self._place[self.columns] = np.arange(len(self.columns), dtype=np.int32)
        self._wide = len(self.columns)
        self.solved = self.impossible = False
        self.solves = 0
        self._solver: Any = new_highs()
        if not presolve:
            self._solver.setOptionValue("presolve", "off")
        inside = program
        if columns is not None:
            inside = program.part(columns, np.zeros(program.width), every_row=True)
        self._solver.passModel(as_arrays(inside, relaxed=True))
        if watch is not None:
            heed(self._solver, watch)

    def solve(self, *, primal: bool = False) -> bool:
        """Solve from where the last solve ended; say whether there is an optimum.

        ``primal`` is for a new aim with the bounds as they were: what was reached is still
        possible, and the primal simplex goes on from there.
        """
        self.solves += 1
        self._solver.setOptionValue("simplex_strategy", PRIMAL if primal else DUAL)
        self._solver.run()
        states, end = highspy.HighsModelStatus, self._solver.getModelStatus()
        self.solved = bool(end == states.kOptimal)
        self.impossible = bool(end == states.kInfeasible)
        return self.solved

    def keep_costs(self) -> None:
        """From now on leave the costs as they are while solving.

        HiGHS shifts them a little at random, which helps a first solve; where hundreds follow that
        each differ by one bound it costs more steps than it saves (measured: twice as many).
        """
        self._solver.setOptionValue("dual_simplex_cost_perturbation_multiplier", 0.0)

    @property
    def value(self) -> float:
        """The objective of the last solve, maximised."""
        return -float(self._solver.getInfo().objective_function_value)

    def solution(self) -> Amounts:
        """Values by column, 0 for those left out."""
        values = np.zeros(self.program.width)
        values[self.columns] = np.array(self._solver.getSolution().col_value)[
            self._place[self.columns]
        ]
        return values

    def added(self) -> Amounts:
        """What one more of each column would add to the objective; 0 for those left out."""
        found = np.zeros(self.program.width)
        found[self.columns] = -np.array(self._solver.getSolution().col_dual)[
            self._place[self.columns]
        ]
        return found

    def prices(self) -> Amounts:
        """What one more of each row's bound would add to the objective, by row."""
        return -np.array(self._solver.getSolution().row_dual)

    def hold(self, column: int, low: float, high: float) -> None:
        """Change a column's bounds."""
        self._solver.changeColBounds(int(self._place[column]), float(low), float(high))

    def hold_all(self, columns: Columns, low: Amounts, high: Amounts) -> None:
        """Change the bounds of several columns; those left out are passed over."""
        here = self._place[columns] >= 0
        places = self._place[columns[here]]
        self._solver.changeColsBounds(len(places), places, low[here], high[here])

    def aim(self, cost: Amounts) -> None:
        """Change what is maximised: an amount for each column of the program."""
        places = self._place[self.columns]
        self._solver.changeColsCost(len(places), places, -cost[self.columns])

    def row(self, columns: Columns, coefficients: Amounts, low: float, high: float) -> None:
        """Add a row over columns that are not left out."""
        places = self._place[columns]
        self._solver.addRow(float(low), float(high), len(places), places, coefficients)

    def measure(self, rows: list[tuple[Columns, Amounts, float, float]]) -> int:
        """Add a column t >= -1, the one aimed at, with rows ``terms - weight t >= low``.

        Each row is (columns, coefficients, weight, low). Returns the column's own number, for
        ``measured``.
        """
        nothing = np.array([], dtype=np.int32)
        self._solver.addCol(-1.0, -1.0, INFINITE, 0, nothing, np.array([]))
        at = self._wide
        self._wide += 1
        for columns, coefficients, weight, low in rows:
            here = self._place[columns] >= 0
            places = np.append(self._place[columns[here]], np.int32(at)).astype(np.int32)
            amounts = np.append(coefficients[here], -weight)
            self._solver.addRow(float(low), INFINITE, len(places), places, amounts)
        self.aim(np.zeros(self.program.width))
        return at

    def unmeasure(self, column: int) -> None:
        """Take out the column that ``measure`` added last, with its rows; aim at the program again.

        Between the two no column may be taken in and no row added.
        """
        height = self._solver.getNumRow()
        extra = np.arange(self.program.height, height, dtype=np.int32)
        self._solver.deleteRows(len(extra), extra)
        self._solver.deleteCols(1, np.array([column], dtype=np.int32))
        self._wide -= 1
        self.aim(np.array(self.program.cost))

    def measured(self, column: int) -> float:
        """The value of a column that ``measure`` added."""
        return float(self._solver.getSolution().col_value[column])

    def inside(self) -> NDArray[np.bool_]:
        """Whether each column of the program is in."""
        found: NDArray[np.bool_] = self._place >= 0
        return found

    def take_in(self, columns: Columns) -> None:
        """Take in columns that were left out, in order of their numbers."""
        program = self.program
        starts, of_row, coefficients = program.matrix()
        wanted = np.zeros(program.width, dtype=bool)
        wanted[columns] = True
        entries = np.flatnonzero(wanted[of_row])
        entries = entries[np.argsort(of_row[entries], kind="stable")]
        rows = np.searchsorted(starts, entries, side="right") - 1
        begins = np.searchsorted(of_row[entries], columns)
        low, high, cost = (
            np.array(getattr(program, name))[columns] for name in ("lower", "upper", "cost")
        )
        self._solver.addCols(
            len(columns),
            -cost,
            low,
            high,
            len(entries),
            begins.astype(np.int32),
            rows.astype(np.int32),
            coefficients[entries],
        )
        self._place[columns] = self._wide + np.arange(len(columns), dtype=np.int32)
        self._wide += len(columns)
        self.columns = np.concatenate((self.columns, columns)).astype(np.int32)
