"""How much of a bird is a cross: the chance that its two alleles come from different breeds.

The vigour of a first cross goes with it. It is 1 in a first cross, halves with every backcross and
is 1/2 again in a second generation of crossbreds among themselves.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.genetics.kin.ancestry import ancestry_of
from matchmaker.genetics.kin.kinship import inbreeding_of, kinship_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.flock.pedigree import Pedigree
    from matchmaker.genetics.kin.ancestry import Ancestry, Matrix


def heterozygosity_of(pedigree: Pedigree) -> Matrix:
    """Chance that a bird's two alleles at a place come from different breeds, shape (birds,).

    Notes
    -----
    Two alleles are of one breed with a probability that follows the pedigree as kinship does, from
    1 within a breed and 0 between breeds among the founders, whatever the breeds' base kinship.
    Alleles that are identical by descent are of one breed, so related parents, uncertain parents
    and clutches are counted exactly. An expectation over the genome: birds of one cross vary.

    Examples
    --------
    A first cross, its backcross, and a second generation:

    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> cross = pedigree_of(
    ...     "D ? araucana araucana",
    ...     "R ? sussex sussex",
    ...     "F1 ? D R",
    ...     "G1 ? D R",
    ...     "BC1 ? R F1",
    ...     "F2 ? F1 G1",
    ... )
    >>> heterozygosity_of(cross).tolist()
    [0.0, 0.0, 1.0, 1.0, 0.5, 0.5]
    """
    heterozygosity: Matrix = 1 - inbreeding_of(by_breed(pedigree))
    return heterozygosity


def breed_likeness(pedigree: Pedigree, birds: Sequence[str]) -> Matrix:
    """Chance that two alleles, one drawn from each bird, are of one breed, shape (birds, birds).

    One less the entry of a hen and a cock is the heterozygosity of their chicks.

    Raises
    ------
    KeyError
        If a bird is not in the pedigree.

    Examples
    --------
    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> cross = pedigree_of(
    ...     "D ? araucana araucana",
    ...     "R ? sussex sussex",
    ...     "F1 ? D R",
    ... )
    >>> breed_likeness(cross, ["R", "F1"]).tolist()
    [[1.0, 0.5], [0.5, 0.5]]
    """
    node_of = pedigree.node_of()
    return kinship_of(by_breed(pedigree), [node_of[bird] for bird in birds])


def by_breed(pedigree: Pedigree) -> Ancestry:
    """The pedigree's arrays, in which alleles of one breed count as alike and others do not.

    Examples
    --------
    >>> from matchmaker.flock.pedigree import Pedigree, Pool
    >>> pools = (Pool("araucana"), Pool("sussex"), Pool("sussex", "Hill"))
    >>> none = Pedigree(pools=pools, bases=((0.1,) * 3,) * 3, birds=(), sexes=(), sires=(), dams=())
    >>> by_breed(none).bases.tolist()
    [[1.0, 0.0, 0.0], [0.0, 1.0, 1.0], [0.0, 1.0, 1.0]]
    """
    breeds = np.array([pool.breed for pool in pedigree.pools])
    alike = (breeds[:, np.newaxis] == breeds).astype(np.float64)
    return replace(ancestry_of(pedigree), bases=alike)
