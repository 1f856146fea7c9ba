"""Traits of a large flock combined bird by bird, where solving them in one is out of reach."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from matchmaker.genetics.traits.model import reliabilities

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.genetics.kin.ancestry import Matrix, Nodes
    from matchmaker.genetics.traits.prediction import Prediction, Solved

SURE: Final = 1 - 1e-9
"""A reliability above this is taken as this: an error variance has to be left."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Combined:
    """One trait of several that were combined bird by bird: an approximation.

    ``alone`` is the trait solved by itself, ``kept`` (shape (birds,)) what is left of that
    prediction, ``added`` (shape (birds,)) what the other traits add. ``narrowed`` (shape (birds,))
    is the SD of the error as a part of what it was alone; correlations between errors are those
    of the trait alone.
    """

    alone: Solved
    kept: Matrix
    added: Matrix
    narrowed: Matrix

    def errors(self, birds: Nodes) -> Matrix:
        """(Co)variances of prediction errors of some birds, in squared units, shape (m, m)."""
        factors = self.narrowed[birds]
        return np.asarray(factors[:, None] * self.alone.errors(birds) * factors)

    def spread(self, birds: Nodes, given: Matrix, slopes: Matrix) -> float:
        """Variance of the error of a sum of predictions and slopes, in squared units."""
        return self.alone.spread(birds, given * self.narrowed[birds], slopes)

    def weights(self, bird: int) -> Matrix:
        """What each score of the trait adds per unit of its deviation, shape (records,)."""
        return np.asarray(self.kept[bird] * self.alone.weights(bird))

    def other_traits(self, bird: int) -> float:
        """What the other traits add to a bird's prediction, in the trait's unit."""
        return float(self.added[bird])


def combine(
    own: Matrix, part: Sequence[Prediction], genetic: Matrix
) -> tuple[list[Prediction], Matrix]:
    """Combine predictions of linked traits bird by bird by a selection index.

    Each prediction counts as one record of the bird's breeding value, with error variance
    σ²ᵤ (1 − r²) / r² (Hazel 1943, Genetics 28:476, from memory). ``own`` (shape (birds,)) is the
    variance of birds' breeding values in genetic units, ``genetic`` (shape (traits, traits)) that
    of traits in units of the SDs of single scores. Returns the predictions and (co)variances of
    their errors, shape (birds, traits, traits).

    Examples
    --------
    Eggs of which nothing is known follow the weight they are correlated with:

    >>> from matchmaker.genetics.kin.ancestry import ancestry_of_parents
    >>> from matchmaker.genetics.traits.kindred import kindred_of
    >>> from matchmaker.genetics.traits.model import predict
    >>> from matchmaker.genetics.traits.records import Heredity, Records
    >>> flock = kindred_of(ancestry_of_parents([-1] * 4, [-1] * 4))
    >>> def alone(trait, birds):
    ...     records = Records.of_one_group(trait, birds, [50.0, 54.0])
    ...     return predict(flock, records, Heredity(h2=0.5, repeatability=0.5))
    >>> part = [alone("eggs", [0, 1]), alone("weight", [2, 3])]
    >>> found, _ = combine(flock.own, part, np.array([[0.5, 0.25], [0.25, 0.5]]))
    >>> part[0].values.round(2).tolist(), found[0].values.round(2).tolist()
    ([-1.0, 1.0, 0.0, 0.0], [-1.0, 1.0, -0.5, 0.5])
    """
    scales = np.array([prediction.phenotypic_sd for prediction in part])
    told = np.minimum(np.array([prediction.reliability for prediction in part]).T, SURE)
    variances = own[:, None] * genetic.diagonal()
    records = 1 / ((1 - told) * variances)  # what a prediction counts: precision / reliability
    precisions = np.linalg.inv(genetic) / own[:, None, None]
    at = np.arange(len(part))
    precisions[:, at, at] += records * told
    errors = np.linalg.inv(precisions)
    shares = errors * records[:, None, :] * (scales[:, None] / scales)
    values = np.array([prediction.values for prediction in part]).T
    combined = np.einsum("bts,bs->bt", shares, values)
    errors *= scales[:, None] * scales
    alone = (1 - told) * variances * scales**2
    return [
        replace(
            one,
            values=combined[:, at],
            reliability=reliabilities(errors[:, at, at], own, one.genetic_sd**2),
            solved=Combined(
                alone=one.solved,
                kept=shares[:, at, at],
                added=combined[:, at] - shares[:, at, at] * one.values,
                narrowed=np.sqrt(errors[:, at, at] / alone[:, at]),
            ),
        )
        for at, one in enumerate(part)
    ], errors
