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

import argparse
import time
from typing import TYPE_CHECKING, Any

import msprime
import numpy as np

from matchmaker.genetics.drop.fixed import drop_pedigree
from matchmaker.genetics.drop.grid import Grid
from matchmaker.genetics.drop.reading import inbreeding
from matchmaker.genetics.shares.genome_map import Z, chicken_map

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.genetics.drop.grid import Numbers, Reals

COCKS, HENS = 10, 50
BIRDS = COCKS + HENS
BATCH = 40
"""Replicates dropped in one call: some 20 MB."""

SITES_PER_CM = 100


def pedigree(generations: int, seed: int) -> tuple[Numbers, Numbers]:
    """Sires and dams of the founders and of the generations after them."""
    rng = np.random.default_rng(seed)
    founders = np.full(BIRDS, -1)
    sires, dams = [founders], [founders]
    for born in range(generations):
        sires.append(born * BIRDS + rng.integers(0, COCKS, BIRDS))
        dams.append(born * BIRDS + COCKS + rng.integers(0, HENS, BIRDS))
    return np.concatenate(sires), np.concatenate(dams)


def main(arguments: list[str]) -> None:
    """Print a line a round: replicates a second of processor time of both, in turn."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench drop")
    parser.add_argument("--generations", type=int, default=6)
    parser.add_argument("--spacing", type=float, default=5.0, help="cM between places")
    parser.add_argument("--replicates", type=int, default=2000, help="of ours, in a round")
    parser.add_argument("--peer", type=int, default=40, help="replicates of msprime; 0: without it")
    parser.add_argument("--rounds", type=int, default=3)
    args = parser.parse_args(arguments)
    grid = Grid.of(chicken_map().lengths, spacing=args.spacing)
    sires, dams = pedigree(args.generations, 1)
    for seed in range(1, args.rounds + 1):
        rng = np.random.default_rng(seed)
        drop_pedigree(grid, sires, dams, 1, rng)
        ours, inbred = timed_drops(grid, (sires, dams), args.replicates, rng)
        words = f"ours {ours:7.0f}/s, mean inbreeding {told(inbred)}"
        if args.peer:
            words += beside(grid, (sires, dams), args.peer, seed, ours)
        print(words, flush=True)  # noqa: T201


def beside(
    grid: Grid, parents: tuple[Numbers, Numbers], replicates: int, seed: int, ours: float
) -> str:
    """Words on msprime's round."""
    theirs, inbred = timed_msprime(grid, parents, replicates, seed)
    return f"; msprime {theirs:5.1f}/s, mean inbreeding {told(inbred)}; ratio {ours / theirs:5.1f}"


def told(inbred: Reals) -> str:
    """Mean over replicates and its standard error."""
    return f"{inbred.mean():.4f} ± {inbred.std() / len(inbred) ** 0.5:.4f}"


def timed_drops(
    grid: Grid, parents: tuple[Numbers, Numbers], replicates: int, rng: np.random.Generator
) -> tuple[float, Reals]:
    """Replicates a second, and the last generation's mean inbreeding in each (not timed)."""
    seconds = 0.0
    means = []
    for _ in range(0, replicates, BATCH):
        begun = time.process_time()
        bits = drop_pedigree(grid, *parents, BATCH, rng)
        seconds += time.process_time() - begun
        means.append(inbreeding(grid, bits[:, -BIRDS:]).mean(axis=1))
        del bits
    found = np.concatenate(means)
    return len(found) / seconds, found


def timed_msprime(
    grid: Grid, parents: tuple[Numbers, Numbers], replicates: int, seed: int
) -> tuple[float, Reals]:
    """Replicates a second, and the last generation's mean inbreeding in each (not timed)."""
    runs = simulated(grid, parents, replicates, seed)
    next(runs)  # what it does once is not counted
    seconds = 0.0
    means = []
    for _ in range(replicates):
        begun = time.process_time()
        trees = next(runs)
        seconds += time.process_time() - begun
        means.append(inbred_part(trees))
    return replicates / seconds, np.array(means)


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
