"""Why a pair cannot give a wanted chick: the genetic mechanism, in terms a sentence can use."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from matchmaker.genetics.loci.locus import Locus
    from matchmaker.pairs.crossings import Crossing


class Mechanism(StrEnum):
    """What stands in the way."""

    HEN_GIVES_Z_TO_SONS = "hen-gives-z-to-sons"
    ONE_COPY_IN_HENS = "one-copy-in-hens"
    NEITHER_CARRIES = "neither-carries"
    ONE_PARENT_ONLY = "one-parent-only"
    ALWAYS_PASSED_ON = "always-passed-on"
    LOCI_TOGETHER = "loci-together"
    UNTOLD = "untold"
    RARE = "rare"


@dataclass(frozen=True, slots=True, kw_only=True)
class Parents:
    """Genotype probabilities of hen and cock at one locus, over 0, 1 and 2 copies."""

    hen: NDArray[np.float64]
    cock: NDArray[np.float64]

    @property
    def hen_may_carry(self) -> bool:
        """Whether the hen has a copy with any chance."""
        return bool(self.hen[1:].sum() > 0)

    @property
    def cock_may_carry(self) -> bool:
        """Whether the cock has a copy with any chance."""
        return bool(self.cock[1:].sum() > 0)


def why_none(
    crossing: Crossing,
    parents: Mapping[str, Parents],
    loci: Mapping[str, Locus],
    chances: Mapping[str, Mapping[Sex, NDArray[np.float64]]],
) -> tuple[Mechanism, str]:
    """Return the mechanism and the locus that keep a pair from giving any wanted chick.

    ``chances[locus][sex]`` is the pair's chick distribution over copies. The first locus that
    blocks every kept sex decides; ``LOCI_TOGETHER`` where only their combination does, and
    ``UNTOLD`` where wanted chicks do hatch but nobody can tell them by sight.
    """
    for locus in crossing.loci:
        if _blocks(crossing, locus, chances[locus]):
            return _mechanism(crossing, loci[locus], parents[locus], chances[locus]), locus
    if any(_possible(crossing, sex, chances) for sex in crossing.sexes):
        return Mechanism.UNTOLD, " and ".join(crossing.loci)
    return Mechanism.LOCI_TOGETHER, " and ".join(crossing.loci)


def _possible(
    crossing: Crossing, sex: Sex, chances: Mapping[str, Mapping[Sex, NDArray[np.float64]]]
) -> bool:
    return all(
        chances[locus][sex][list(copies)].sum() > 0
        for locus, copies in crossing.keep.get(sex, {}).items()
    )


def _blocks(crossing: Crossing, locus: str, chances: Mapping[Sex, NDArray[np.float64]]) -> bool:
    return all(
        locus in crossing.keep.get(sex, {})
        and chances[sex][list(crossing.keep[sex][locus])].sum() == 0
        for sex in crossing.sexes
    )


def _mechanism(
    crossing: Crossing,
    locus: Locus,
    parents: Parents,
    chances: Mapping[Sex, NDArray[np.float64]],
) -> Mechanism:
    keep = {sex: crossing.keep[sex][locus.symbol] for sex in crossing.sexes}
    daughters_on_z = locus.z_linked and crossing.sexes == (Sex.HEN,)
    if not parents.hen_may_carry and not parents.cock_may_carry:
        return Mechanism.NEITHER_CARRIES
    if daughters_on_z and min(keep[Sex.HEN]) > 1:
        return Mechanism.ONE_COPY_IN_HENS
    if any(np.flatnonzero(chances[sex]).max() > min(kept) for sex, kept in keep.items()):
        return Mechanism.ALWAYS_PASSED_ON
    return Mechanism.HEN_GIVES_Z_TO_SONS if daughters_on_z else Mechanism.ONE_PARENT_ONLY


def rare(crossing: Crossing) -> tuple[Mechanism, str]:
    """What to say where wanted chicks are possible but too rare to plan on."""
    return Mechanism.RARE, " and ".join(crossing.loci)
