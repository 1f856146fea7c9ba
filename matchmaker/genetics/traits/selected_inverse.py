"""The entries of an inverse that matter, from a sparse factor: never the whole inverse.

With S = L Lᵀ, the entries of S⁻¹ that stand where L has entries follow from each other, last column
first (Takahashi, Fagan & Chen 1973, from memory; Erisman & Tinney 1975, Commun ACM 18:177, from
memory), here a front at a time.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from scipy import sparse

    from matchmaker.genetics.kin.ancestry import Matrix, Nodes
    from matchmaker.genetics.traits.fronts import Fronts


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Panel:
    """Columns of the factor of one front.

    ``top`` (shape (width, width)) is the inverse of their triangle, ``below`` (shape (rows, width))
    what stands under it.
    """

    top: Matrix
    below: Matrix


def selected_inverse(fronts: Fronts, panels: Sequence[Panel], wanted: sparse.csc_array) -> Matrix:
    """Entries of the inverse at the places of ``wanted``, in the order of its values.

    ``wanted`` is a lower triangle with rows sorted, all of whose places are within the fronts'.

    Examples
    --------
    A matrix that is one front:

    >>> from scipy import sparse
    >>> from matchmaker.genetics.traits.fronts import fronts_of
    >>> whole = sparse.csc_array(np.array([[4.0, 0], [2, 2]]))
    >>> triangle = np.linalg.inv(np.linalg.cholesky([[4.0, 2], [2, 2]]))
    >>> selected_inverse(fronts_of(whole), [Panel(top=triangle, below=np.empty((0, 2)))], whole)
    array([ 0.5, -0.5,  1. ])
    """
    found = np.empty(len(wanted.data))
    waiting = [0] * len(panels)
    for parent in fronts.parents:
        if parent >= 0:
            waiting[parent] += 1
    whole: dict[int, tuple[Nodes, Matrix]] = {}
    for block in fronts.in_order():
        start, stop = fronts.edges[block : block + 2]
        rows, parent = fronts.rows[block], fronts.parents[block]
        names = fronts.names(block)
        values = np.empty((len(names), len(names)))
        if parent >= 0:
            above, inverse = whole[parent]
            at = np.searchsorted(above, rows)
            values[stop - start :, stop - start :] = inverse[at[:, np.newaxis], at]
            waiting[parent] -= 1
            if not waiting[parent]:
                del whole[parent]
        _fill(values, panels[block])
        places = fronts.places(wanted, block)
        found[wanted.indptr[start] : wanted.indptr[stop]] = values[places]
        if waiting[block]:
            whole[block] = names, values
    return found


def _fill(values: Matrix, panel: Panel) -> None:
    """Inverse of a whole front, given that of the rows below the block.

    With Y = L_RJ L_JJ⁻¹, Z_RJ = −Z_RR Y and Z_JJ = (L_JJ L_JJᵀ)⁻¹ − Yᵀ Z_RJ.
    """
    width = len(panel.top)
    ratio = panel.below @ panel.top
    across = values[width:, width:] @ ratio
    values[width:, :width] = -across
    values[:width, width:] = -across.T
    values[:width, :width] = panel.top.T @ panel.top + ratio.T @ across
