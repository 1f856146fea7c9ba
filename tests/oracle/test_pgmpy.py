"""The engine against pgmpy's variable elimination, on random loopy pedigrees.

The Bayesian network is built here from Mendel's first law alone: one variable a bird, one for
which of several birds is the sire, one for each thing seen. Birds and sires are drawn so that
relatives mate again and again.
"""

from __future__ import annotations

import importlib
import itertools
import logging
import random
import warnings
from dataclasses import dataclass, replace
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from matchmaker.flock.pedigree import Links, Pedigree, Pool
from matchmaker.genetics.genotypes.genotype import genotype_probabilities
from matchmaker.genetics.genotypes.observed import Evidence, Place, Sighting
from matchmaker.genetics.genotypes.words import meaning, weights
from matchmaker.genetics.inference.factors import ContradictionError
from matchmaker.genetics.loci.locus import Locus
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

AGREEMENT = 1e-9

POOLS = (Pool("donor"), Pool("recurrent"))
FREQUENCY = {"donor": 0.8, "recurrent": 0.1}
LOCI = {
    "autosomal": Locus(symbol="X", name="X"),
    "Z-linked": Locus(symbol="X", name="X", z_linked=True),
    "recessive": Locus(symbol="X", name="X", dominance="recessive"),
    "Z-linked recessive": Locus(symbol="X", name="X", z_linked=True, dominance="recessive"),
    "seen in hens only": Locus(symbol="X", name="X", shown_by="hen"),
    "scoring error": Locus(symbol="X", name="X", error=0.05),
    "penetrance": Locus(symbol="X", name="X", penetrance=0.8, error=0.01),
}


