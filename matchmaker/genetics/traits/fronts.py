"""Which entries of a large symmetric matrix elimination fills, and in what blocks to take them.

Columns with the same rows below them are taken together as one dense *front* (multifrontal order:
Duff & Reid 1983, ACM TOMS 9:302, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy import sparse
from scipy.sparse.linalg import spilu

if TYPE_CHECKING:
    from matchmaker.genetics.kin.ancestry import Matrix, Nodes

ZEROS_SPARED = 2048
"""Two fronts become one if that stores no more zeros: a step of the loop costs as much."""

ZEROS_SHARE = 0.1
"""Two fronts also become one if zeros would be no more than this share of the new one."""


def ordered(matrix: sparse.csc_array) -> Nodes:
    """Places of rows (= columns) in an order of elimination that fills few empty entries.

    First goes who has the fewest ties left (minimum degree; Liu 1985, ACM TOMS 11:141, from
    memory). Then what is eliminated into a column is put right before it, which changes nothing
    else: no column meets others than before (Liu 1990, SIAM J Matrix Anal Appl 11:134, from
    memory).

    Examples
    --------
    The hub of a star goes last:

    >>> ordered(sparse.csc_array(np.eye(4) + np.eye(4)[:, :1] + np.eye(4)[:1])).argmax()
    np.int64(0)
    """
    size = int(matrix.shape[0])
    columns = np.repeat(np.arange(size), np.diff(matrix.indptr))
    # an incomplete factor is made for its order alone, which depends on places: entries so small
    # are dropped at once, and with them nearly all of the work
    values = np.where(matrix.indices == columns, 1.0, 1e-30)
    places_only = sparse.csc_array((values, matrix.indices, matrix.indptr), shape=matrix.shape)
    least = spilu(
        places_only,
        drop_tol=1.0,
        fill_factor=1,
        permc_spec="MMD_AT_PLUS_A",
        diag_pivot_thresh=0.0,
        options={"SymmetricMode": True},
    ).perm_c.astype(np.int64)
    return _postorder(lower_triangle(matrix, least))[least]


def lower_triangle(matrix: sparse.csc_array, place: Nodes) -> sparse.csc_array:
    """Lower triangle of a symmetric matrix once moved to places, zeros kept, rows sorted.

    Examples
    --------
    >>> lower_triangle(sparse.csc_array(np.array([[1.0, 5], [5, 2]])), np.array([1, 0])).toarray()
    array([[2., 0.],
           [5., 1.]])
    """
    columns = place[np.repeat(np.arange(len(place)), np.diff(matrix.indptr))]
    rows = place[matrix.indices]
    lower = rows >= columns
    entries = matrix.data[lower], (rows[lower], columns[lower])
    return sparse.csc_array(sparse.coo_array(entries, shape=matrix.shape))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fronts:
    """Columns of a factor in blocks: block k are columns ``edges[k]`` … ``edges[k + 1]`` − 1.

    ``rows[k]`` are the rows below the block, ascending, and ``parents[k]`` the block that holds the
    first of them (−1: none), which with the rows below it holds them all.
    """

    edges: tuple[int, ...]
    rows: tuple[Nodes, ...]
    parents: tuple[int, ...]

    def names(self, block: int) -> Nodes:
        """Columns of a block and the rows below it, ascending."""
        own = np.arange(self.edges[block], self.edges[block + 1])
        return np.concatenate((own, self.rows[block]))

    def places(self, lower: sparse.csc_array, block: int) -> tuple[Nodes, Nodes]:
        """Where the entries of a block's columns in a lower triangle stand in the front."""
        start, stop = self.edges[block : block + 2]
        rows = lower.indices[lower.indptr[start] : lower.indptr[stop]]
        columns = np.repeat(np.arange(stop - start), np.diff(lower.indptr[start : stop + 1]))
        return np.searchsorted(self.names(block), rows), columns

    def written_out(self, lower: sparse.csc_array, block: int) -> Matrix:
        """Front of a block with the entries of its columns in a lower triangle, else zero."""
        start, stop = self.edges[block : block + 2]
        size = stop - start + len(self.rows[block])
        values = np.zeros((size, size))
        values[self.places(lower, block)] = lower.data[lower.indptr[start] : lower.indptr[stop]]
        return values

    def in_order(self) -> list[int]:
        """Blocks, each after its parent, so that few are waited for at any time.

        Of the blocks below one, the one with most under it comes last: by then the parent can go.
        """
        below = [1] * len(self.parents)
        children: list[list[int]] = [[] for _ in self.parents]
        tops: list[int] = []
        for block, parent in enumerate(self.parents):
            (tops if parent < 0 else children[parent]).append(block)
            if parent >= 0:
                below[parent] += below[block]
        order: list[int] = []
        waiting = tops
        while waiting:
            block = waiting.pop()
            order.append(block)
            waiting += sorted(children[block], key=below.__getitem__, reverse=True)
        return order


