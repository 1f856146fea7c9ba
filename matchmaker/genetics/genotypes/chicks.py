"""What chicks a pair has at one locus, by sex."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.genetics.genotypes.transmission import Stretch, chick_table
from matchmaker.genetics.loci.inheritance import Inheritance
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from matchmaker.genetics.loci.locus import Locus


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ChickClasses:
    """Probabilities of 0, 1 and 2 copies among the sons and among the daughters of pairs.

    Both are shaped like the pairs with a last axis of 3; each row sums to 1. They count chicks as
    conceived: those that will die of it are among them.
    """

    sons: NDArray[np.float64]
    daughters: NDArray[np.float64]


def chick_distribution(joint: NDArray[np.float64], locus: Locus) -> ChickClasses:
    """Return the copies of the chicks of pairs from P(hen's copies, cock's copies).

    ``joint`` has shape (..., 3, 3), hen before cock, as ``Genotypes.joint`` gives it.

    Examples
    --------
    A recurrent cock on a hen that carries a Z-linked gene: all sons have it, no daughter has.

    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> joint = np.zeros((3, 3))
    >>> joint[1, 0] = 1.0
    >>> chicks = chick_distribution(joint, catalogue()["S"])
    >>> chicks.sons.tolist(), chicks.daughters.tolist()
    ([0.0, 1.0, 0.0], [1.0, 0.0, 0.0])
    """
    sons, daughters = _by_parents(locus.z_linked)
    return ChickClasses(
        sons=np.tensordot(joint, sons, 2), daughters=np.tensordot(joint, daughters, 2)
    )


def lethal_fraction(joint: NDArray[np.float64], locus: Locus) -> NDArray[np.float64]:
    """Return the expected fraction of chicks with a lethal or crippling genotype, shape (...).

    Sons and daughters are taken as half each.

    Examples
    --------
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> joint = np.zeros((3, 3))
    >>> joint[1, 1] = 1.0
    >>> float(lethal_fraction(joint, catalogue()["Cp"]))
    0.25
    """
    chicks = chick_distribution(joint, locus)
    fraction = np.zeros(joint.shape[:-2])
    for sex, classes in ((Sex.COCK, chicks.sons), (Sex.HEN, chicks.daughters)):
        for copies in locus.copy_numbers(sex):
            if locus.is_lethal(copies, sex):
                fraction += classes[..., copies] / 2
    return fraction


@lru_cache(maxsize=2)
def _by_parents(z_linked: bool) -> tuple[NDArray[np.float64], NDArray[np.float64]]:  # noqa: FBT001
    """P(chick's copies | hen's copies, cock's copies), sons and daughters, each (3, 3, 3)."""
    stretch = Stretch((Inheritance(z_linked),))
    parents = stretch.gametes(Sex.COCK), stretch.gametes(Sex.HEN)
    tables = []
    for sex in (Sex.COCK, Sex.HEN):
        found = np.swapaxes(chick_table(stretch, sex, *parents), 0, 1)
        table = np.zeros((3, 3, 3))
        table[: found.shape[0], :, : found.shape[2]] = found
        table.flags.writeable = False
        tables.append(table)
    return tables[0], tables[1]
