"""All hens put to all cocks: what the chicks of each pair promise."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.genetics.traits.chick import Matings, mean_of_parents, weighted_sum
from matchmaker.genetics.traits.heterozygosity import breed_likeness

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from matchmaker.flock.pedigree import Pedigree
    from matchmaker.genetics.kin.ancestry import Matrix, Nodes
    from matchmaker.genetics.kin.kinship import KinshipMatrix
    from matchmaker.genetics.traits.forecast import Forecast, TraitForecast


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Prospects:
    """The chicks of hens (rows) and cocks (columns), in the order of the two lists of bands.

    ``gains`` are in genetic SDs by trait, more being better, ``merit`` is their weighted sum: how
    much more, or less, one wanted chick counts. All have shape (hens, cocks).
    """

    hens: tuple[str, ...]
    cocks: tuple[str, ...]
    matings: Matings
    gains: Mapping[str, Matrix]
    merit: Matrix
    _rows: dict[str, int] = field(init=False, repr=False)
    _columns: dict[str, int] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_rows", {band: at for at, band in enumerate(self.hens)})
        object.__setattr__(self, "_columns", {band: at for at, band in enumerate(self.cocks)})

    @classmethod
    def of(
        cls,
        forecast: Forecast,
        pedigree: Pedigree,
        kinship: KinshipMatrix,
        sexes: tuple[Sequence[str], Sequence[str]],
    ) -> Prospects:
        """The prospects of hens and cocks, ``sexes`` being the bands of both.

        Raises
        ------
        ValueError
            If ``kinship`` lacks one of the birds.
        """
        hens, cocks = sexes
        matings = _matings(forecast, pedigree, kinship, sexes)
        gains = {trait.aim.trait: matings.gains(trait) for trait in forecast.traits}
        aims = [trait.aim for trait in forecast.traits]
        merit = np.zeros_like(matings.kinship) + weighted_sum(gains, aims)
        return cls(hens=tuple(hens), cocks=tuple(cocks), matings=matings, gains=gains, merit=merit)

    def with_traits(self, traits: Sequence[TraitForecast]) -> Prospects:
        """The same matings with other predictions or weights of all traits."""
        gains = {one.aim.trait: self.matings.gains(one) for one in traits}
        merit = np.zeros_like(self.merit) + weighted_sum(gains, [one.aim for one in traits])
        return replace(self, gains=gains, merit=merit)

    def at(self, hen: str, cock: str) -> tuple[int, int]:
        """Row and column of a pair.

        Raises
        ------
        KeyError
            If the hen or the cock is not in view.
        """
        return self._rows[hen], self._columns[cock]

    def block(self, hens: Sequence[str], cocks: Sequence[str]) -> tuple[Nodes, Nodes]:
        """Where all pairs of these hens and cocks stand, to index the grids with.

        Raises
        ------
        KeyError
            If a bird is not in view.
        """
        rows = np.array([self._rows[hen] for hen in hens], dtype=np.int64)
        columns = np.array([self._columns[cock] for cock in cocks], dtype=np.int64)
        return rows[:, None], columns[None, :]


def _matings(
    forecast: Forecast,
    pedigree: Pedigree,
    kinship: KinshipMatrix,
    sexes: tuple[Sequence[str], Sequence[str]],
) -> Matings:
    bands = [band for side in sexes for band in side]
    first = len(sexes[0])
    rows = np.array([kinship.position(band) for band in bands], dtype=np.int64)
    numbers = np.array([forecast.position(band) for band in bands], dtype=np.int64)
    hens, cocks = numbers[:first], numbers[first:]
    likeness = breed_likeness(pedigree, bands)[:first, first:]
    return Matings(
        hens=hens,
        cocks=cocks,
        parents_inbreeding=mean_of_parents(forecast.inbreeding, hens, cocks),
        kinship=kinship.values[np.ix_(rows[:first], rows[first:])],
        shares=mean_of_parents(forecast.shares, hens, cocks),
        heterozygosity=1 - likeness,
    )
