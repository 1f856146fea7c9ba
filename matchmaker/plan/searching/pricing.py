"""The relaxed program over all pairs, solved over few of them: the rest is priced.

A program of many thousands of pairs is mostly pairs that no plan wants. Each bird's best are taken
first; then every pair left out is priced by what the rows it stands in cost (c − Aᵀ prices), the
ones that would add something are taken in, and so on until none would. The optimum is then that of
all pairs (Dantzig and Wolfe 1960; the pricing of the simplex method itself), and so is the bound.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from matchmaker import tolerance
from matchmaker.plan.searching.room_cuts import add_room_cuts
from matchmaker.plan.solvers.live import Live

if TYPE_CHECKING:
    from matchmaker.plan.program.program import Amounts, Columns, Program
    from matchmaker.plan.searching.task import Task
    from matchmaker.plan.solvers.watch import Watch

FEW_PAIRS = 4000
"""Up to so many pairs all of them are in the program from the start: pricing would not pay."""

BEST_OF_EACH = 12
"""Pairs of each bird that are in the program from the start."""

BEST_OF_A_ROUND = 2
"""Pairs of each bird that a round of pricing takes in."""

MOST_ROUNDS = 60
"""Rounds of pricing after which the bound is taken as it then is, a little loose but true."""


AT_A_TIME = 1_000_000
"""Entries of rows that are priced at a time: it bounds the memory."""


class Relaxed:
    """A task's live program, its bound over all pairs, and what each column would add there.

    ``bound`` and ``added`` are those of the last ``solve``: they stay when columns are held after.
    """

    __slots__ = ("_priced", "_watch", "added", "bound", "live", "task")

    def __init__(self, task: Task, watch: Watch | None = None) -> None:
        self.task = task
        self._priced = len(task.pairs) > FEW_PAIRS
        self._watch = watch if self._priced else None
        columns = first_columns(task) if self._priced else None
        self.live = Live(task.program, columns, self._watch)
        self.bound = float("inf")
        self.added: Amounts = np.zeros(task.program.width)

    @property
    def prices(self) -> bool:
        """Whether pairs are left out of the live program, and priced."""
        return self._priced

    def solve(self) -> None:
        """Solve over all pairs with the rows of ``room_cuts``.

        ``live.solved`` and ``live.impossible`` say how it ended.
        """
        self.bound = float("inf")
        self.live.solve()
        for _ in range(MOST_ROUNDS):
            cut = add_room_cuts(self.task, self.live) if self.live.solved else 0
            if self.live.impossible and self._priced:
                # Few pairs may leave no plan, or none that keeps the rows, where all leave one.
                self.live, self._priced = Live(self.task.program, None, self._watch), False
                self.live.solve()
                continue
            if not self.live.solved:
                return
            self.added, self.bound = self._price()
            if self._take_in(self.added) == 0 and cut == 0:
                return

    def within(self, columns: Columns, low: Amounts, high: Amounts) -> tuple[float, Amounts]:
        """Return the bound over all pairs with columns held between bounds, and what each adds.

        ``bound`` and ``added`` stay as they are; they are returned where the watch or the numbers
        ended the solve. The bound is minus infinity where there is no plan so.
        """
        self.live.hold_all(columns, low, high)
        found = (self.bound, self.added)
        self.live.solve()
        for _ in range(MOST_ROUNDS):
            if not self.live.solved:
                break
            added, bound = self._price()
            found = (bound, added) if bound <= found[0] else found
            if self._take_in(added) == 0:
                break
        if self.live.impossible and not self._priced:
            found = (float("-inf"), self.added)
        lower, upper = (np.array(of) for of in (self.task.program.lower, self.task.program.upper))
        self.live.hold_all(columns, lower[columns], upper[columns])
        return found

    def _price(self) -> tuple[Amounts, float]:
        """Say what every column would add, and what that leaves as a bound over all pairs."""
        if not self._priced:
            return self.live.added(), self.live.value
        program = self.task.program
        added = np.array(program.cost) - priced(program, self.live.prices())
        left_out = added[~self.live.inside()]
        return added, self.live.value + float(np.maximum(left_out, 0.0).sum())

    def _take_in(self, added: Amounts) -> int:
        """Take in what would add something, and solve; return how many columns that is."""
        if not self._priced:
            return 0
        wanted = np.where(self.live.inside(), 0.0, added)[self.task.pairs]
        taken = _best_of_each(self.task, wanted, BEST_OF_A_ROUND, tolerance.OBJECTIVE)
        if len(taken):
            self.live.take_in(taken)
            self.live.solve()
        return len(taken)


def priced(program: Program, prices: Amounts) -> Amounts:
    """Return what the rows a column stands in cost it, at these prices by row."""
    starts, columns, coefficients = program.matrix()
    found = np.zeros(program.width)
    row = 0
    while row < program.height:
        end = int(np.searchsorted(starts, starts[row] + AT_A_TIME, side="right")) - 1
        end = max(end, row + 1)
        inside = slice(starts[row], starts[end])
        cost = coefficients[inside] * np.repeat(prices[row:end], np.diff(starts[row : end + 1]))
        found += np.bincount(columns[inside], cost, minlength=program.width)
        row = end
    return found


def first_columns(task: Task) -> Columns:
    """Return all columns but pairs, each bird's best pairs, and pairs that no line counts."""
    program = task.program
    value = np.full(program.width, np.inf)
    for line in task.lines:
        value[line.pairs] = line.values
    taken = np.ones(program.width, dtype=bool)
    taken[task.pairs] = np.array(program.lower)[task.pairs] > 0
    taken[task.pairs[np.isinf(value[task.pairs])]] = True
    taken[_best_of_each(task, value[task.pairs], BEST_OF_EACH, 0.0)] = True
    return np.flatnonzero(taken).astype(np.int32)


def _best_of_each(task: Task, values: Amounts, most: int, above: float) -> Columns:
    """Return each bird's best pairs, so many at most and only those worth more, in order."""
    taken = np.zeros(task.program.width, dtype=bool)
    open_ = np.flatnonzero(values > above)
    for birds in task.birds:
        order = open_[np.lexsort((-values[open_], birds[open_]))]
        of_each = birds[order]
        rank = np.arange(len(order)) - np.searchsorted(of_each, of_each)
        taken[task.pairs[order[rank < most]]] = True
    return np.flatnonzero(taken).astype(np.int32)
