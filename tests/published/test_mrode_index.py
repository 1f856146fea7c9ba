"""Mrode 2014, Linear Models for the Prediction of Animal Breeding Values, 3rd ed., CABI.

Index of two traits (sec. 1.7.3-4, p. 18) and prediction from a correlated trait (example 1.5, p.
11). Read: the matrices, index weights and the prediction with its accuracy. The accuracies of the
index and the parameters behind its matrices are own arithmetic.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from matchmaker.genetics.kin.ancestry import ancestry_of_parents
from matchmaker.genetics.traits.hazel import (
    Recorded,
    correlated_prediction,
    index_accuracy,
    index_weights,
)
from matchmaker.genetics.traits.kindred import kindred_of
from matchmaker.genetics.traits.records import Heredity, Records
from matchmaker.genetics.traits.together import predict_together

if TYPE_CHECKING:
    from matchmaker.genetics.kin.ancestry import Matrix

PHENOTYPIC = np.array([[6400.0, -57.6], [-57.6, 51.84]])
GENETIC = np.array([[2752.0, 62.064], [62.064, 15.552]])
WORTH = np.array([1.5, 0.5])
FIRST, SECOND = np.eye(2)
INDEX = (0.674, 2.695)
"""Weights of the two records, p. 18."""
SUB_INDICES = ((FIRST, (0.445, 1.692), (5e-4, 5e-4)), (SECOND, (0.0125, 0.314), (5e-5, 5e-4)))
"""For each trait alone: the weights, and how far they are printed."""
ACCURACIES = ((FIRST, 0.6953), (WORTH, 0.6993))

WEIGHED, WANTED, TIED = Recorded(0.43, 80.0), Recorded(0.45, 32.0), 0.95
DEVIATION = 945 - 887
PREDICTED = {"slope": 0.167, "value": 9.686, "accuracy": 0.623}
"""Of example 1.5, p. 11, which rounds the slope before it multiplies."""


def test_the_index_of_two_traits_p_18() -> None:
    """The page prints .674 and 2.695 (and 2.694 elsewhere)."""
    assert index_weights(PHENOTYPIC, GENETIC, WORTH) == pytest.approx(INDEX, abs=6e-4)


@pytest.mark.parametrize(("wanted", "weights", "tolerance"), SUB_INDICES)
def test_the_index_of_one_trait_alone_p_18(
    wanted: Matrix, weights: tuple[float, ...], tolerance: tuple[float, ...]
) -> None:
    found = index_weights(PHENOTYPIC, GENETIC, wanted)
    assert (np.abs(found - weights) <= tolerance).all()


def test_the_indices_of_single_traits_add_up_to_that_of_their_sum() -> None:
    parts = [index_weights(PHENOTYPIC, GENETIC, wanted) for wanted in (FIRST, SECOND)]
    whole = WORTH[0] * parts[0] + WORTH[1] * parts[1]
    assert whole == pytest.approx(index_weights(PHENOTYPIC, GENETIC, WORTH), rel=1e-12)


@pytest.mark.parametrize(("wanted", "accuracy"), ACCURACIES)
def test_accuracies_by_own_arithmetic(wanted: Matrix, accuracy: float) -> None:
    weights = index_weights(PHENOTYPIC, GENETIC, wanted)
    assert index_accuracy(weights, PHENOTYPIC, GENETIC, wanted) == pytest.approx(accuracy, abs=5e-5)


def test_the_parameters_behind_the_matrices() -> None:
    """h² .43 and .30, phenotypic correlation −.10, genetic .30."""
    assert np.diag(GENETIC) / np.diag(PHENOTYPIC) == pytest.approx([0.43, 0.30])
    for matrix, correlation in ((PHENOTYPIC, -0.10), (GENETIC, 0.30)):
        found = matrix[0, 1] / np.sqrt(matrix[0, 0] * matrix[1, 1])
        assert found == pytest.approx(correlation, abs=5e-4)


def test_prediction_from_a_correlated_trait_p_11() -> None:
    """A record of 945 against a mean of 887."""
    found = correlated_prediction(DEVIATION, WEIGHED, WANTED, TIED)
    assert found.slope == pytest.approx(PREDICTED["slope"], abs=5e-4)
    assert found.value == pytest.approx(PREDICTED["value"], abs=0.01)
    assert found.accuracy == pytest.approx(PREDICTED["accuracy"], abs=5e-4)


def test_the_same_prediction_by_the_animal_model() -> None:
    """One bird of a hundred unrelated ones, scored in the first trait alone, 58 above its mean.

    The others' scores are made up so that the standard deviations are 80 and 32 and levels 887.
    """
    size = 100
    away = np.concatenate(([58.0, -58.0], np.repeat([1.0, -1.0], size // 2 - 1)))
    rest = (size - 1) * 80.0**2 - 2 * 58.0**2
    away[2:] *= np.sqrt(rest / (size - 2))
    other = np.repeat([1.0, -1.0], size // 2) * 32 * np.sqrt((size - 1) / size)
    flock = kindred_of(ancestry_of_parents([-1] * 2 * size, [-1] * 2 * size))
    scored = [
        Records(
            trait=trait,
            birds=np.arange(size) + first,
            values=np.asarray(887 + values, dtype=np.float64),
            groups=np.zeros(size, dtype=np.int64),
            covariates=np.empty((size, 0)),
        )
        for trait, first, values in (("first", 0, away), ("second", size, other))
    ]
    heredities = [Heredity(h2=h2, repeatability=h2) for h2 in (0.43, 0.45)]
    tied = np.array([[1.0, 0.95], [0.95, 1.0]])
    (first, second), _ = predict_together(flock, scored, heredities, tied)
    assert (first.phenotypic_sd, second.phenotypic_sd) == pytest.approx((80.0, 32.0))
    assert second.values[0] == pytest.approx(PREDICTED["value"], abs=0.01)
    # a mean that is estimated from a hundred scores costs a little of the accuracy
    assert second.reliability[0] ** 0.5 == pytest.approx(PREDICTED["accuracy"], abs=0.004)


def test_the_same_prediction_by_the_index() -> None:
    covariance = 0.95 * np.sqrt(0.43 * 0.45) * 80 * 32
    (slope,) = index_weights([[80.0**2]], [[covariance]], [1.0])
    found = correlated_prediction(DEVIATION, WEIGHED, WANTED, TIED)
    assert slope == pytest.approx(found.slope, rel=1e-12)
    breeding = [[0.45 * 32.0**2]]
    accuracy = index_accuracy([slope], [[80.0**2]], [[covariance]], [1.0], breeding)
    assert accuracy == pytest.approx(found.accuracy, rel=1e-12)