def fronts_of(pattern: sparse.csc_array) -> Fronts:
    """Blocks of the factor of a matrix whose lower triangle has entries where ``pattern`` has.

    Examples
    --------
    Three birds tied to one fourth make a single block, two pairs of birds two:

    >>> fronts_of(sparse.csc_array(np.eye(4) + np.eye(4)[:, 3:])).edges
    (0, 4)
    >>> fronts_of(sparse.csc_array(np.kron(np.eye(2), np.tril(np.ones((2, 2)))))).edges
    (0, 2, 4)
    """
    edges, rows = _exact_blocks(pattern)
    edges, rows = _merged(edges, rows)
    block_of = np.repeat(np.arange(len(rows)), np.diff(edges))
    return Fronts(
        edges=tuple(edges),
        rows=tuple(rows),
        parents=tuple(int(block_of[below[0]]) if len(below) else -1 for below in rows),
    )


def _exact_blocks(pattern: sparse.csc_array) -> tuple[list[int], list[Nodes]]:
    """Blocks of columns with the same rows below, as elimination fills them: edges and rows.

    The rows of a column are its own and those of the columns that it is the first row of. The set
    of the column before it is taken over and added to, so that it is not written out anew.
    """
    starts, names = pattern.indptr.tolist(), pattern.indices.tolist()
    sets: list[set[int]] = []
    children: dict[int, list[int]] = {}
    edges, rows = [0], []
    for column in range(len(starts) - 1):
        below = set(names[starts[column] : starts[column + 1]])
        held, before = children.pop(column, []), column - 1
        below.update(*(sets[child] for child in held if child != before))
        below.add(column)
        if column and (before not in held or not below <= sets[before]):
            edges.append(column)
            rows.append(_ascending(sets[before]))
        if before in held:
            sets[before] |= below
            below = sets[before]
        below.remove(column)
        sets.append(below)
        if below:
            children.setdefault(min(below), []).append(column)
    return [*edges, len(sets)], [*rows, *(_ascending(one) for one in sets[-1:])]


def _ascending(numbers: set[int]) -> Nodes:
    return np.array(sorted(numbers), dtype=np.int64)


def _merged(edges: list[int], rows: list[Nodes]) -> tuple[list[int], list[Nodes]]:
    """Join blocks to the one right behind them that they lead to, where that costs little.

    The zeros stored for it do no harm, being what the factor has there.
    """
    starts: list[int] = []
    kept: list[Nodes] = []
    zeros: list[int] = []
    for start, stop, below in zip(edges[:-1], edges[1:], rows, strict=True):
        first, spared = start, 0
        while kept and len(kept[-1]) and kept[-1][0] < stop:
            height = stop - first + len(below)
            more = spared + zeros[-1] + (first - starts[-1]) * (height - len(kept[-1]))
            whole = (height + first - starts[-1]) * (stop - starts[-1])
            if more > max(ZEROS_SPARED, ZEROS_SHARE * whole):
                break
            first, spared = starts.pop(), more
            kept.pop()
            zeros.pop()
        starts.append(first)
        kept.append(below)
        zeros.append(spared)
    return [*starts, edges[-1]], kept


def _postorder(lower: sparse.csc_array) -> Nodes:
    """Places of columns such that what is eliminated into one stands right before it.

    Nothing else changes by that: no column meets others than before (Liu 1990, SIAM J Matrix Anal
    Appl 11:134, from memory).
    """
    parents = _first_rows(lower)
    children: list[list[int]] = [[] for _ in parents]
    below = [1] * len(parents)
    waiting = []
    for column, parent in enumerate(parents):
        if parent < 0:
            waiting.append(column)
        else:
            children[parent].append(column)
            below[parent] += below[column]
    place = np.empty(len(parents), dtype=np.int64)
    for at in range(len(parents) - 1, -1, -1):
        column = waiting.pop()
        place[column] = at
        waiting += sorted(children[column], key=below.__getitem__)
    return place


def _first_rows(lower: sparse.csc_array) -> list[int]:
    """First row below each column once filled by elimination, −1 if there is none (Liu 1990)."""
    rows = sparse.csr_array(lower)
    starts, names = rows.indptr.tolist(), rows.indices.tolist()
    parents, tops = [-1] * (len(starts) - 1), [-1] * (len(starts) - 1)
    for row in range(len(parents)):
        for name in names[starts[row] : starts[row + 1]]:
            at = name
            while 0 <= at < row:
                above, tops[at] = tops[at], row
                if above < 0:
                    parents[at] = row
                at = above
    return parents
