"""Expected share of each bird's genome that comes from each breed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from matchmaker.flock.pedigree import Links, Pedigree


def breed_shares(pedigree: Pedigree) -> tuple[tuple[str, ...], NDArray[np.float64]]:
    """Return the breeds and the shares, shape (birds, breeds), each row summing to one.

    Notes
    -----
    A chick has the mean of its parents' shares, weighted by their probabilities; a founder those
    of its pools. An expectation: birds of one cross vary around it.

    Examples
    --------
    A first cross and its backcross:

    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> cross = pedigree_of(
    ...     "D ? araucana araucana",
    ...     "R ? sussex sussex",
    ...     "F1 ? R D",
    ...     "BC1 ? R F1",
    ... )
    >>> breed_shares(cross)[1][:, 1]
    array([0.  , 1.  , 0.5 , 0.75])
    """
    breeds = tuple(sorted({pool.breed for pool in pedigree.pools}))
    table = [[float(pool.breed == breed) for breed in breeds] for pool in pedigree.pools]
    for sires, dams in zip(pedigree.sires, pedigree.dams, strict=True):
        sides = zip(_mean(table, sires), _mean(table, dams), strict=True)
        table.append([(sire + dam) / 2 for sire, dam in sides])
    own = table[pedigree.first_bird :]
    return breeds, np.array(own, dtype=np.float64).reshape(len(own), len(breeds))


def recurrent_shares(pedigree: Pedigree, recurrent: str) -> dict[str, float]:
    """Expected share of the recurrent breed in each bird's genome, 0 to 1.

    Examples
    --------
    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> pure = pedigree_of("R ? sussex sussex")
    >>> recurrent_shares(pure, "sussex")
    {'R': 1.0}
    """
    breeds, shares = breed_shares(pedigree)
    if recurrent not in breeds:
        return dict.fromkeys(pedigree.birds, 0.0)
    column = shares[:, breeds.index(recurrent)]
    return {bird: float(share) for bird, share in zip(pedigree.birds, column, strict=True)}


def _mean(table: Sequence[Sequence[float]], links: Links) -> Sequence[float]:
    """Shares of the possible parents of one side, ``table`` having those of every node."""
    if len(links) == 1 and links[0][1] == 1:
        return table[links[0][0]]
    weighed = [[chance * share for share in table[node]] for node, chance in links]
    return [sum(shares) for shares in zip(*weighed, strict=True)]
