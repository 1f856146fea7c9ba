"""The selection index: several records weighed into one figure, and what selecting on it brings.

Merit needs ``expected_response`` alone, since the animal model weighs the records; the weights of
an index are here to be held against published ones.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from matchmaker.genetics.kin.ancestry import Matrix


class CorrelatedPrediction(NamedTuple):
    """What a record of one trait says of another.

    ``slope`` is in units of the wanted trait per unit of the recorded one, ``value`` the predicted
    breeding value in units of the wanted trait, ``accuracy`` its correlation with the true one.
    """

    slope: float
    value: float
    accuracy: float


class Recorded(NamedTuple):
    """Of one trait: its heritability, and the standard deviation of single records."""

    h2: float
    phenotypic_sd: float


def index_weights(phenotypic: ArrayLike, genetic: ArrayLike, wanted: ArrayLike) -> Matrix:
    """What each record counts in the index that follows the wanted sum of traits most closely.

    ``phenotypic`` (shape (records, records)) are the (co)variances of the records, ``genetic``
    (shape (records, traits)) those of records with breeding values, ``wanted`` (shape (traits,))
    the worth of one unit of each trait. The result has shape (records,).

    Notes
    -----
    b = P⁻¹ G w (Smith 1936, Ann Eugen 7:240; Hazel 1943, Genetics 28:476; both from memory).

    Raises
    ------
    numpy.linalg.LinAlgError
        If one record tells just what others tell together.

    Examples
    --------
    Two records of the same trait, h² = 0.25 and repeatability 0.5, count alike:

    >>> index_weights([[1.0, 0.5], [0.5, 1.0]], [[0.25], [0.25]], [1.0]).round(4)
    array([0.1667, 0.1667])
    """
    worth = np.asarray(genetic, dtype=np.float64) @ np.asarray(wanted, dtype=np.float64)
    return np.linalg.solve(np.asarray(phenotypic, dtype=np.float64), worth)


def index_accuracy(
    weights: ArrayLike,
    phenotypic: ArrayLike,
    genetic: ArrayLike,
    wanted: ArrayLike,
    breeding: ArrayLike | None = None,
) -> float:
    """Correlation of an index, the best or any other, with the wanted sum of breeding values.

    ``breeding`` (shape (traits, traits)) are the (co)variances of the breeding values, ``genetic``
    unless given, which holds where each trait has one record of the bird itself. 0 if the index or
    what is wanted does not vary.

    Examples
    --------
    One record of the bird itself has the accuracy √h²:

    >>> index_accuracy([0.25], [[1.0]], [[0.25]], [1.0])
    0.5
    """
    b, w = (np.asarray(part, dtype=np.float64) for part in (weights, wanted))
    covariance = b @ np.asarray(genetic, dtype=np.float64) @ w
    aim = np.asarray(genetic if breeding is None else breeding, dtype=np.float64)
    variances = (b @ np.asarray(phenotypic, dtype=np.float64) @ b) * (w @ aim @ w)
    return float(covariance / np.sqrt(variances)) if variances > 0 else 0.0


def correlated_prediction(
    deviation: float, recorded: Recorded, wanted: Recorded, genetic_correlation: float
) -> CorrelatedPrediction:
    """Breeding value of one trait from a bird's record of another, ``deviation`` from the mean.

    Notes
    -----
    The slope is r_g h₁ h₂ σ₂ / σ₁, the accuracy |r_g| h₁ (Falconer & Mackay 1996, ch. 19, from
    memory).

    Raises
    ------
    ValueError
        If the recorded trait does not vary.

    Examples
    --------
    >>> heavier = Recorded(h2=0.5, phenotypic_sd=200.0)
    >>> egg = Recorded(h2=0.5, phenotypic_sd=4.0)
    >>> found = correlated_prediction(100.0, heavier, egg, 0.4)
    >>> round(found.value, 3), round(found.accuracy, 3)
    (0.4, 0.283)
    """
    if recorded.phenotypic_sd <= 0:
        raise ValueError("the recorded trait must vary: its standard deviation is not above 0")
    ratio = wanted.phenotypic_sd / recorded.phenotypic_sd
    slope = genetic_correlation * float(np.sqrt(recorded.h2 * wanted.h2)) * ratio
    accuracy = abs(genetic_correlation) * float(np.sqrt(recorded.h2))
    return CorrelatedPrediction(slope=slope, value=slope * deviation, accuracy=accuracy)


def expected_response(weights: ArrayLike, predicted: ArrayLike) -> Matrix:
    """How far each trait moves where birds one standard deviation of merit better are kept.

    ``weights`` (shape (traits,)) is what one unit of each trait counts in the merit, ``predicted``
    (shape (traits, traits)) the (co)variances of the predictions: those of breeding values less
    those of the prediction errors. Entry [t, s] of the result is the response of trait t, in its
    unit, that comes of weighing trait s: the diagonal is direct response, the rest correlated, and
    a row sums to the trait's whole response per unit of selection intensity. All zero where the
    merit does not vary.

    Notes
    -----
    Predictions û of an animal model are such that Cov(u, û) = Var(û), so selection on w'û changes
    the mean of u by i Var(û) w / √(w' Var(û) w) (Hazel 1943; Henderson 1975, Biometrics 31:423;
    both from memory).

    Examples
    --------
    More eggs are wanted, egg weight counts nothing; the two are opposed:

    >>> expected_response([1.0, 0.0], [[4.0, -1.0], [-1.0, 1.0]])
    array([[ 2. , -0. ],
           [-0.5,  0. ]])
    """
    w, known = (np.asarray(part, dtype=np.float64) for part in (weights, predicted))
    variance = float(w @ known @ w)
    if variance <= 0:
        return np.zeros_like(known)
    response: Matrix = known * w / np.sqrt(variance)
    return response
