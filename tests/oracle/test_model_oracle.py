"""Predictions against the animal model written out with every covariance as a matrix."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from matchmaker.genetics.kin.ancestry import ancestry_of
from matchmaker.genetics.traits.kindred import kindred_of
from matchmaker.genetics.traits.large import predict_large
from matchmaker.genetics.traits.model import predict
from tests.oracle.animal_model import (
    HEREDITIES,
    random_records,
    relationship,
    spread_of,
    tangled_pedigree,
    written_out,
)

if TYPE_CHECKING:
    from collections.abc import Callable

    from matchmaker.genetics.traits.kindred import Kindred
    from matchmaker.genetics.traits.prediction import Prediction
    from matchmaker.genetics.traits.records import Heredity, Records

    Solver = Callable[[Kindred, Records, Heredity], Prediction]

SOLVERS = pytest.mark.parametrize("solve", [predict, predict_large])
"""Dense and sparse."""


@SOLVERS
@pytest.mark.parametrize("seed", range(15))
@pytest.mark.parametrize("heredity", HEREDITIES, ids=str)
def test_predictions_and_their_errors(seed: int, heredity: Heredity, solve: Solver) -> None:
    pedigree = tangled_pedigree(seed)
    records = random_records(seed, len(pedigree.birds), covariates=seed % 3)
    expected = written_out(relationship(pedigree), records, heredity)
    found = solve(kindred_of(ancestry_of(pedigree)), records, heredity)
    assert found.phenotypic_sd == pytest.approx(expected.phenotypic_sd, abs=1e-8)
    effects = np.concatenate((found.levels, found.slopes))
    np.testing.assert_allclose(effects, expected.effects, atol=1e-8)
    np.testing.assert_allclose(
        found.slope_errors, expected.effect_errors[records.group_count :], atol=1e-8
    )
    np.testing.assert_allclose(found.values, expected.values, atol=1e-8)
    np.testing.assert_allclose(found.reliability, expected.reliability, atol=1e-8)
    np.testing.assert_allclose(found.deviations, expected.deviations, atol=1e-8)
    np.testing.assert_allclose(
        found.solved.errors(np.arange(len(pedigree.birds))), expected.errors, atol=1e-8
    )


@SOLVERS
@pytest.mark.parametrize("seed", range(6))
def test_weights_times_deviations_are_the_prediction(seed: int, solve: Solver) -> None:
    pedigree = tangled_pedigree(seed)
    records = random_records(seed, len(pedigree.birds))
    found = solve(kindred_of(ancestry_of(pedigree)), records, HEREDITIES[0])
    again = [found.solved.weights(bird) @ found.deviations for bird in range(len(pedigree.birds))]
    np.testing.assert_allclose(again, found.values, atol=1e-9)


@SOLVERS
@pytest.mark.parametrize("seed", range(6))
def test_errors_of_sums_with_slopes(seed: int, solve: Solver) -> None:
    """What predictions and slopes have in common counts too."""
    pedigree = tangled_pedigree(seed)
    records = random_records(seed, len(pedigree.birds), covariates=seed % 3)
    expected = written_out(relationship(pedigree), records, HEREDITIES[0])
    solved = solve(kindred_of(ancestry_of(pedigree)), records, HEREDITIES[0]).solved
    rng = np.random.default_rng(seed)
    birds = rng.permutation(len(pedigree.birds))[:7]
    given, slopes = rng.normal(size=7), rng.normal(size=seed % 3)
    found = solved.spread(birds, given, slopes)
    assert found == pytest.approx(spread_of(expected, birds, given, slopes), rel=1e-9)
