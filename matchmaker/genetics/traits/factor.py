"""A large sparse symmetric matrix, factored once: solves with it and entries of its inverse."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from matchmaker.genetics.traits.fronts import fronts_of, lower_triangle, ordered
from matchmaker.genetics.traits.selected_inverse import Panel, selected_inverse

if TYPE_CHECKING:
    from scipy import sparse

    from matchmaker.genetics.kin.ancestry import Matrix, Nodes
    from matchmaker.genetics.traits.fronts import Fronts

INVERTED_WHOLE = 32
"""Columns of a triangle that are inverted in one step."""


class Factor:
    """A positive definite matrix S, factored as S = L Lᵀ front by front.

    What the columns of a front take from those that come after is handed up as one dense block
    (Duff & Reid 1983, ACM TOMS 9:302; Liu 1992, SIAM Review 34:82; from memory).

    Raises
    ------
    ValueError
        If the matrix is not positive definite.
    """

    def __init__(self, matrix: sparse.csc_array) -> None:
        self._size = int(matrix.shape[0])
        if not self._size:
            return
        self._place = ordered(matrix)
        self._lower = lower_triangle(matrix, self._place)
        self._fronts = fronts_of(self._lower)
        try:
            self._panels = _panels(self._lower, self._fronts)
        except np.linalg.LinAlgError as error:
            raise ValueError("the equations are not positive definite") from error

    def solve(self, values: Matrix) -> Matrix:
        """Inverse times ``values``, shape (size,) or (size, columns)."""
        if not values.size:
            return values
        found = np.empty(values.shape)
        found[self._place] = values
        for span, rows, panel in self._blocks():
            found[span] = panel.top @ found[span]
            found[rows] -= panel.below @ found[span]
        for span, rows, panel in reversed(self._blocks()):
            found[span] = panel.top.T @ (found[span] - panel.below.T @ found[rows])
        return np.asarray(found[self._place])

    def inverse_at(self, rows: Nodes, columns: Nodes) -> Matrix:
        """Entries of the inverse at places where the matrix has entries, shape (places,).

        Raises
        ------
        ValueError
            If the matrix has no entry, zero or not, at one of the places.
        """
        if not rows.size:
            return np.empty(0)
        lower = self._lower
        column = np.repeat(np.arange(self._size), np.diff(lower.indptr))
        keys = self._size * column + lower.indices
        ends = self._place[rows], self._place[columns]
        asked = np.minimum(*ends) * self._size + np.maximum(*ends)
        at = np.minimum(np.searchsorted(keys, asked), len(keys) - 1)
        if (keys[at] != asked).any():
            raise ValueError("the matrix has no entry there")
        return np.asarray(selected_inverse(self._fronts, self._panels, lower)[at])

    def _blocks(self) -> list[tuple[slice, Nodes, Panel]]:
        edges = self._fronts.edges
        spans = map(slice, edges[:-1], edges[1:])
        return list(zip(spans, self._fronts.rows, self._panels, strict=True))


def _panels(lower: sparse.csc_array, fronts: Fronts) -> list[Panel]:
    """Factor of each front, from the lower triangle of the matrix."""
    found: list[Panel] = []
    handed_up: dict[int, list[tuple[Nodes, Matrix]]] = {}
    for block, (rows, parent) in enumerate(zip(fronts.rows, fronts.parents, strict=True)):
        width = fronts.edges[block + 1] - fronts.edges[block]
        names, values = fronts.names(block), fronts.written_out(lower, block)
        for at, update in handed_up.pop(block, ()):
            places = np.searchsorted(names, at)
            values[places[:, np.newaxis], places] += update
        top = inverse_of_lower(np.linalg.cholesky(values[:width, :width]))
        below = values[width:, :width] @ top.T
        found.append(Panel(top=top, below=below))
        if parent >= 0:
            update = values[width:, width:] - below @ below.T
            handed_up.setdefault(parent, []).append((rows, update))
    return found


def inverse_of_lower(lower: Matrix) -> Matrix:
    """Inverse of a lower triangle, half by half: products of blocks take the least time.

    Examples
    --------
    >>> inverse_of_lower(np.array([[2.0, 0], [1, 4]])).tolist()
    [[0.5, 0.0], [-0.125, 0.25]]
    """
    half = len(lower) // 2
    if len(lower) <= INVERTED_WHOLE:
        return np.linalg.inv(lower)
    inverse = np.zeros_like(lower)
    inverse[:half, :half] = inverse_of_lower(lower[:half, :half])
    inverse[half:, half:] = inverse_of_lower(lower[half:, half:])
    inverse[half:, :half] = -inverse[half:, half:] @ lower[half:, :half] @ inverse[:half, :half]
    return inverse
