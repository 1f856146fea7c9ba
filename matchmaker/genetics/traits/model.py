"""Predicted breeding values of one trait from the scores of a bird and of all its kin.

The animal model (Henderson 1975, Biometrics 31:423, from memory): a score is the level of its
contemporary group, what the covariates explain, the bird's breeding value, its lasting
surroundings, and chance. Groups and covariates are estimated together with the breeding values, so
a bird is compared with contemporaries of known worth and not with their bare mean.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from matchmaker.genetics.traits.equations import (
    Solution,
    Surroundings,
    design,
    solution,
    surroundings,
    variance_of_scores,
)
from matchmaker.genetics.traits.positive import inverse_of_positive
from matchmaker.genetics.traits.prediction import Prediction

if TYPE_CHECKING:
    from matchmaker.genetics.kin.ancestry import Matrix, Nodes
    from matchmaker.genetics.traits.kindred import Kindred
    from matchmaker.genetics.traits.records import Heredity, Records

LARGE: Final = 1500
"""With more unknowns than this the equations are solved sparse."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Dense:
    """A small flock solved whole, in units of ``variance``, that of single scores.

    ``birds`` and ``pulls`` (shape (records,)) are whose a score is and what it weighs.
    """

    variance: float
    solution: Solution
    birds: Nodes
    pulls: Matrix

    def errors(self, birds: Nodes) -> Matrix:
        """(Co)variances of prediction errors of some birds, in squared units, shape (m, m)."""
        return self.variance * self.solution.errors(birds, birds)

    def spread(self, birds: Nodes, given: Matrix, slopes: Matrix) -> float:
        """Variance of the error of a sum of predictions and slopes, in squared units."""
        effects = np.zeros(len(self.solution.effects))
        effects[len(effects) - len(slopes) :] = slopes
        return self.variance * self.solution.spread(birds, given, effects)

    def weights(self, bird: int) -> Matrix:
        """What each score adds to a bird's prediction per unit of deviation, shape (records,)."""
        return np.asarray(self.solution.given[bird, self.birds] * self.pulls)

    def precisions(self) -> Matrix:
        """One over the variance of each score given all others, in units⁻², shape (records,)."""
        return self.solution.precisions() / self.variance

    def projected(self, record: int) -> Matrix:
        """How all scores pull at what one is expected to be, in units⁻², shape (records,)."""
        return self.solution.projected(record) / self.variance


def predict(kindred: Kindred, records: Records, heredity: Heredity) -> Prediction:
    """Predict the breeding values of all birds for one trait, and how far to trust them.

    Without heritability, and where scores are no more than what has to be estimated from them or
    do not differ within groups, nothing is predicted: values and reliabilities are 0.

    Notes
    -----
    With V the covariance of the scores, the variance of single scores is estimated by restricted
    maximum likelihood, given h² and the repeatability: yᵀPy over the scores left when levels and
    slopes are estimated (Patterson & Thompson 1971, Biometrika 58:545, from memory). Reliability is
    1 − PEV / (A σ²ᵤ), PEV from the inverse of the whole equations, with levels and slopes.
    Beyond ``LARGE`` unknowns the same is worked out sparse (``large``).

    Examples
    --------
    Four hens of one hatch, the first two of them sisters. The sister of the best is thought better
    than a stranger who laid as much; their parents were never scored:

    >>> from matchmaker.genetics.kin.ancestry import ancestry_of_parents
    >>> from matchmaker.genetics.traits.kindred import kindred_of
    >>> from matchmaker.genetics.traits.records import Heredity, Records
    >>> flock = ancestry_of_parents([-1, -1, 0, 0, -1, -1], [-1, -1, 1, 1, -1, -1])
    >>> eggs = Records.of_one_group("eggs", [2, 3, 4, 5], [58.0, 50.0, 50.0, 48.0])
    >>> found = predict(kindred_of(flock), eggs, Heredity(h2=0.25, repeatability=0.25))
    >>> found.levels.round(2).tolist()
    [51.35]
    >>> found.values.round(2).tolist()
    [0.59, 0.59, 1.45, 0.31, -0.34, -0.84]
    >>> found.reliability.round(2).tolist()
    [0.06, 0.06, 0.17, 0.17, 0.18, 0.18]
    """
    if kindred.unknowns > LARGE:
        # here, because few flocks are large and sparse matrices take long to import
        from matchmaker.genetics.traits.large import predict_large

        return predict_large(kindred, records, heredity)
    return _solve(kindred, records, heredity, variance=None)


def reliabilities(errors: Matrix, own: Matrix, genetic_variance: float) -> Matrix:
    """Reliability of predictions: 1 − error variance / variance of breeding values.

    Examples
    --------
    >>> reliabilities(np.array([15.0, 20.0]), np.array([1.0, 1.25]), 20.0).round(3).tolist()
    [0.25, 0.2]
    >>> reliabilities(np.array([0.0]), np.array([1.0]), 0.0).tolist()
    [0.0]
    """
    if genetic_variance == 0:
        return np.zeros(len(own))
    return np.clip(1 - errors / (own * genetic_variance), 0.0, 1.0)


def _solve(
    kindred: Kindred, records: Records, heredity: Heredity, *, variance: float | None
) -> Prediction:
    """Solve the equations dense; ``variance`` is that of single scores, estimated if not given."""
    around, columns = surroundings(records, heredity), design(records)
    found = solution(_given_errors(kindred, around, heredity), around, columns, records.values)
    if variance is None:
        squares = float(found.deviations @ found.rest)
        variance = variance_of_scores(records.values, squares, columns.shape[1])
    birds, groups = np.arange(len(kindred.birds)), records.group_count
    genetic = heredity.h2 * variance
    return Prediction(
        trait=records.trait,
        heredity=heredity,
        phenotypic_sd=variance**0.5,
        values=found.values if genetic else np.zeros(len(birds)),
        reliability=reliabilities(variance * found.errors_each(birds, birds), kindred.own, genetic),
        levels=found.effects[:groups],
        slopes=found.effects[groups:],
        slope_errors=np.sqrt(variance * found.fixed.diagonal()[groups:]),
        deviations=found.deviations,
        solved=Dense(
            variance=variance,
            solution=found,
            birds=records.birds,
            pulls=around.pull[around.place],
        ),
    )


def _given_errors(kindred: Kindred, around: Surroundings, heredity: Heredity) -> Matrix:
    """Errors of breeding values if levels were known: (ZᵀR⁻¹Z + A⁻¹/h²)⁻¹ for all birds."""
    size = len(kindred.birds)
    if heredity.h2 == 0:
        return np.zeros((size, size))
    equations = kindred.dense_inverse()
    equations /= heredity.h2
    at = kindred.birds[around.scored]
    equations[at, at] += around.counts * around.pull
    inverse = inverse_of_positive(equations)
    if kindred.unknowns == size:
        return inverse
    return np.asarray(inverse[np.ix_(kindred.birds, kindred.birds)])
