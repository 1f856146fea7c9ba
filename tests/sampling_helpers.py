"""Networks of small tangled flocks, and networks whose states fall into separate modes."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.genetics.genotypes.network import Problem, networks
from matchmaker.genetics.inference.exact import marginals, reduced
from matchmaker.genetics.inference.factors import Network, Table
from tests.bench.genotype_flocks import flock, unsure

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from matchmaker.genetics.inference.sampling import Sampled
    from tests.bench.genotype_flocks import Known


def tangled(birds: int, seed: int, *, z_linked: bool = False) -> Known:
    """A flock in which every dam is one of eight and a third of the sires one of two."""
    keeping = replace(unsure(birds), unsure_sires=0.3, cocks=2, looks=0.4, dna=0.2)
    return flock(keeping, seed, z_linked=z_linked)


def network_of(known: Known) -> Network:
    """The network of all birds; where there are two forms, that through selectors."""
    first = known.pedigree.first_bird
    birds = range(first, first + len(known.pedigree.birds))
    problem = Problem(
        pedigree=known.pedigree,
        recurrent="recurrent",
        loci=(known.locus,),
        evidence=(tuple(known.evidence),),
    )
    *_, builder = networks(problem, birds)
    return builder.network


def ladder(length: int, seed: int) -> Network:
    """Two rows of variables of three states, each under random weights with those beside it."""
    rng = np.random.default_rng(seed)
    network = Network()
    rows = [[network.variable(3) for _ in range(length)] for _ in range(2)]
    for row in rows:
        for one, two in itertools.pairwise(row):
            network.add(Table.of(rng.random((3, 3)) + 0.1), one, two)
    for one, two in zip(*rows, strict=True):
        network.add(Table.of(rng.random((3, 3)) + 0.1), one, two)
    return network


def all_alike(count: int, chance: float) -> Network:
    """Variables of two states, every two of them alike: two modes with no way between."""
    network = Network()
    variables = [network.variable(2) for _ in range(count)]
    alike = Table.of(np.eye(2))
    for at, one in enumerate(variables):
        for two in variables[at + 1 :]:
            network.add(alike, one, two)
    network.add(Table.of(np.array([1 - chance, chance])), variables[0])
    return network


def hidden_mode(leaves: int, seed: int) -> Network:
    """A hub (variable 0) that half of all weight puts in state 1, which forces 1 on every leaf.

    In its other state the leaves, each linked to each, are nearly free: settled at random before
    the hub, hardly ever are all of them 1.
    """
    rng = np.random.default_rng(seed)
    links = [(pair, rng.random((2, 2)) + 0.5) for pair in itertools.combinations(range(leaves), 2)]

    def with_weight(weight: float) -> Network:
        network = Network()
        hub = network.variable(2)
        variables = [network.variable(2) for _ in range(leaves)]
        network.add(Table.of(np.array([1.0, weight])), hub)
        for leaf in variables:
            network.add(Table.of(np.array([[1.0, 1.0], [0.0, 1.0]])), hub, leaf)
        for (one, two), table in links:
            network.add(Table.of(table), variables[one], variables[two])
        return network

    free, forced = exact_of(with_weight(1.0))[0]
    return with_weight(free / forced)


def exact_of(network: Network) -> list[NDArray[np.float64]]:
    """The exact probabilities, an array of states for each variable."""
    return [rows[0] for rows in marginals(reduced(network))]


@dataclass(frozen=True, slots=True)
class Errors:
    """How far off every probability is, and the standard errors stated for it."""

    off: NDArray[np.float64]
    stated: NDArray[np.float64]


def errors_of(found: Sampled, exact: list[NDArray[np.float64]]) -> Errors:
    """Compare, over all variables and states that are not settled."""
    off = np.abs(np.concatenate(found.marginals) - np.concatenate(exact))
    stated = np.concatenate(found.errors)
    return Errors(off[stated > 0], stated[stated > 0])
