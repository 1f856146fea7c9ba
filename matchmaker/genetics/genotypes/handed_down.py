"""Whose gamete carried an allele, given what parents and chick are."""

from __future__ import annotations

from functools import lru_cache
from itertools import product
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from matchmaker.genetics.inference.factors import Table

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from matchmaker.genetics.genotypes.transmission import Gametes, State, Stretch


class SideChances(NamedTuple):
    """One side of a chick: gametes by the parent's state, and who the parent may be.

    ``places`` say, for each choice of its selector (one where the parent is certain), which of the
    ``sources`` that parent is; source 0 is none.
    """

    gametes: Gametes
    places: tuple[int, ...]
    sources: int


@lru_cache(maxsize=512)
def handed_table(
    stretch: Stretch,
    states: tuple[State, ...],
    place: int,
    sides: tuple[SideChances, SideChances],
) -> Table:
    """P(who gave the named allele at ``place`` | parents, chick).

    Axes: the sire's state and selector, the dam's, the chick, and the source (the sire's times the
    number of the dam's, and the dam's). Axes of what is certain are left out. Parents that cannot
    have such a chick give "nobody", which does not matter.

    Examples
    --------
    Two carriers and a chick with one copy: either gave it.

    >>> from matchmaker.genetics.loci.inheritance import Inheritance
    >>> from matchmaker.genetics.genotypes.transmission import Stretch
    >>> from matchmaker.tables.records import Sex
    >>> one = Stretch((Inheritance(z_linked=False),))
    >>> side = SideChances(one.gametes(Sex.COCK), (1,), 2)
    >>> handed_table(one, one.states(Sex.COCK), 0, (side, side)).values[1, 1, 1].tolist()
    [0.0, 0.5, 0.5, 0.0]
    """
    base = _gave(stretch, states, place, sides)
    chosen = [np.zeros((len(side.places), 2, side.sources)) for side in sides]
    for table, side in zip(chosen, sides, strict=True):
        table[:, 0, 0] = 1.0
        table[range(len(side.places)), 1, list(side.places)] = 1.0
    whole = np.einsum("sdcfg,ifw,jgv->sidjcwv", base, *chosen)
    certain = tuple(axis for axis in range(4) if whole.shape[axis] == 1)
    shape = [size for axis, size in enumerate(whole.shape[:5]) if axis not in certain]
    return Table.of(whole.reshape(*shape, -1))


def _gave(
    stretch: Stretch,
    states: Sequence[State],
    place: int,
    sides: tuple[SideChances, SideChances],
) -> NDArray[np.float64]:
    """P(sire gave it, dam gave it | sire, dam, chick), shape (sire, dam, chick, 2, 2)."""
    sire, dam = (np.array(side.gametes) for side in sides)
    named = stretch.loci[place].named
    has = [int(haplotype[place] == named) for haplotype in stretch.haplotypes]
    found = np.zeros((len(sire), len(dam), len(states), 2, 2))
    for at, (_, held) in enumerate(states):
        if len(held) == 1:  # a daughter's only Z is her sire's
            found[:, :, at, has[held[0]], 0] += sire[:, held[0], None]
            continue
        for one, two in set(product(held, repeat=2)):
            if tuple(sorted((one, two))) == held:
                found[:, :, at, has[one], has[two]] += np.multiply.outer(sire[:, one], dam[:, two])
    total = found.sum(axis=(3, 4), keepdims=True)
    np.divide(found, total, out=found, where=total > 0)
    found[..., 0, 0] += total[..., 0, 0] == 0
    return found


def source_chances(gametes: Sequence[float], copies: Sequence[float]) -> tuple[float, float]:
    """P(sire gave one | carries), P(dam gave one | carries) if the gametes are independent.

    ``gametes`` are the chances that one of the sire and one of the dam carries the allele;
    ``copies`` those of 0, 1 and 2 copies in the chick.

    Examples
    --------
    >>> source_chances((0.5, 0.0), (0.5, 0.5, 0.0))
    (1.0, 0.0)
    >>> source_chances((0.5, 0.5), (0.0, 0.5, 0.5))
    (0.75, 0.75)
    """
    sire, dam = gametes
    alone = (sire * (1.0 - dam), dam * (1.0 - sire))
    carries = copies[1] + copies[2]
    if not carries or not sum(alone):
        return (1.0, 1.0) if carries else (0.0, 0.0)
    of_sire, of_dam = ((copies[1] * one / sum(alone) + copies[2]) / carries for one in alone)
    return of_sire, of_dam
