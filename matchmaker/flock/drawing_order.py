"""An order in every row of a drawing with few links crossing.

Birds are put at the mean place of those they are linked to, row by row, down and up again
(barycentres: Sugiyama, Tagawa and Toda 1981, IEEE Trans SMC 11:109). Then each is moved to where it
costs its row the fewest crossings on both sides, until that helps no more (sifting: Matuszewski,
Schönfeld and Molitor 1999, Graph Drawing, LNCS 1731:217). All three from memory.
"""

from __future__ import annotations

from bisect import bisect_right, insort
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Final, TypeAlias

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterable, Sequence

Numbers: TypeAlias = NDArray[np.float64]
Order: TypeAlias = NDArray[np.intp]

SWEEPS: Final = 8
"""Times that all rows are put at the means of their neighbours, down and up in turn."""

ROUNDS: Final = 12
"""Rounds of sifting, at most."""


@dataclass(frozen=True, slots=True)
class Rows:
    """Nodes in rows from the top, and segments from a node to one of the row below it."""

    rows: Sequence[Sequence[Hashable]]
    segments: Sequence[tuple[Hashable, Hashable]]


@dataclass(frozen=True, slots=True)
class Ordered:
    """The same rows in a better order, and how many segments cross in it."""

    rows: tuple[tuple[Hashable, ...], ...]
    crossings: int


def crossings(links: Iterable[tuple[float, float]]) -> int:
    """Count the pairs that cross among links, each from a place on top to a place below.

    Links that share an end do not cross. Counted as inversions, one link inserted after another
    (as in Barth, Mutzel and Jünger 2004, J Graph Algorithms Appl 8:179, from memory).

    Examples
    --------
    >>> crossings([(0, 1), (1, 0)]), crossings([(0, 0), (0, 1), (1, 1)])
    (1, 0)
    """
    seen: list[float] = []
    found = 0
    for _, below in sorted(links):
        found += len(seen) - bisect_right(seen, below)
        insort(seen, below)
    return found


def well_ordered(given: Rows) -> Ordered:
    """Return the rows in an order with few crossings: the same for the same rows every time.

    Examples
    --------
    >>> found = well_ordered(Rows([["A", "B"], ["C", "D"]], [("A", "D"), ("B", "C")]))
    >>> found.rows, found.crossings
    ((('A', 'B'), ('D', 'C')), 0)
    """
    if not given.rows:
        return Ordered((), 0)
    work = _Work.of(given)
    best, fewest = work.orders(), work.crossings()
    for downward in (True, False):
        work.restore([np.arange(len(order)) for order in best])
        work.settle(downward=downward)
        if work.crossings() < fewest:
            best, fewest = work.orders(), work.crossings()
    rows = tuple(
        tuple(row[at] for at in order.tolist()) for row, order in zip(given.rows, best, strict=True)
    )
    return Ordered(rows, fewest)


@dataclass(slots=True)
class _Work:
    """Rows being ordered: ``links[r]`` counts segments from row r to the next, nodes as listed."""

    links: list[Numbers]
    order: list[Order]

    @classmethod
    def of(cls, given: Rows) -> _Work:
        place = {node: (r, at) for r, row in enumerate(given.rows) for at, node in enumerate(row)}
        sizes = [len(row) for row in given.rows]
        links = [np.zeros(pair) for pair in pairwise(sizes)]
        for upper, lower in given.segments:
            row, at = place[upper]
            links[row][at, place[lower][1]] += 1
        return cls(links, [np.arange(size) for size in sizes])

    def orders(self) -> list[Order]:
        return [order.copy() for order in self.order]

    def restore(self, orders: Sequence[Order]) -> None:
        self.order = [order.copy() for order in orders]

    def crossings(self) -> int:
        return round(sum(self._between(row) for row in range(len(self.links))))

    def _between(self, row: int) -> float:
        table = self.links[row][np.ix_(self.order[row], self.order[row + 1])]
        left_of = np.zeros_like(table)
        left_of[:, 1:] = np.cumsum(table, axis=1)[:, :-1]
        beneath = np.cumsum(left_of[::-1], axis=0)[::-1]
        return float((table[:-1] * beneath[1:]).sum())

    def settle(self, *, downward: bool) -> None:
        """Barycentres down and up, keeping the best; then sifting until it helps no more."""
        best, fewest = self.orders(), self.crossings()
        for sweep in range(SWEEPS):
            self._sweep(downward=downward ^ (sweep % 2 == 1))
            if (now := self.crossings()) < fewest:
                best, fewest = self.orders(), now
        self.restore(best)
        for turn in range(ROUNDS):
            self._sift(downward=downward ^ (turn % 2 == 1))
            now = self.crossings()
            if now >= fewest and turn % 2:
                break
            fewest = min(now, fewest)

    def _sweep(self, *, downward: bool) -> None:
        rows = range(1, len(self.order)) if downward else range(len(self.order) - 2, -1, -1)
        for row in rows:
            beside = row - 1 if downward else row + 1
            table = self._seen_from(row, beside)[self.order[row]]
            count = table.sum(axis=1)
            mean = table @ np.arange(table.shape[1]) / np.maximum(count, 1)
            scale = table.shape[1] / max(len(count), 1)
            mean = np.where(count > 0, mean, np.arange(len(count)) * scale)
            self.order[row] = self.order[row][np.argsort(mean, kind="stable")]

    def _seen_from(self, row: int, beside: int) -> Numbers:
        """Links of the nodes of a row, as listed, to those of the next one, in their order."""
        whole = self.links[row] if beside > row else self.links[beside].T
        return whole[:, self.order[beside]]

    def _sift(self, *, downward: bool) -> None:
        rows = range(len(self.order)) if downward else range(len(self.order) - 1, -1, -1)
        for row in rows:
            if len(self.order[row]) > 1:
                self.order[row] = _sifted(self._costs(row), self.order[row])

    def _costs(self, row: int) -> Numbers:
        """Crossings of the links of two nodes if the one stands left of the other."""
        size = len(self.order[row])
        costs = np.zeros((size, size))
        for beside in (row - 1, row + 1):
            if 0 <= beside < len(self.order):
                table = self._seen_from(row, beside)
                left_of = np.zeros_like(table)
                left_of[:, 1:] = np.cumsum(table, axis=1)[:, :-1]
                ones, ends = np.nonzero(table)  # few: a product of the tables would take longer
                np.add.at(costs, ones, table[ones, ends, None] * left_of.T[ends])
        return costs


def _sifted(costs: Numbers, order: Order) -> Order:
    """Move every node of a row to where it costs the fewest crossings, the most linked first."""
    gain = costs.T - costs  # gain[a, b]: what it costs a to stand right of b and not left of it
    place = order.copy()
    for node in np.argsort(-costs.sum(axis=1), kind="stable").tolist():
        cost = gain[node][place].cumsum()  # if it stood right behind each of the others
        least = int(cost.argmin())
        at = int((place == node).nonzero()[0][0])
        if cost[least] < min(cost[at], 0.0):
            _move(place, at, least if least > at else least + 1)
        elif cost[at] > 0.0:
            _move(place, at, 0)
    return place


def _move(place: Order, at: int, to: int) -> None:
    """Take what stands at one place out and put it in at another, the others closing up."""
    node = place[at]
    if to > at:
        place[at:to] = place[at + 1 : to + 1]
    else:
        place[to + 1 : at + 1] = place[to:at]
    place[to] = node
