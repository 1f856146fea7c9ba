"""Index weights, accuracies and responses against simulation and against plain cases."""

from __future__ import annotations

import numpy as np
import pytest

from matchmaker.genetics.traits.hazel import (
    Recorded,
    correlated_prediction,
    expected_response,
    index_accuracy,
    index_weights,
)

GENETIC = np.array([[4.0, -1.0, 0.5], [-1.0, 2.0, 0.0], [0.5, 0.0, 1.0]])
ENVIRONMENT = np.diag([6.0, 3.0, 4.0])
PHENOTYPIC = GENETIC + ENVIRONMENT
WORTH = np.array([1.0, 2.0, -0.5])


def test_no_other_weights_follow_the_aim_more_closely() -> None:
    best = index_weights(PHENOTYPIC, GENETIC, WORTH)
    top = index_accuracy(best, PHENOTYPIC, GENETIC, WORTH)
    random = np.random.default_rng(4)
    others = [
        index_accuracy(best + step, PHENOTYPIC, GENETIC, WORTH)
        for step in random.normal(0, 0.2, (200, 3))
    ]
    assert max(others) < top


def test_the_best_index_has_accuracy_of_its_own_spread() -> None:
    best = index_weights(PHENOTYPIC, GENETIC, WORTH)
    spread = np.sqrt((best @ PHENOTYPIC @ best) / (WORTH @ GENETIC @ WORTH))
    assert index_accuracy(best, PHENOTYPIC, GENETIC, WORTH) == pytest.approx(spread)


def test_a_record_that_repeats_another_is_refused() -> None:
    with pytest.raises(np.linalg.LinAlgError):
        index_weights([[1.0, 1.0], [1.0, 1.0]], [[0.3], [0.3]], [1.0])


def test_an_index_that_does_not_vary_has_no_accuracy() -> None:
    assert index_accuracy([0.0], [[1.0]], [[0.3]], [1.0]) == 0.0


def test_a_trait_that_does_not_vary_predicts_nothing() -> None:
    with pytest.raises(ValueError, match="must vary"):
        correlated_prediction(1.0, Recorded(0.3, 0.0), Recorded(0.3, 1.0), 0.5)


def test_an_opposed_trait_is_predicted_below_its_mean() -> None:
    found = correlated_prediction(2.0, Recorded(0.36, 1.0), Recorded(0.25, 3.0), -0.5)
    assert found.slope == pytest.approx(-0.45)
    assert (found.value, found.accuracy) == pytest.approx((-0.9, 0.3))


def test_the_response_is_that_of_simulated_selection() -> None:
    """Of 400,000 birds with one record a trait the upper half by index is kept.

    Its intensity is √(2/π); the bound is five standard errors of a mean of 200,000 birds.
    """
    random = np.random.default_rng(7)
    birds = 400_000
    genes = random.multivariate_normal(np.zeros(3), GENETIC, birds)
    records = genes + random.multivariate_normal(np.zeros(3), ENVIRONMENT, birds)
    predictions = records @ np.linalg.solve(PHENOTYPIC, GENETIC)
    merit = predictions @ WORTH
    kept = genes[merit > np.median(merit)].mean(axis=0)
    predicted = GENETIC @ np.linalg.solve(PHENOTYPIC, GENETIC)
    expected = expected_response(WORTH, predicted).sum(axis=1) * np.sqrt(2 / np.pi)
    errors = np.sqrt(np.diag(GENETIC) / (birds / 2))
    assert (np.abs(kept - expected) < 5 * errors).all()


def test_parts_of_a_response_sum_up_to_the_spread_of_merit() -> None:
    found = expected_response(WORTH, GENETIC)
    assert WORTH @ found.sum(axis=1) == pytest.approx(np.sqrt(WORTH @ GENETIC @ WORTH))


def test_without_weights_nothing_moves() -> None:
    assert not expected_response(np.zeros(3), GENETIC).any()
