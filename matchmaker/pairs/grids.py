"""Numbers and marks of every hen with every cock, and how some of these pairs are picked out."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Grid = NDArray[np.float64]
"""A number for each pair, shape (hens, cocks)."""

Flags = NDArray[np.bool_]
"""A mark for each pair, shape (hens, cocks)."""

Places = tuple[NDArray[np.intp], ...]
"""Some pairs: the numbers of their hens and those of their cocks, each of shape (pairs,)."""


def numbered(places: Places) -> list[tuple[int, int]]:
    """The numbers of hen and cock of each pair.

    Examples
    --------
    >>> numbered(np.nonzero(np.array([[True, False], [False, True]])))
    [(0, 0), (1, 1)]
    """
    return list(zip(places[0].tolist(), places[1].tolist(), strict=True))
