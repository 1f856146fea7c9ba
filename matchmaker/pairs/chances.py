"""What the chicks of every hen × cock are expected to be: genotypes, wanted chicks, lethal ones."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from matchmaker.genetics.chicks import ChickClasses, chick_distribution, lethal_fraction
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from matchmaker.genetics.genotype import Genotypes
    from matchmaker.genetics.loci import Locus, Look
    from matchmaker.pairs.crossings import Crossing

Grid = NDArray[np.float64]
"""Shape (hens, cocks)."""

GRADING_DAYS: Final = 182
"""Chicks are graded at 26 weeks: what shows later cannot be told by sight (common practice)."""

TOLD_APART: Final = 0.95
"""A class of chicks counts as recognised if at least this share of it is wanted."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WantedChance:
    """Chance per chick hatched that it is wanted: as a son, and as a daughter (sexes ½ : ½).

    ``told`` counts only what the row can recognise; ``true`` counts every wanted chick.
    """

    true_sons: Grid
    true_daughters: Grid
    told_sons: Grid
    told_daughters: Grid


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ChickTable:
    """Chick genotype distributions for every hen × cock at every locus of the flock."""

    hens: tuple[str, ...]
    cocks: tuple[str, ...]
    loci: Mapping[str, Locus]
    classes: Mapping[str, ChickClasses]
    lethal: Mapping[str, Grid]

    def wanted(self, crossing: Crossing) -> WantedChance:
        """Chances of wanted chicks in one crossing, loci taken as unlinked."""
        sons = self._kept(crossing, Sex.COCK)
        daughters = self._kept(crossing, Sex.HEN)
        return WantedChance(
            true_sons=sons[0],
            told_sons=sons[1],
            true_daughters=daughters[0],
            told_daughters=daughters[1],
        )

    def of(self, locus: str, sex: Sex) -> NDArray[np.float64]:
        """Copies among the sons or the daughters at a locus, shape (hens, cocks, 3)."""
        classes = self.classes[locus]
        return classes.sons if sex is Sex.COCK else classes.daughters

    def _kept(self, crossing: Crossing, sex: Sex) -> tuple[Grid, Grid]:
        shape = (len(self.hens), len(self.cocks))
        if sex not in crossing.sexes:
            return np.zeros(shape), np.zeros(shape)
        true, told = np.full(shape, 0.5), np.full(shape, 0.5)
        for symbol, copies in crossing.keep.get(sex, {}).items():
            chances = self.of(symbol, sex)
            true *= chances[..., list(copies)].sum(axis=-1)
            told *= _told(chances, copies, self.loci[symbol], sex)
        return true, told if crossing.by_sight else true


def chick_table(
    hens: Sequence[str],
    cocks: Sequence[str],
    loci: Mapping[str, Locus],
    genotypes: Mapping[str, Genotypes],
) -> ChickTable:
    """Chick distributions from the exact joint genotypes of every hen and cock."""
    joints = {symbol: genotypes[symbol].joint(hens, cocks) for symbol in loci}
    return ChickTable(
        hens=tuple(hens),
        cocks=tuple(cocks),
        loci=loci,
        classes={s: chick_distribution(joints[s], locus) for s, locus in loci.items()},
        lethal={s: lethal_fraction(joints[s], locus) for s, locus in loci.items() if locus.lethal},
    )


def _told(chances: NDArray[np.float64], kept: tuple[int, ...], locus: Locus, sex: Sex) -> Grid:
    """Chance of a wanted chick whose looks tell, by grading time, that it is wanted."""
    if locus.shows_at_days > GRADING_DAYS:
        return np.zeros(chances.shape[:-1])
    looks: dict[Look, list[int]] = {}
    for copies in locus.copy_numbers(sex):
        looks.setdefault(locus.phenotype(copies, sex), []).append(copies)
    told = np.zeros(chances.shape[:-1])
    for members in looks.values():
        everyone = chances[..., members].sum(axis=-1)
        wanted = chances[..., [copies for copies in members if copies in kept]].sum(axis=-1)
        told += np.where(wanted >= TOLD_APART * everyone, wanted, 0.0)
    return told
