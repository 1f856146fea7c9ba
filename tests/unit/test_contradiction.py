"""Planted contradictions: the guilty records are named, and only they."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matchmaker.genetics.clash.contradiction import contradiction
from matchmaker.genetics.genotypes.genotype import genotype_probabilities
from matchmaker.genetics.inference.factors import ContradictionError
from matchmaker.genetics.loci.catalogue import catalogue
from tests.descent_helpers import pedigree
from tests.locus_helpers import evidence, seen_row

if TYPE_CHECKING:
    from matchmaker.flock.pedigree import Pedigree


def guilty(flock: Pedigree, symbol: str, **seen: str) -> set[str]:
    locus = catalogue()[symbol]
    told = evidence(flock, locus, seen)
    found = contradiction(flock, locus, told, "recurrent")
    if found:
        with pytest.raises(ContradictionError):
            genotype_probabilities(flock, locus, told, "recurrent")
    return {flock.birds[one.place.row - 2] for one in found}


FLOCK = pedigree(
    "A cock donor donor",
    "R hen recurrent recurrent",
    "F hen A R",
    "G cock A R",
    "X hen G F",
    "Y cock G F",
    "Z hen Y X",
    "W cock Y X",
)


def test_nothing_is_guilty_where_all_can_be_true() -> None:
    assert guilty(FLOCK, "P", F="pea", X="single", Y="pea", Z="pea") == set()


def test_a_recurrent_founder_that_shows_is_guilty_alone() -> None:
    assert guilty(FLOCK, "P", R="pea", X="single", Y="pea", Z="pea") == {"R"}


def test_a_chick_that_shows_out_of_two_that_do_not() -> None:
    assert guilty(FLOCK, "P", F="pea", X="single", Y="single", Z="pea", W="single") == {
        "X",
        "Y",
        "Z",
    }


def test_a_plain_chick_of_two_recessives() -> None:
    assert guilty(FLOCK, "lav", X="lavender", Y="lavender", Z="black", W="lavender") == {
        "X",
        "Y",
        "Z",
    }


def test_a_daughter_that_shows_under_a_cock_without_the_z() -> None:
    """Silver hen, gold cock: a silver daughter is impossible (her Z is her sire's)."""
    flock = pedigree(
        "N cock recurrent recurrent",
        "A cock donor donor",
        "R hen recurrent recurrent",
        "D hen A R",
        "X hen N D",
    )
    assert guilty(flock, "S", D="silver", X="silver") == {"X"}


def test_counts_are_named_with_their_row() -> None:
    flock = pedigree("A cock donor donor", "R hen recurrent recurrent", "F hen A R")
    row = seen_row(41, pair=("F", "A"), what=(("pea", 3), ("single", 1)), how="day-old", locus="P")
    locus = catalogue()["P"]
    (found,) = contradiction(flock, locus, evidence(flock, locus, {"F": "pea"}, row), "recurrent")
    assert (found.place.file, found.place.row) == ("seen.csv", 41)
    assert found.place.words == "3 pea, 1 single"


def test_two_records_of_one_bird() -> None:
    flock = pedigree("A cock donor donor", "R hen recurrent recurrent", "F hen A R", "X hen A F")
    rows = (
        seen_row(7, bird="X", what=(("2", 1),), how="dna", locus="P"),
        seen_row(9, bird="X", what=(("1", 1),), how="dna", locus="P"),
        seen_row(11, bird="X", what=(("pea", 1),), locus="P"),
    )
    locus = catalogue()["P"]
    found = contradiction(flock, locus, evidence(flock, locus, {}, *rows), "recurrent")
    assert sorted(one.place.row for one in found) == [7, 9]


def test_where_the_founders_alone_are_impossible_no_record_is_blamed() -> None:
    """Two copies die, so no founder of a breed said to be pure can live."""
    locus = catalogue()["Cp"]
    flock = pedigree("A cock donor donor", "R hen recurrent recurrent")
    pure = type(locus)(symbol="Cp", name="Creeper", dies=(2,), lethal=(2,))
    told = evidence(flock, locus, {"A": "creeper"})
    assert contradiction(flock, pure, told, "recurrent") == ()
    with pytest.raises(ContradictionError):
        genotype_probabilities(flock, pure, told, "recurrent")


def test_a_large_flock_is_searched_quickly() -> None:
    """One wrong band among two hundred: three records are named, whatever else was seen."""
    lines = ["A cock donor donor", "R hen recurrent recurrent", "C0 cock A R"]
    lines += [f"R{n} hen recurrent recurrent" for n in range(60)]
    lines += [f"C{n} cock C{n - 1} R{n}" for n in range(1, 60)]
    lines += [f"S{n} hen C{n} R{n}" for n in range(1, 60)]
    flock = pedigree(*lines)
    seen = {f"C{n}": "pea" for n in range(40)} | {f"S{n}": "single" for n in range(1, 40)}
    seen |= {"C40": "single", "C41": "pea", "S41": "pea"}
    assert guilty(flock, "P", **seen) in ({"C40", "C41"}, {"C40", "S41"})
