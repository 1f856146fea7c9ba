"""Contributions and retentions of founders against plain enumeration."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from matchmaker.genetics.kin.founders import Founder, founder_contributions, founder_genes
from tests.descent_helpers import pedigree as flock
from tests.oracle.founder_enumeration import left
from tests.strategies import Shape, pedigree_by_seed

if TYPE_CHECKING:
    from matchmaker.flock.pedigree import Pedigree

DROPS = 20_000

CASES = {
    "loops": flock(
        "R cock recurrent recurrent",
        "D hen donor donor",
        "F cock R D",
        "G hen R D",
        "I cock F G",
        "J hen F G",
        "K hen I J",
    ),
    "uncertain sires": flock(
        "A cock recurrent recurrent",
        "B cock recurrent recurrent",
        "H hen donor donor",
        "C hen A:0.75|B:0.25 H",
        "D cock A|B H",
        "E hen D C",
    ),
    "one clutch": flock(
        "A cock recurrent recurrent",
        "B cock recurrent recurrent",
        "H hen donor donor",
        "C hen A:0.75|B:0.25 H 1",
        "D cock A:0.75|B:0.25 H 1",
        "E hen D C",
    ),
    "half-founders": flock(
        "A cock recurrent donor|recurrent",
        "B hen A donor",
        "C cock recurrent B",
        "D hen C B",
    ),
    "a parent or a pool": flock(
        "A cock recurrent recurrent",
        "B hen A|recurrent donor",
        "C hen A B",
    ),
    "random": pedigree_by_seed(5, Shape(birds=8, founders=3, uncertain=0.3)),
}


def gametes_of(pedigree: Pedigree, founder: Founder) -> list[tuple[int, int]]:
    at = pedigree.birds.index(founder.bird)
    return [
        (at, side) for side, word in enumerate(("sire", "dam")) if founder.unwritten in {None, word}
    ]


@pytest.mark.parametrize("name", CASES)
@pytest.mark.parametrize("count", [1, 2])
def test_as_by_enumeration(name: str, count: int) -> None:
    pedigree = CASES[name]
    birds = pedigree.birds[-count:]
    expected = left(pedigree, birds)
    found = founder_genes(pedigree, birds, np.random.default_rng(21), DROPS)
    for part in found.parts:
        gametes = gametes_of(pedigree, part.founder)
        copies = sum(expected.copies.get(gamete, 0) for gamete in gametes)
        kept = sum(expected.kept.get(gamete, 0) for gamete in gametes) / 2
        assert part.contribution == pytest.approx(float(copies), abs=1e-12)
        assert abs(part.retention - kept) <= 5 * part.retention_error + 1e-12
    total = sum(expected.kept.values()) / 2
    assert abs(found.genomes_left - total) <= 5 * found.genomes_left_error + 1e-12


@pytest.mark.parametrize("name", CASES)
def test_founder_genome_equivalents_by_enumeration(name: str) -> None:
    pedigree = CASES[name]
    birds = pedigree.birds[-2:]
    expected = left(pedigree, birds)
    found = founder_genes(pedigree, birds, np.random.default_rng(22), DROPS)
    load = 0.0
    for founder, contribution in founder_contributions(pedigree, birds).items():
        kept = sum(expected.kept.get(gamete, 0) for gamete in gametes_of(pedigree, founder)) / 2
        load += contribution**2 / float(kept) if kept else 0.0
    # Beyond the standard error, a term of second order in it.
    error = 5 * found.genome_equivalents_error + 25 * found.genome_equivalents_error**2
    assert abs(found.genome_equivalents - 1 / load) <= error + 1e-9


def test_errors_are_those_of_repeated_drops() -> None:
    """The standard errors told are near the spread of independent runs."""
    pedigree = CASES["loops"]
    runs = [
        founder_genes(pedigree, ["I", "J"], np.random.default_rng(seed), 200) for seed in range(300)
    ]
    for name in ("genomes_left", "genome_equivalents"):
        spread = np.std([getattr(run, name) for run in runs])
        told = np.mean([getattr(run, f"{name}_error") for run in runs])
        assert told == pytest.approx(spread, rel=0.2)
