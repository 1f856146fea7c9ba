"""What the birds themselves are worth by their scores and those of their kin."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.genetics.traits.chick import nearness, slope_of_distance, weighted_sum

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matchmaker.genetics.kin.ancestry import Matrix
    from matchmaker.genetics.traits.aims import TraitAim
    from matchmaker.genetics.traits.forecast import Forecast


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Standing:
    """Every bird's worth, all arrays of shape (birds,) in the order of the pedigree.

    ``gains`` are in genetic SDs by trait, more being better; ``merit`` is their weighted sum: how
    much more, or less, a wanted chick like the bird counts. ``reliability`` (0 to 1) is that of
    the merit.
    """

    gains: Mapping[str, Matrix]
    merit: Matrix
    reliability: Matrix

    @classmethod
    def of(cls, forecast: Forecast) -> Standing:
        """The standing of all birds.

        For a direction a bird's gain is its prediction; for an optimum, by how much nearer to it
        lies what its genes may stand for, its prediction being no more sure than it is.
        """
        gains = {
            trait.aim.trait: _own_gains(forecast, at) for at, trait in enumerate(forecast.traits)
        }
        aims = [trait.aim for trait in forecast.traits]
        merit = np.zeros(len(forecast.birds)) + weighted_sum(gains, aims)
        return cls(gains=gains, merit=merit, reliability=_merit_reliability(forecast))

    def part(self, aim: TraitAim) -> Matrix:
        """What one trait adds to the merit of every bird, shape (birds,)."""
        return np.asarray(aim.weight * self.gains[aim.trait])


def _own_gains(forecast: Forecast, at: int) -> Matrix:
    trait = forecast.traits[at]
    if trait.genetic_sd == 0:
        return np.zeros(len(forecast.birds))
    if trait.aim.optimum is None:
        return trait.aim.sign * trait.values / trait.genetic_sd
    return nearness(trait, trait.levels, forecast.bird_errors[:, at, at])


def _merit_reliability(forecast: Forecast) -> Matrix:
    """1 − Var(error of merit) / Var(merit), shape (birds,); 0 where no trait counts."""
    weights = trait_weights(forecast)
    genetic = (1 + forecast.inbreeding) * variance_of(weights, genetic_covariances(forecast))
    unsure = variance_of(weights, forecast.bird_errors)
    share = np.divide(unsure, genetic, out=np.ones_like(genetic), where=genetic > 0)
    return np.clip(1 - share, 0.0, 1.0)


def trait_weights(forecast: Forecast) -> Matrix:
    """What one unit more of each trait counts in the merit of each bird, shape (birds, traits).

    For an optimum that hangs on where a bird lies: the slope of ``nearness`` there, which is flat
    where its genes may as well stand for more as for less.

    Examples
    --------
    One trait that shall rise, and one with an optimum that the first bird has passed:

    >>> from types import SimpleNamespace
    >>> up = SimpleNamespace(sign=1, optimum=None, weight=0.2)
    >>> eggs = SimpleNamespace(aim=up, genetic_sd=4.0, levels=np.array([50.0, 52.0]))
    >>> best = SimpleNamespace(sign=0, optimum=58.0, weight=0.1)
    >>> weight = SimpleNamespace(aim=best, genetic_sd=2.0, levels=np.array([60.0, 57.0]))
    >>> errors = np.broadcast_to(np.diag([9.0, 1.0]), (2, 2, 2))
    >>> found = SimpleNamespace(birds=("A", "B"), traits=(eggs, weight), bird_errors=errors)
    >>> trait_weights(found).round(3)
    array([[ 0.05 , -0.048],
           [ 0.05 ,  0.034]])
    """
    weights = np.zeros((len(forecast.birds), len(forecast.traits)))
    for at, trait in enumerate(forecast.traits):
        if trait.genetic_sd == 0:
            continue
        side: Matrix | int = trait.aim.sign
        if trait.aim.optimum is not None:
            errors = forecast.bird_errors[:, at, at]
            side = slope_of_distance(trait.aim.optimum - trait.levels, errors)
        weights[:, at] = side * trait.aim.weight / trait.genetic_sd
    return weights


def genetic_covariances(forecast: Forecast) -> Matrix:
    """(Co)variances of breeding values of birds not inbred, in the traits' units, shape (T, T).

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> traits = (SimpleNamespace(genetic_sd=4.0), SimpleNamespace(genetic_sd=2.0))
    >>> tied = np.array([[1.0, -0.25], [-0.25, 1.0]])
    >>> genetic_covariances(SimpleNamespace(traits=traits, correlations=tied))
    array([[16., -2.],
           [-2.,  4.]])
    """
    deviations = np.array([trait.genetic_sd for trait in forecast.traits])
    return forecast.correlations * np.outer(deviations, deviations)


def variance_of(weights: Matrix, covariances: Matrix) -> Matrix:
    """Variance of a weighted sum, row by row of the weights, shape (rows,).

    ``covariances`` has shape (traits, traits), or (rows, traits, traits).

    Examples
    --------
    >>> variance_of(np.array([[1.0, 1.0], [1.0, -1.0]]), np.array([[2.0, 0.5], [0.5, 1.0]]))
    array([4., 2.])
    """
    stacked = np.broadcast_to(covariances, (len(weights), *covariances.shape[-2:]))
    found: Matrix = np.einsum("bt,bts,bs->b", weights, stacked, weights)
    return found
