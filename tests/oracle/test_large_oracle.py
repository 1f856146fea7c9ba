"""Predictions by sparse steps against the animal model with every covariance as a matrix."""

from __future__ import annotations

import numpy as np
import pytest

from matchmaker.genetics.kin.ancestry import ancestry_of
from matchmaker.genetics.kin.kinship import kinship_of
from matchmaker.genetics.traits.kindred import kindred_of
from matchmaker.genetics.traits.large import Large, predict_large
from matchmaker.genetics.traits.records import Heredity
from tests.kinship_helpers import simulated_flock
from tests.oracle.animal_model import (
    Matrix,
    random_records,
    relationship,
    tangled_pedigree,
    written_out,
)

HEREDITIES = (
    Heredity(h2=0.3, repeatability=0.5),
    Heredity(h2=0.25, repeatability=0.25),
    Heredity(h2=0.05, repeatability=0.9),
    Heredity(h2=0.8, repeatability=0.85),
)


@pytest.mark.parametrize("seed", range(15))
@pytest.mark.parametrize("heredity", HEREDITIES, ids=str)
def test_predictions_and_their_errors(seed: int, heredity: Heredity) -> None:
    pedigree = tangled_pedigree(seed)
    records = random_records(seed, len(pedigree.birds), covariates=seed % 3)
    expected = written_out(relationship(pedigree), records, heredity)
    found = predict_large(kindred_of(ancestry_of(pedigree)), records, heredity)
    assert found.phenotypic_sd == pytest.approx(expected.phenotypic_sd, abs=1e-8)
    groups = records.group_count
    for ours, theirs in (
        (found.levels, expected.effects[:groups]),
        (found.slopes, expected.effects[groups:]),
        (found.slope_errors, expected.effect_errors[groups:]),
        (found.values, expected.values),
        (found.reliability, expected.reliability),
        (found.deviations, expected.deviations),
        (found.solved.errors(np.arange(len(pedigree.birds))), expected.errors),
    ):
        np.testing.assert_allclose(ours, theirs, atol=1e-8)


@pytest.mark.parametrize("seed", range(6))
def test_weights_times_deviations_are_the_prediction(seed: int) -> None:
    pedigree = tangled_pedigree(seed)
    records = random_records(seed, len(pedigree.birds))
    found = predict_large(kindred_of(ancestry_of(pedigree)), records, HEREDITIES[0])
    again = [found.solved.weights(bird) @ found.deviations for bird in range(len(pedigree.birds))]
    np.testing.assert_allclose(again, found.values, atol=1e-9)


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("heredity", HEREDITIES, ids=str)
def test_how_scores_foretell_each_other(seed: int, heredity: Heredity) -> None:
    pedigree = tangled_pedigree(seed)
    records = random_records(seed, len(pedigree.birds))
    expected = written_out(relationship(pedigree), records, heredity).projection
    solved = predict_large(kindred_of(ancestry_of(pedigree)), records, heredity).solved
    assert isinstance(solved, Large)
    np.testing.assert_allclose(solved.precisions(), expected.diagonal(), atol=1e-10)
    for record, row in enumerate(expected):
        np.testing.assert_allclose(solved.projected(record), row, atol=1e-10)


@pytest.mark.parametrize("seed", range(3))
def test_a_flock_of_many_seasons(seed: int) -> None:
    """Enough breeders for blocks of several columns with rows below them."""
    flock = simulated_flock(700, seed=seed)
    ancestry = flock.ancestry
    records = random_records(seed, 700)
    related: Matrix = 2 * kinship_of(ancestry, ancestry.birds)
    expected = written_out(related, records, HEREDITIES[0])
    found = predict_large(kindred_of(ancestry), records, HEREDITIES[0])
    np.testing.assert_allclose(found.values, expected.values, atol=1e-8)
    np.testing.assert_allclose(found.reliability, expected.reliability, atol=1e-8)
    assert found.phenotypic_sd == pytest.approx(expected.phenotypic_sd, abs=1e-8)