@pytest.fixture(scope="module")
def library() -> SimpleNamespace:
    """The parts of pgmpy that are used; its import warns of things to come and it chatters."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        models = importlib.import_module("pgmpy.models")
        factors = importlib.import_module("pgmpy.factors.discrete")
        inference = importlib.import_module("pgmpy.inference")
    logging.getLogger("pgmpy").setLevel(logging.ERROR)
    return SimpleNamespace(
        Network=models.DiscreteBayesianNetwork,
        Table=factors.TabularCPD,
        Elimination=inference.VariableElimination,
    )


@dataclass(frozen=True)
class Flock:
    pedigree: Pedigree
    locus: Locus
    evidence: list[Evidence]


def draw(seed: int, locus: Locus) -> Flock:
    """Ten to eighteen birds, a quarter of them of two or three possible sires."""
    rng = random.Random(seed)  # noqa: S311 - a seeded test case, no secret
    count = rng.randint(10, 18)
    sexes = [Sex.COCK, Sex.HEN, Sex.COCK, Sex.HEN]
    sexes += [rng.choice([Sex.COCK, Sex.HEN, Sex.HEN]) for _ in range(count - 4)]
    sires: list[Links] = [((rng.randint(0, 1), 1.0),) for _ in range(4)]
    dams: list[Links] = [((rng.randint(0, 1), 1.0),) for _ in range(4)]
    for at in range(4, count):
        near = [
            [len(POOLS) + other for other in range(at) if sexes[other] is sex][-3:]
            for sex in (Sex.COCK, Sex.HEN)
        ]
        chosen = rng.sample(near[0], min(len(near[0]), 1 if rng.random() < 0.75 else 3))
        sires.append(tuple((node, 1 / len(chosen)) for node in sorted(chosen)))
        dams.append(((rng.choice(near[1]), 1.0),))
    pedigree = Pedigree(
        pools=POOLS,
        bases=((0.0, 0.0), (0.0, 0.0)),
        birds=tuple(f"B{at}" for at in range(count)),
        sexes=tuple(sexes),
        sires=tuple(sires),
        dams=tuple(dams),
    )
    own = replace(locus, frequency=FREQUENCY)
    return Flock(pedigree, own, list(seen(rng, pedigree, own)))


def seen(rng: random.Random, pedigree: Pedigree, locus: Locus) -> Iterator[Sighting]:
    for bird, sex in zip(pedigree.birds, pedigree.sexes, strict=True):
        assert sex is not None
        dna = rng.random() < 0.15
        if not dna and (rng.random() < 0.4 or not locus.can_show(sex)):
            continue
        word = rng.choice(["0", "1"]) if dna else rng.choice(["yes", "no"])
        meant = meaning(locus, word, dna=dna)
        assert meant is not None
        place = Place(file="seen.csv", row=2, column="what", words=word)
        yield Sighting(bird=bird, weights=weights(locus, meant, dna=dna), place=place)


class Described:
    """The flock as a Bayesian network of the other library."""

    def __init__(self, library: SimpleNamespace, flock: Flock) -> None:
        self.library, self.flock = library, flock
        self.model = library.Network()
        self.observed: dict[str, int] = {}
        for at in range(len(flock.pedigree.birds)):
            self.add_bird(at)
        for number, one in enumerate(flock.evidence):
            self.add_sighting(number, one)

    def states(self, at: int) -> int:
        return 2 if self.flock.locus.z_linked and self.flock.pedigree.sexes[at] is Sex.HEN else 3

    def add(self, name: str, table: NDArray[np.float64], parents: dict[str, int]) -> None:
        """``table``: one axis for each parent, the variable's own last."""
        self.model.add_node(name)
        self.model.add_edges_from((parent, name) for parent in parents)
        size = table.shape[-1]
        columns = np.moveaxis(table, -1, 0).reshape(size, -1)
        self.model.add_cpds(
            self.library.Table(
                name,
                size,
                columns,
                evidence=list(parents) or None,
                evidence_card=list(parents.values()) or None,
            )
        )

    def add_bird(self, at: int) -> None:
        pedigree = self.flock.pedigree
        sires, dams = pedigree.sires[at], pedigree.dams[at]
        parents = {f"B{node - 2}": self.states(node - 2) for node, _ in sires if node > 1}
        parents |= {f"B{node - 2}": self.states(node - 2) for node, _ in dams if node > 1}
        if len(sires) > 1:
            shares = np.array([share for _, share in sires])
            self.add(f"sire of B{at}", shares, {})
            parents[f"sire of B{at}"] = len(sires)
        table = np.zeros((*parents.values(), self.states(at)))
        for cell in itertools.product(*map(range, parents.values())):
            known = dict(zip(parents, cell, strict=True))
            sire = sires[known.get(f"sire of B{at}", 0)][0]
            gives = [self.gives(node, known) for node in (sire, dams[0][0])]
            table[cell] = self.born(at, *gives)
        self.add(f"B{at}", table, parents)

    def gives(self, node: int, known: dict[str, int]) -> float:
        """Chance that the gamete of a pool or a bird has the allele."""
        if node < 2:
            return FREQUENCY[POOLS[node].breed]
        return known[f"B{node - 2}"] / (self.states(node - 2) - 1)

    def born(self, at: int, of_sire: float, of_dam: float) -> list[float]:
        if self.states(at) == 2:
            return [1 - of_sire, of_sire]
        one = of_sire * (1 - of_dam) + (1 - of_sire) * of_dam
        return [(1 - of_sire) * (1 - of_dam), one, of_sire * of_dam]

    def add_sighting(self, number: int, one: Evidence) -> None:
        assert isinstance(one, Sighting)
        at = self.flock.pedigree.birds.index(one.bird)
        cock, hen = one.weights
        fits = np.array(hen if self.flock.pedigree.sexes[at] is Sex.HEN else cock)
        self.add(f"seen {number}", np.stack([1 - fits, fits], -1), {one.bird: self.states(at)})
        self.observed[f"seen {number}"] = 1

    def marginal(self, bird: str) -> NDArray[np.float64]:
        elimination: Any = self.library.Elimination(self.model)
        found = elimination.query([bird], evidence=self.observed, show_progress=False)
        values: NDArray[np.float64] = np.zeros(3)
        values[: len(found.values)] = found.values
        return values


@pytest.mark.parametrize("kind", LOCI)
@pytest.mark.parametrize("seed", range(8))
def test_marginals_are_those_of_the_other_library(
    library: SimpleNamespace, kind: str, seed: int
) -> None:
    flock, fast = possible(seed, LOCI[kind])
    described = Described(library, flock)
    for bird in flock.pedigree.birds:
        assert np.abs(fast(bird) - described.marginal(bird)).max() < AGREEMENT


def possible(seed: int, locus: Locus) -> tuple[Flock, Any]:
    """The first flock from a seed whose records can all be true, and our answer for it."""
    for again in itertools.count():
        flock = draw(1000 * seed + again, locus)
        try:
            found = genotype_probabilities(flock.pedigree, flock.locus, flock.evidence, "recurrent")
        except ContradictionError:
            continue
        return flock, found.of
    raise AssertionError
