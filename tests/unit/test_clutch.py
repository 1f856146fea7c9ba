"""Chicks of one clutch share their unknown parents."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from matchmaker.genetics.genotypes.genotype import Genotypes, genotype_probabilities
from matchmaker.genetics.genotypes.linked import linked_genotypes
from matchmaker.genetics.genotypes.network import Problem, networks
from matchmaker.genetics.loci.catalogue import catalogue
from tests.descent_helpers import pedigree
from tests.locus_helpers import evidence

if TYPE_CHECKING:
    from matchmaker.flock.pedigree import Pedigree

PEA, SILVER = catalogue()["P"], catalogue()["S"]
FLOCK = pedigree(
    "A cock donor donor",
    "N cock recurrent recurrent",
    "R hen recurrent recurrent",
    "X hen A|N R",
    "Y cock A|N R",
)
CLUTCH = replace(FLOCK, clutches=(None, None, None, 1, 1))


def seen(flock: Pedigree, **words: str) -> Genotypes:
    return genotype_probabilities(flock, PEA, evidence(flock, PEA, words), "recurrent")


def test_mates_tell_of_each_other() -> None:
    """X has the gene, so A was her sire and so of her clutch mate Y."""
    assert seen(FLOCK, X="pea").of("Y").tolist() == [0.5, 0.5, 0.0]
    assert seen(CLUTCH, X="pea").of("Y").tolist() == [0.0, 1.0, 0.0]


def test_without_evidence_each_chick_is_as_if_alone() -> None:
    assert seen(CLUTCH).probabilities.tolist() == seen(FLOCK).probabilities.tolist()


def test_a_clutch_of_one_is_none() -> None:
    single = replace(FLOCK, clutches=(None, None, None, 1, 2))
    assert seen(single, X="pea").of("Y").tolist() == [0.5, 0.5, 0.0]


def test_certain_parents_make_a_clutch_mean_nothing() -> None:
    certain = pedigree("A cock donor donor", "R hen recurrent recurrent", "X hen A R", "Y cock A R")
    half = replace(PEA, frequency={"donor": 0.5, "recurrent": 0.1})
    told = evidence(certain, half, {"X": "pea"})
    one, two = (
        genotype_probabilities(flock, half, told, "recurrent").probabilities
        for flock in (certain, replace(certain, clutches=(None, None, 1, 1)))
    )
    assert one.tolist() == two.tolist()


def test_the_pair_of_two_mates_is_joint() -> None:
    joint = seen(CLUTCH).joint(["X"], ["Y"])[0, 0]
    assert joint[:2, :2].tolist() == [[0.5, 0.0], [0.0, 0.5]]


def test_one_unknown_parent_out_of_a_breed_is_one_bird() -> None:
    """Its gametes go to all: half of the time the same, so chicks resemble each other."""
    flock = pedigree("R hen recurrent recurrent", "X hen donor R", "Y cock donor R")
    half = replace(PEA, frequency={"donor": 0.5, "recurrent": 0.0})
    told = evidence(flock, half, {"X": "pea"})
    apart = genotype_probabilities(flock, half, told, "recurrent")
    together = genotype_probabilities(
        replace(flock, clutches=(None, 1, 1)), half, told, "recurrent"
    )
    assert apart.of("Y").tolist() == [0.5, 0.5, 0.0]
    # X tells that the sire has one copy (odds ½ · ½) or two (¼ · 1): ½ · ½ + ½ · 1.
    assert together.of("Y").tolist() == pytest.approx([0.25, 0.75, 0.0])


def test_daughters_at_a_z_linked_locus_share_the_sire_alone() -> None:
    flock = pedigree(
        "A cock donor donor",
        "N cock recurrent recurrent",
        "D hen donor donor",
        "R hen recurrent recurrent",
        "X hen A|N D|R",
        "Y hen A|N D|R",
        "Z cock A|N D|R",
    )
    clutch = replace(flock, clutches=(None,) * 4 + (1, 1, 1))
    told = evidence(clutch, SILVER, {"X": "silver"})
    found = genotype_probabilities(clutch, SILVER, told, "recurrent")
    assert found.of("Y").tolist() == [0.0, 1.0, 0.0]
    assert found.of("Z").tolist() == [0.0, 0.5, 0.5]


def test_mates_share_their_sire_at_linked_loci_too() -> None:
    egg = replace(catalogue()["O"], linked_to="P", recombination=0.04)
    told = ((), evidence(CLUTCH, PEA, {"X": "pea"}))
    found = linked_genotypes(CLUTCH, (egg, PEA), told, "recurrent")
    assert found.haplotypes("Y") == {"O P/o+ p+": 1.0}


def test_many_chicks_of_one_clutch_stay_narrow() -> None:
    """Thirty chicks of one of twenty sires: one selector, not thirty."""
    cocks = [f"S{n} cock donor|recurrent donor|recurrent" for n in range(20)]
    sires = "|".join(f"S{n}" for n in range(20))
    flock = pedigree(
        "R hen recurrent recurrent", *cocks, *(f"C{n} cock {sires} R" for n in range(30))
    )
    clutch = replace(flock, clutches=(None,) * 21 + (1,) * 30)
    told = evidence(clutch, PEA, {f"C{n}": "pea" if n % 3 else "single" for n in range(30)})
    found = genotype_probabilities(clutch, PEA, told, "recurrent")
    assert found.of("S0").sum() == pytest.approx(1.0)
    # The sire has one copy for certain; a founder has so in one half.
    assert found.of("S7") == pytest.approx([19 / 80, 1 / 20 + 19 / 40, 19 / 80])


def test_the_shared_parent_is_added_once() -> None:
    problem = Problem(pedigree=CLUTCH, recurrent="recurrent", loci=(PEA,), evidence=((),))
    for builder in networks(problem, [5, 6]):
        assert len(builder.households) == 1
