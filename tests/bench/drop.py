"""Measure the gene drop beside msprime on the same birds: ``python -m tests.bench drop``.

A generation has 10 cocks and 50 hens, the next one's parents drawn from them at random, over the
map of the fowl. Ours keeps every bird's strands at the places of the grid; msprime follows the last
generation's genomes up to the founders, with the exact places of their crossovers, and keeps the
founders' pieces of these birds alone. So the two do not do the same work: what is compared is the
time until all pieces of the last generation are known. The mean inbreeding of that generation is
printed for both with its standard error; reading it off is not timed. Times are those of the
processor, of one process without threads.
"""

from __future__ import annotations

import time
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import msprime
import numpy as np

from matchmaker.genetics.drop.fixed import drop_pedigree
from matchmaker.genetics.drop.grid import Grid
from matchmaker.genetics.drop.reading import inbreeding
from matchmaker.genetics.shares.genome_map import Z, chicken_map
from tests.bench.measuring import DisagreementError, timed
from tests.bench.rows import OF_PROCESSOR, Row, of_birds
from tests.bench.running import Bench, Option

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Iterator

    from matchmaker.genetics.drop.grid import Numbers, Reals

COCKS, HENS = 10, 50
BIRDS = COCKS + HENS
BATCH = 40
"""Replicates dropped in one call: some 20 MB."""

SITES_PER_CM = 100
SCALED_TO: Final = 1_000
"""Replicates that the times shown are of."""

STANDARD_ERRORS: Final = 5
"""How many of them the two means of inbreeding may lie apart."""


def pedigree(generations: int, seed: int) -> tuple[Numbers, Numbers]:
    """Sires and dams of the founders and of the generations after them."""
    rng = np.random.default_rng(seed)
    founders = np.full(BIRDS, -1)
    sires, dams = [founders], [founders]
    for born in range(generations):
        sires.append(born * BIRDS + rng.integers(0, COCKS, BIRDS))
        dams.append(born * BIRDS + COCKS + rng.integers(0, HENS, BIRDS))
    return np.concatenate(sires), np.concatenate(dams)


