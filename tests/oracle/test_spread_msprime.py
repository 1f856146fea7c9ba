"""The spread of shares against msprime 1.3, which sends genomes with crossovers up a pedigree."""

from __future__ import annotations

import msprime
import numpy as np

from matchmaker.genetics.shares.genome_map import GenomeMap
from matchmaker.genetics.shares.spread import share_ranges
from tests.descent_helpers import pedigree as flock

REPLICATES = 2000
SITES = 10_000
LENGTH = 1.5
"""Morgans; msprime's gene conversion is off and its crossovers fall as Haldane's."""

LOOPY = flock(
    "R cock recurrent recurrent",
    "D hen donor donor",
    "F cock R D",
    "G hen R D",
    "I cock F G",
    "J hen R G",
    "K hen I J",
)
GENERATIONS = [3, 3, 2, 2, 1, 1, 0]
"""Seasons before the last chick, by bird."""


def builder() -> msprime.PedigreeBuilder:
    """Return LOOPY in msprime's words."""
    made = msprime.PedigreeBuilder()
    first = LOOPY.first_bird
    for at, age in enumerate(GENERATIONS):
        parents = [links[0][0] - first for links in (LOOPY.sires[at], LOOPY.dams[at])]
        if parents[0] < 0:
            made.add_individual(time=age)
        else:
            made.add_individual(time=age, parents=parents, is_sample=age == 0)
    # A stranger sampled too: pieces that met below their founder are then followed up to it.
    made.add_individual(time=0, is_sample=True)
    return made


def donor_shares() -> list[float]:
    """Share of the donor hen's genomes in the last chick, one replicate after the other."""
    donor, last = LOOPY.birds.index("D"), LOOPY.birds.index("K")
    replicates = msprime.sim_ancestry(
        initial_state=builder().finalise(SITES),
        model="fixed_pedigree",
        recombination_rate=LENGTH / SITES,
        num_replicates=REPLICATES,
        random_seed=5,
    )
    found = []
    for trees in replicates:
        total = 0.0
        for tree in trees.trees():
            for sample in trees.individual(last).nodes:
                root = sample
                while tree.parent(root) >= 0:
                    root = tree.parent(root)
                total += tree.span * (trees.node(root).individual == donor)
        found.append(total / (2 * SITES))
    return found


def test_spread_of_a_loopy_pedigree() -> None:
    sample = np.array(donor_shares())
    genome = GenomeMap(lengths={"1": 100 * LENGTH})
    expected = share_ranges(LOOPY, "donor", ["K"], genome)["K"]
    assert abs(sample.mean() - expected.share) <= 5 * sample.std() / REPLICATES**0.5
    squares = (sample - sample.mean()) ** 2
    error = squares.std() / REPLICATES**0.5
    assert abs(squares.mean() - expected.deviation**2) <= 5 * error
    assert 5 * error < 0.2 * expected.deviation**2
