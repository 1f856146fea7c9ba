"""Predictions by sparse steps against the animal model with every covariance as a matrix."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from matchmaker.genetics.kin.ancestry import ancestry_of
from matchmaker.genetics.kin.kinship import kinship_of
from matchmaker.genetics.traits.kindred import kindred_of
from matchmaker.genetics.traits.large import Large, predict_large
from tests.kinship_helpers import simulated_flock
from tests.oracle.animal_model import (
    HEREDITIES,
    Matrix,
    random_records,
    relationship,
    tangled_pedigree,
    written_out,
)

if TYPE_CHECKING:
    from matchmaker.genetics.traits.records import Heredity


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