def rows(chosen: Namespace) -> Iterator[Row]:
    """A row a number of generations: a thousand replicates of both, round by round."""
    grid = Grid.of(chicken_map().lengths, spacing=chosen.spacing)
    for generations in chosen.generations:
        parents = pedigree(generations, 1)
        rounds = [one_round(grid, parents, seed, chosen) for seed in range(1, chosen.rounds + 1)]
        yield Row(
            task=f"{SCALED_TO:,} replicates, places every {chosen.spacing:g} cM",
            size=of_birds(BIRDS * (generations + 1)),
            unit=OF_PROCESSOR,
            ours=tuple(ours.seconds for ours, _ in rounds),
            peer="msprime, fixed pedigree",
            theirs=tuple(theirs.seconds for _, theirs in rounds),
            agreement=alike(
                *(
                    np.concatenate([one.inbred for one in side])
                    for side in zip(*rounds, strict=True)
                )
            ),
            note=f"{generations} generations; the peer's scaled up from {chosen.peer} replicates",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Dropped:
    """Seconds of so many replicates as all are scaled to, and the mean inbreeding in each run."""

    seconds: float
    inbred: Reals


def one_round(
    grid: Grid, parents: tuple[Numbers, Numbers], seed: int, chosen: Namespace
) -> tuple[Dropped, Dropped]:
    """Ours and msprime's."""
    rng = np.random.default_rng(seed)
    drop_pedigree(grid, *parents, 1, rng)  # what it does once is not counted
    return (
        timed_drops(grid, parents, chosen.replicates, rng),
        timed_msprime(grid, parents, chosen.peer, seed),
    )


def alike(ours: Reals, theirs: Reals) -> str:
    """Say both means of inbreeding with their standard errors; an error if they cannot be one."""
    (mean, error), (their_mean, their_error) = (
        (float(one.mean()), float(one.std()) / len(one) ** 0.5) for one in (ours, theirs)
    )
    words = f"mean inbreeding {mean:.4f} ± {error:.4f} and {their_mean:.4f} ± {their_error:.4f}"
    if abs(mean - their_mean) > STANDARD_ERRORS * (error**2 + their_error**2) ** 0.5:
        raise DisagreementError(words)
    return words


def timed_drops(
    grid: Grid, parents: tuple[Numbers, Numbers], replicates: int, rng: np.random.Generator
) -> Dropped:
    """Ours; reading inbreeding off is not timed."""
    seconds, means = 0.0, []
    for _ in range(0, replicates, BATCH):
        spent, bits = timed(lambda: drop_pedigree(grid, *parents, BATCH, rng), time.process_time)
        seconds += spent
        means.append(inbreeding(grid, bits[:, -BIRDS:]).mean(axis=1))
        del bits
    found = np.concatenate(means)
    return Dropped(seconds=SCALED_TO * seconds / len(found), inbred=found)


def timed_msprime(
    grid: Grid, parents: tuple[Numbers, Numbers], replicates: int, seed: int
) -> Dropped:
    """The peer's; reading inbreeding off is not timed."""
    runs = simulated(grid, parents, replicates, seed)
    next(runs)  # what it does once is not counted
    seconds, means = 0.0, []
    for _ in range(replicates):
        spent, trees = timed(lambda: next(runs), time.process_time)
        seconds += spent
        means.append(inbred_part(trees))
    return Dropped(seconds=SCALED_TO * seconds / replicates, inbred=np.array(means))


def simulated(
    grid: Grid, parents: tuple[Numbers, Numbers], replicates: int, seed: int
) -> Iterator[Any]:
    """Trees of the autosomes laid end to end, with one chance in two of a change between them."""
    generations = len(parents[0]) // BIRDS - 1
    builder = msprime.PedigreeBuilder()
    for at, (sire, dam) in enumerate(zip(*(one.tolist() for one in parents), strict=True)):
        born = at // BIRDS
        builder.add_individual(
            time=float(generations - born),
            parents=None if sire < 0 else [sire, dam],
            is_sample=born == generations,
        )
    lengths = [
        length for name, length in zip(grid.chromosomes, grid.lengths, strict=True) if name != Z
    ]
    bounds, rates = [0.0], []
    for length in lengths:
        bounds += [bounds[-1] + length * SITES_PER_CM - 1, bounds[-1] + length * SITES_PER_CM]
        rates += [0.01 / SITES_PER_CM, np.log(2)]  # over one step between sites: a chance of a half
    return iter(
        msprime.sim_ancestry(
            initial_state=builder.finalise(bounds[-1]),
            model="fixed_pedigree",
            recombination_rate=msprime.RateMap(position=bounds, rate=rates),
            num_replicates=replicates + 1,
            random_seed=seed,
        )
    )


def inbred_part(trees: Any) -> float:
    """Part of the genome at which a bird's two come from one founder genome, meaned over birds."""
    samples = trees.samples().reshape(-1, 2)
    total = 0.0
    for tree in trees.trees():
        alike = sum(tree.mrca(*pair) >= 0 for pair in samples.tolist())
        total += tree.span * alike
    return total / len(samples) / float(trees.sequence_length)


BENCH: Final = Bench(
    rows=rows,
    options=(
        Option(
            name="generations",
            help="after the founders",
            whole=(3, 6, 12),
            full=(3, 6, 12, 24),
            short=(2, 4, 8),
        ),
        Option(name="spacing", help="cM between places", whole=5.0),
        Option(name="replicates", help="of ours, in a round", whole=2_000, short=200),
        Option(name="peer", help="replicates of msprime, in a round", whole=40, short=10),
        Option(name="rounds", help="rounds of both, in turn", whole=2, short=1, full=3),
    ),
)
