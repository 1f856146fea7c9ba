"""The engine against pgmpy's variable elimination, on random loopy pedigrees.

Birds and sires are drawn so that
relatives mate again and again.
"""

from __future__ import annotations

import itertools
import random
from dataclasses import dataclass, replace
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
from tests.bayesian import Described, pgmpy

if TYPE_CHECKING:
    from collections.abc import Iterator
    from types import SimpleNamespace


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
    return pgmpy()


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
