"""Kinship and inbreeding beside a general genetics library (sgkit 0.10, run here)."""

from __future__ import annotations

import warnings
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from matchmaker.genetics.kin.ancestry import ancestry_of_parents
from matchmaker.genetics.kin.kinship import inbreeding_of, kinship_of
from matchmaker.genetics.kin.layers import layers_of
from matchmaker.genetics.kin.sweeps import decomposition_of
from tests.kinship_helpers import simulated_flock

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from matchmaker.genetics.kin.ancestry import Ancestry

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import sgkit
    import xarray


def dataset(sires: NDArray[np.int64], dams: NDArray[np.int64]) -> Any:
    found = xarray.Dataset()
    found["parent"] = (("samples", "parents"), np.stack((sires, dams), axis=1))
    return found


def random_parents(seed: int) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return parents of 200 birds, any two older ones, one or both sometimes unknown."""
    rng = np.random.default_rng(seed)
    older = [max(at, 1) for at in range(200)]
    sides = rng.integers(0, older, (2, 200))
    sides[rng.random((2, 200)) < 0.15] = -1
    sides[:, :6] = -1
    return sides[0], sides[1]


def of_all(ancestry: Ancestry) -> NDArray[np.float64]:
    return kinship_of(ancestry, ancestry.birds)


@pytest.mark.parametrize("seed", range(5))
def test_random_pedigrees_with_half_founders(seed: int) -> None:
    sires, dams = random_parents(seed)
    theirs = sgkit.pedigree_kinship(
        dataset(sires, dams), method="diploid", allow_half_founders=True
    ).stat_pedigree_kinship.values
    ours = of_all(ancestry_of_parents(sires, dams))
    assert_allclose(ours, theirs, atol=1e-12)
    assert np.count_nonzero((sires < 0) != (dams < 0)) > 20


def test_an_overlapping_flock() -> None:
    flock = simulated_flock(1000, seed=4)
    theirs = sgkit.pedigree_kinship(dataset(flock.sires, flock.dams)).stat_pedigree_kinship.values
    assert_allclose(of_all(flock.ancestry), theirs, atol=1e-12)
    inbreeding = 2 * theirs.diagonal() - 1
    assert_allclose(inbreeding_of(flock.ancestry), inbreeding, atol=1e-12)
    assert inbreeding.max() > 0.1


def test_the_inverse_from_the_decomposition() -> None:
    """K⁻¹ = (I − W)ᵀ D⁻¹ (I − W), with founders unrelated."""
    sires, dams = random_parents(9)
    theirs = np.linalg.inv(
        sgkit.pedigree_kinship(
            dataset(sires, dams), allow_half_founders=True
        ).stat_pedigree_kinship.values
    )
    ancestry = ancestry_of_parents(sires, dams)
    layers = layers_of(ancestry, np.ones(ancestry.size, dtype=np.bool_))
    taken_apart = decomposition_of(layers)
    off = np.eye(layers.size) - taken_apart.weights().toarray()
    birds = off[1:, 1:]
    inverse = birds.T @ np.diag(1 / taken_apart.within[1:]) @ birds
    place = layers.place_of[ancestry.birds] - 1
    assert_allclose(inverse[np.ix_(place, place)], theirs, atol=1e-9)
