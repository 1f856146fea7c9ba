"""What the chicks of hens and cocks are expected to be, trait by trait, and what that is worth."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from numpy.typing import ArrayLike

    from matchmaker.genetics.kin.ancestry import Matrix, Nodes
    from matchmaker.genetics.traits.aims import TraitAim
    from matchmaker.genetics.traits.forecast import TraitForecast

FAR: Final = 40.0
"""So many standard deviations from an optimum its other side is out of reach."""

_ERF = np.frompyfunc(math.erf, 1, 1)
"""Here by the standard library: the one in scipy costs a third of a second to import."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Matings:
    """Hens put to cocks, and what no trait changes about their chicks.

    ``hens`` (shape (h,)) and ``cocks`` (shape (c,)) are numbers of birds in the order of the
    pedigree, ``parents_inbreeding`` (shape (h, c)) the mean inbreeding of each hen and cock. Of
    their chicks, all of shape (h, c): ``kinship`` is the inbreeding, ``shares`` the recurrent share
    and ``heterozygosity`` the chance that two alleles at a locus come from different breeds.
    """

    hens: Nodes
    cocks: Nodes
    parents_inbreeding: Matrix
    kinship: Matrix
    shares: Matrix
    heterozygosity: Matrix

    def middle(self, trait: TraitForecast) -> Matrix:
        """Mean of the parents' predictions, in the trait's unit, shape (h, c)."""
        return mean_of_parents(trait.values, self.hens, self.cocks)

    def levels(self, trait: TraitForecast) -> Matrix:
        """Where the chicks are expected, in the trait's unit, shape (h, c).

        Breed share, vigour of the cross and inbreeding are counted in.
        """
        return trait.chick_level(self.shares, self.heterozygosity, self.kinship, self.middle(trait))

    def variances(self, trait: TraitForecast) -> Matrix:
        """Variances of the chicks' breeding values, in squared units, shape (h, c)."""
        known = trait.prediction
        if known is None:
            return np.zeros_like(self.kinship)
        errors = known.solved.errors(np.concatenate((self.hens, self.cocks)))
        return chick_variance(errors, len(self.hens), trait.genetic_sd**2, self.parents_inbreeding)

    def gains(self, trait: TraitForecast) -> Matrix:
        """What the chicks are worth in the trait, in genetic SDs, more being better, (h, c).

        For a direction, genes and inbreeding count, and neither the breed's share, which has a
        weight of its own, nor the vigour of a cross, which is not passed on. For an optimum, by
        how much the chicks lie nearer to it, of which all these are part (``nearness``). 0 where
        nothing is known of the trait or nothing is aimed at.
        """
        if trait.genetic_sd == 0:
            return np.zeros_like(self.kinship)
        if trait.aim.optimum is not None:
            return nearness(trait, self.levels(trait), self.variances(trait))
        moved = self.middle(trait) + trait.depression * self.kinship
        return trait.aim.sign * moved / trait.genetic_sd


def mean_of_parents(values: Matrix, hens: Nodes, cocks: Nodes) -> Matrix:
    """Mean of a figure (shape (birds,)) over each hen and cock, shape (hens, cocks).

    Examples
    --------
    >>> mean_of_parents(np.array([1.0, 3.0, 5.0]), np.array([0]), np.array([1, 2]))
    array([[2., 3.]])
    """
    mean: Matrix = (values[hens][:, None] + values[cocks][None, :]) / 2
    return mean


def chick_variance(
    errors: Matrix, hens: int, genetic_variance: float, parents_inbreeding: Matrix
) -> Matrix:
    """Variance of a chick's breeding value, for each hen and cock, shape (hens, cocks).

    ``errors`` (shape (hens + cocks, hens + cocks)) are the error (co)variances of the parents'
    predictions, hens first; ``parents_inbreeding`` (shape (hens, cocks)) the mean inbreeding of
    the two.

    Notes
    -----
    ¼ (PEV of hen + PEV of cock + 2 PEC) for what is not known of the parents, and the Mendelian
    ½ (1 − mean F) of the genetic variance for the draw of their alleles (Falconer & Mackay 1996,
    from memory).

    Examples
    --------
    Of parents known exactly and not inbred, half the genetic variance is left; of unknown,
    unrelated ones all of it:

    >>> not_inbred = np.zeros((1, 1))
    >>> chick_variance(np.zeros((2, 2)), 1, 8.0, not_inbred)
    array([[4.]])
    >>> chick_variance(8.0 * np.eye(2), 1, 8.0, not_inbred)
    array([[8.]])
    """
    own = errors.diagonal()
    unsure = own[:hens, None] + own[None, hens:] + 2 * errors[:hens, hens:]
    variance: Matrix = unsure / 4 + genetic_variance * (1 - parents_inbreeding) / 2
    return variance


