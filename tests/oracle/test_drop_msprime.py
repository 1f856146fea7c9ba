"""The gene drop beside msprime 1.4, which sends genomes with crossovers up the same pedigree.

Two genomes are identical by descent where they come from the same genome of the same founder.
Compared for each pair of the last season: mean and mean square, over the replicates, of the part
that is alike; the square tells whether neighbouring places hang together as they should.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import msprime
import numpy as np

from matchmaker.genetics.drop.fixed import drop_pedigree
from matchmaker.genetics.drop.grid import Grid
from matchmaker.genetics.drop.reading import kinship
from tests.kinship_helpers import simulated_flock

if TYPE_CHECKING:
    from numpy.typing import NDArray

REPLICATES = 300
MORGANS, SITES = 1.5, 3000
FLOCK = simulated_flock(60, seasons=4, hens_per_cock=3, seed=6)
LAST = np.flatnonzero(FLOCK.season_of == FLOCK.season_of.max())


def builder() -> msprime.PedigreeBuilder:
    """Return the flock in msprime's words."""
    seasons = int(FLOCK.season_of.max())
    made = msprime.PedigreeBuilder()
    for sire, dam, season in zip(FLOCK.sires, FLOCK.dams, FLOCK.season_of, strict=True):
        parents = None if sire < 0 else [int(sire), int(dam)]
        made.add_individual(
            time=float(seasons - season), parents=parents, is_sample=season == seasons
        )
    return made


def alike(trees: Any) -> NDArray[np.float64]:
    """Part of the genome that is identical by descent, meaned over the strands of each pair."""
    total = np.zeros((len(LAST), len(LAST)))
    for tree in trees.trees():
        root_of = {sample: root for root in tree.roots for sample in tree.samples(root)}
        roots = np.array([root_of[sample] for sample in trees.samples()]).reshape(-1, 2)
        total += tree.span * (roots[:, None, :, None] == roots[None, :, None, :]).mean(axis=(2, 3))
    return total / SITES


def test_pairs_of_the_last_season_are_as_alike() -> None:
    replicates = msprime.sim_ancestry(
        initial_state=builder().finalise(SITES),
        model="fixed_pedigree",
        recombination_rate=MORGANS / SITES,
        num_replicates=REPLICATES,
        random_seed=7,
    )
    theirs = np.stack([alike(trees) for trees in replicates])
    grid = Grid.of({"1": 100 * MORGANS}, spacing=2.5)
    bits = drop_pedigree(grid, FLOCK.sires, FLOCK.dams, 4 * REPLICATES, np.random.default_rng(7))
    last = bits[:, LAST]
    ours = kinship(grid, last[:, :, None], last[:, None])
    for power in (1, 2):
        one, other = ours**power, theirs**power
        error = np.sqrt(one.var(axis=0) / len(one) + other.var(axis=0) / len(other))
        assert (np.abs(one.mean(axis=0) - other.mean(axis=0)) <= 5 * error + 1e-12).all()
    mean = theirs.mean(axis=0)
    assert mean[~np.eye(len(LAST), dtype=bool)].max() > 0.2
