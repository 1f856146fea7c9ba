"""Kinship beside genes dropped through the pedigree by a general simulator (msprime, run here).

At one locus without recombination two genomes are identical by descent within the pedigree if
they come from the same genome of the same founder. Bound: five standard errors of the mean
over the replicates.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import msprime
import numpy as np
import pytest

from matchmaker.genetics.kin.kinship import kinship_of
from tests.kinship_helpers import Flock, simulated_flock

if TYPE_CHECKING:
    from numpy.typing import NDArray

REPLICATES = 1500


def founder_genomes(flock: Flock, seed: int) -> NDArray[np.int64]:
    """Founder genome of each bird's two, shape (replicates, birds, 2)."""
    seasons = int(flock.season_of.max())
    builder = msprime.PedigreeBuilder()
    for sire, dam, season in zip(flock.sires, flock.dams, flock.season_of, strict=True):
        parents = None if sire < 0 else [int(sire), int(dam)]
        builder.add_individual(
            time=float(seasons - season), parents=parents, is_sample=season == seasons
        )
    replicates = msprime.sim_ancestry(
        initial_state=builder.finalise(1.0),
        model="fixed_pedigree",
        recombination_rate=0,
        num_replicates=REPLICATES,
        random_seed=seed,
    )
    return np.stack([_roots(tree_sequence) for tree_sequence in replicates])


def _roots(tree_sequence: Any) -> NDArray[np.int64]:
    """Oldest genome that each sampled genome comes from; a bird's two stand side by side."""
    tree = tree_sequence.first()
    oldest = {sample: root for root in tree.roots for sample in tree.samples(root)}
    return np.array([oldest[sample] for sample in tree_sequence.samples()]).reshape(-1, 2)


@pytest.mark.parametrize("seed", [1, 2])
def test_kinship_of_the_last_season(seed: int) -> None:
    flock = simulated_flock(200, seasons=8, hens_per_cock=3, seed=seed)
    birds = np.flatnonzero(flock.season_of == flock.season_of.max())
    genomes = founder_genomes(flock, seed)
    alike = (genomes[:, :, None, :, None] == genomes[:, None, :, None, :]).mean(axis=(3, 4))
    mean, error = alike.mean(axis=0), alike.std(axis=0) / np.sqrt(REPLICATES)
    kinship = kinship_of(flock.ancestry, birds + 1)
    assert (np.abs(mean - kinship) <= 5 * error + 1e-12).all()
    assert kinship.max() > 0.55
    assert len(birds) == 25