def expected_distance(levels: ArrayLike, variances: ArrayLike, optimum: float) -> Matrix:
    """Mean distance from an optimum of what is spread normally about its level.

    Levels and variances have the same shape, as has the result, in the unit of the levels.

    Notes
    -----
    The mean of a folded normal, s √(2/π) exp(−d²/2s²) + d erf(d / s√2) with d = level − optimum
    (Leone, Nelson & Nottingham 1961, Technometrics 3:543, from memory).

    Examples
    --------
    Chicks on the optimum are off it by their spread; far from it only their level counts:

    >>> expected_distance([58.0, 68.0, 68.0], [4.0, 4.0, 0.0], 58.0).round(3)
    array([ 1.596, 10.   , 10.   ])
    """
    away = np.asarray(levels, dtype=np.float64) - optimum
    spread, known = _spread(away, variances)
    folded: Matrix = spread * math.sqrt(2 / math.pi) * np.exp(-(known**2) / 2)
    return folded + away * slope_of_distance(away, variances)


def slope_of_distance(away: ArrayLike, variances: ArrayLike) -> Matrix:
    """How fast the mean distance grows where birds lie ``away`` from the optimum, −1 to 1.

    Of one shape, as is the result, in a unit and its square; erf(d / s√2), the slope of
    ``expected_distance``.

    Examples
    --------
    >>> slope_of_distance([10.0, 1.0, 0.0], [1.0, 4.0, 4.0]).round(2)
    array([1.  , 0.38, 0.  ])
    """
    _, known = _spread(np.asarray(away, dtype=np.float64), variances)
    return np.asarray(_ERF(known / math.sqrt(2)), dtype=np.float64)


def _spread(away: Matrix, variances: ArrayLike) -> tuple[Matrix, Matrix]:
    """Standard deviations, and the distances in units of them."""
    spread = np.sqrt(np.maximum(np.asarray(variances, dtype=np.float64), 0.0))
    least = np.maximum(spread, np.abs(away) / FAR)
    return spread, np.divide(away, least, out=np.zeros_like(away), where=least > 0)


def nearness(trait: TraitForecast, levels: Matrix, variances: Matrix) -> Matrix:
    """By how much less birds are off an optimum than a pure one of unknown genes, in genetic SDs.

    ``levels`` and ``variances`` (of one shape, as is the result) say how the birds' breeding values
    are spread, in the trait's unit and its square; the trait has a genetic SD and an optimum.

    Examples
    --------
    An unknown pure bird is spread about 54 g with a genetic SD of 2 g, 4 g below the optimum:

    >>> from types import SimpleNamespace
    >>> aim = SimpleNamespace(optimum=58.0)
    >>> weight = SimpleNamespace(aim=aim, pure_level=54.0, genetic_sd=2.0)
    >>> nearness(weight, np.array([54.0, 56.0]), np.array([4.0, 4.0])).round(2) + 0.0
    array([0.  , 0.85])
    """
    optimum = trait.aim.optimum
    if optimum is None or trait.genetic_sd == 0:
        return np.zeros_like(levels)
    usual = expected_distance(trait.pure_level, trait.genetic_sd**2, optimum)
    return np.asarray((usual - expected_distance(levels, variances, optimum)) / trait.genetic_sd)


def weighted_sum(gains: Mapping[str, Matrix], aims: Iterable[TraitAim]) -> Matrix | float:
    """Merit: the gains of all traits, each times its weight.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> aim = SimpleNamespace(trait="eggs", weight=0.3)
    >>> weighted_sum({"eggs": np.array([0.5, -1.0])}, [aim])
    array([ 0.15, -0.3 ])
    """
    return sum((aim.weight * gains[aim.trait] for aim in aims if aim.trait in gains), 0.0)
