"""How much of the kinship of birds comes from before the records, for many pairs at once."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from matchmaker.genetics.kin.ancestry import Drawn, with_ancestors
from matchmaker.genetics.kin.layers import layers_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.genetics.kin.ancestry import Ancestry, Matrix
    from matchmaker.genetics.kin.layers import Layers, Mixture


def before_records(ancestry: Ancestry, firsts: Sequence[int], seconds: Sequence[int]) -> Matrix:
    """Return the part of the kinship of each pair that is in no bird on record, shape (i, j).

    It is what the pools of founders have in common, and the unwritten parent of a clutch. Worked
    out as kinship is, parents first, but for a bird with itself: what meets in a bird on record
    does not come from before it, so that counts nothing.

    Examples
    --------
    Half sibs of a breed whose birds are taken as kin; their sire's part (1/8 and a little for his
    inbreeding) is not counted:

    >>> from matchmaker.genetics.kin.ancestry import ancestry_of_parents
    >>> family = ancestry_of_parents([-1, -1, -1, 0, 0], [-1, -1, -1, 1, 2], base=0.125)
    >>> before_records(family, [4], [5])
    array([[0.09375]])
    """
    layers = layers_of(ancestry, with_ancestors(ancestry, np.array(sorted({*firsts, *seconds}))))
    shared = np.zeros((layers.size, layers.size))
    shared[: layers.pools, : layers.pools] = layers.bases
    for start, end in zip(layers.edges[1:], layers.edges[2:], strict=False):
        for place in range(start, end):
            _fill(layers, shared, place)
    rows, columns = (layers.place_of[list(nodes)] for nodes in (firsts, seconds))
    found: Matrix = shared[np.ix_(rows, columns)]
    return found


def _fill(layers: Layers, shared: Matrix, place: int) -> None:
    """Work a node out with all before it; one of its own layer is none of its forebears."""
    mixture = layers.mixtures.get(place)
    if mixture is None:
        row = (shared[layers.sires[place], :place] + shared[layers.dams[place], :place]) / 2
        own = 0.0
    else:
        row = mixture.chances @ shared[mixture.members, :place]
        own = _one_parent(layers, mixture, row)
    shared[place, :place] = shared[:place, place] = row
    shared[place, place] = own


def _one_parent(layers: Layers, mixture: Mixture, row: Matrix) -> float:
    """A mixture with itself: drawn anew on either side, or the one parent of a clutch."""
    if mixture.drawn is Drawn.FOR_EACH:
        return float(mixture.chances @ row[mixture.members])
    pooled = mixture.members < layers.pools
    bases = np.diag(layers.bases)[mixture.members[pooled]]
    return float(mixture.chances[pooled] @ ((1 + bases) / 2))
