"""From whom a bird has its copy, by Mendel's laws worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from matchmaker.genetics.genotypes.allele_way import AlleleWay, allele_way
from matchmaker.genetics.genotypes.genotype import genotype_probabilities
from matchmaker.genetics.genotypes.observed import Place, Sighting
from matchmaker.genetics.loci.catalogue import catalogue
from tests.descent_helpers import pedigree

if TYPE_CHECKING:
    from matchmaker.genetics.loci.locus import Locus

NOWHERE = Place(file="seen.csv", row=2, column="what", words="")
EGG = replace(catalogue()["O"], frequency={"donor": 1.0, "recurrent": 0.0})
SILVER = replace(catalogue()["S"], frequency={"donor": 1.0, "recurrent": 0.0})
FIRST_CROSSES = ("F cock donor recurrent", "G hen donor recurrent")


def way_of(*lines: str, locus: Locus = EGG, seen: tuple[Sighting, ...] = ()) -> AlleleWay:
    family = pedigree(*lines)
    found = genotype_probabilities(family, locus, seen, "recurrent")
    return allele_way(found, family.birds)


def dna(bird: str, copies: int) -> Sighting:
    row = tuple(float(number == copies) for number in range(3))
    return Sighting(bird=bird, weights=(row, row), place=NOWHERE)


def test_a_backcross_has_it_from_the_parent_that_can_carry_it() -> None:
    found = way_of("R hen recurrent recurrent", "F cock donor recurrent", "B hen F R")
    assert found == AlleleWay(links={("B", "F"): 1.0}, exact=True)


def test_of_two_carriers_each_gave_one_in_two_of_three_carriers() -> None:
    """AA 1/4, Aa 1/4 from the sire, Aa 1/4 from the dam: 2/3 of carriers have his."""
    found = way_of(*FIRST_CROSSES, "B hen F G").links
    assert found == pytest.approx({("B", "F"): 2 / 3, ("B", "G"): 2 / 3})


@pytest.mark.parametrize(("doubt", "times"), [(1e-2, 3), (1e-2, 8), (1e-3, 6), (1e-2, 160)])
def test_a_bird_that_almost_surely_has_none_has_its_doubt_from_either(
    doubt: float, times: int
) -> None:
    row = (1.0, doubt, doubt)
    seen = tuple(Sighting(bird="B", weights=(row, row), place=NOWHERE) for _ in range(times))
    found = way_of(*FIRST_CROSSES, "B hen F G", seen=seen).links
    assert found == pytest.approx({("B", "F"): 2 / 3, ("B", "G"): 2 / 3})


def test_two_copies_came_one_from_either() -> None:
    found = way_of(*FIRST_CROSSES, "B hen F G", seen=(dna("B", 2),)).links
    assert found == pytest.approx({("B", "F"): 1.0, ("B", "G"): 1.0})


def test_one_copy_came_from_either_with_a_half() -> None:
    found = way_of(*FIRST_CROSSES, "B hen F G", seen=(dna("B", 1),)).links
    assert found == pytest.approx({("B", "F"): 0.5, ("B", "G"): 0.5})


def test_of_two_possible_sires_that_with_two_copies_gave_it_twice_as_likely() -> None:
    found = way_of(
        "D cock donor donor",
        "F cock donor recurrent",
        "R hen recurrent recurrent",
        "B hen D|F R",
    ).links
    assert found == pytest.approx({("B", "D"): 2 / 3, ("B", "F"): 1 / 3})


def test_what_a_founder_brought_is_no_link() -> None:
    assert way_of("D cock donor donor").links == {}


def test_a_hen_has_her_only_z_from_her_sire() -> None:
    found = way_of("D cock donor donor", "G hen donor recurrent", "B hen D G", locus=SILVER)
    assert found.links == {("B", "D"): 1.0}


def test_pools_that_may_have_brought_it_take_their_share() -> None:
    """A dam out of a breed in which half of the gametes carry it, the sire a sure giver."""
    egg = replace(EGG, frequency={"donor": 1.0, "recurrent": 0.5})
    found = way_of("D cock donor donor", "B hen D recurrent", locus=egg)
    assert found.links == {("B", "D"): 1.0}


def test_a_bird_that_is_not_in_the_pedigree_is_refused() -> None:
    family = pedigree("D cock donor donor")
    with pytest.raises(KeyError):
        allele_way(genotype_probabilities(family, EGG, (), "recurrent"), ["nobody"])
