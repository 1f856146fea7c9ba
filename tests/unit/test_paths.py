"""Common ancestors of two birds, each with its part of their kinship."""

from __future__ import annotations

from dataclasses import replace

import pytest

from matchmaker.flock.pedigree import Pedigree, Pool
from matchmaker.genetics.kin.kinship import kinship_matrix
from matchmaker.genetics.kin.paths import Contribution, Shared, common_ancestors
from tests.descent_helpers import FAMILY
from tests.descent_helpers import pedigree as flock


def parts(pedigree: Pedigree, first: str, second: str) -> dict[str, Contribution]:
    """Contributions by band, or by what they are if they are no bird."""
    found = common_ancestors(pedigree, first, second)
    return {part.band or part.shared.value: part for part in found}


def test_full_sibs_have_half_of_their_kinship_from_each_parent() -> None:
    found = parts(FAMILY, "S", "T")
    assert {band: part.kinship for band, part in found.items()} == {"A": 0.125, "B": 0.125}
    assert all(part.generations == (1, 1) for part in found.values())


def test_a_parent_is_the_common_ancestor_of_itself_and_its_chick() -> None:
    """The cock's other forebears stand behind him: no path meets in them first."""
    found = parts(FAMILY, "S", "Y")
    assert found["S"].kinship == 0.25
    assert found["S"].generations == (0, 1)
    assert found["A"].generations == (1, 2)


def test_an_ancestor_counts_only_where_ways_meet_in_it_first() -> None:
    """X and Y have S for sire; A is behind both dams and behind S, never through S twice."""
    found = parts(FAMILY, "X", "Y")
    assert {band: part.kinship for band, part in found.items()} == {
        "S": 1 / 8,  # the one sire of both
        "A": 3 / 32,  # by S and U, T and S, T and U: 1/32 each
        "B": 1 / 32,  # by T and S
    }
    assert found["A"].generations == (2, 2)
    assert sum(part.kinship for part in found.values()) == kinship_matrix(FAMILY).between("X", "Y")


def test_an_inbred_ancestor_counts_more() -> None:
    """Half sibs out of X, who is a quarter inbred: (1/2)^3 × (1 + 1/4)."""
    family = flock(
        "A cock recurrent recurrent",
        "B hen recurrent recurrent",
        "S cock A B",
        "T hen A B",
        "X cock S T",
        "P hen X recurrent",
        "Q hen X recurrent",
    )
    assert parts(family, "P", "Q")["X"].kinship == 1.25 / 8


def test_the_greatest_part_comes_first() -> None:
    found = common_ancestors(FAMILY, "X", "Y")
    assert [part.band for part in found] == ["S", "A", "B"]


def test_unrelated_birds_have_nothing_in_common() -> None:
    assert common_ancestors(FAMILY, "A", "C") == ()


def test_a_bird_and_itself() -> None:
    assert common_ancestors(FAMILY, "X", "X") == (
        Contribution(shared=Shared.BIRD, kinship=0.625, generations=(0, 0), certain=True, band="X"),
    )


def test_a_possible_parent_counts_by_its_probability_and_is_not_certain() -> None:
    pen = flock(
        "A cock recurrent recurrent",
        "B cock recurrent recurrent",
        "H hen recurrent recurrent",
        "X hen A:0.75|B:0.25 H",
        "Y hen A H",
    )
    found = parts(pen, "X", "Y")
    assert found["A"].kinship == 0.75 / 8
    assert not found["A"].certain
    assert found["H"].certain
    assert "B" not in found


def test_drawn_apart_two_chicks_share_a_sire_now_and_then() -> None:
    pen = ["A cock recurrent recurrent", "B cock recurrent recurrent"]
    chicks = ["X hen A|B recurrent", "Y hen A|B recurrent"]
    apart = parts(flock(*pen, *chicks), "X", "Y")
    together = parts(flock(*pen, *(f"{chick} 0" for chick in chicks)), "X", "Y")
    assert {band: part.kinship for band, part in apart.items()} == {"A": 1 / 32, "B": 1 / 32}
    assert together["A"].kinship == together["B"].kinship == 1 / 16
    assert not together["A"].certain


def test_a_clutch_shares_parents_nobody_wrote_down() -> None:
    """Two chicks of one clutch, bought: full sibs, with the unknown cock and hen named so."""
    bought = flock("X cock recurrent recurrent 0", "Y hen recurrent recurrent 0")
    found = parts(bought, "X", "Y")
    assert {name: part.kinship for name, part in found.items()} == {"sire": 0.125, "dam": 0.125}
    assert found["sire"].shared is Shared.SIRE
    assert found["sire"].pools == (Pool("recurrent"),)
    assert found["sire"].generations == (1, 1)
    assert found["sire"].certain


def test_the_base_of_a_breed_is_named_as_such() -> None:
    related = replace(FAMILY, bases=((0.0, 0.0), (0.0, 0.1)))
    found = parts(related, "A", "C")
    assert found["pool"].kinship == pytest.approx(0.1)
    assert found["pool"].shared is Shared.POOL
    assert found["pool"].pools == (Pool("recurrent"),)


def test_two_sources_of_a_breed_are_named_both() -> None:
    hill, dale = Pool("recurrent", "Hill"), Pool("recurrent", "Dale")
    family = Pedigree(
        pools=(dale, hill),
        bases=((0.1, 0.05), (0.05, 0.1)),
        birds=("A", "B"),
        sexes=(None, None),
        sires=(((0, 1.0),), ((1, 1.0),)),
        dams=(((0, 1.0),), ((1, 1.0),)),
    )
    (part,) = common_ancestors(family, "A", "B")
    assert part.pools == (dale, hill)
    assert part.kinship == pytest.approx(0.05)


def test_generations_are_given_from_the_first_bird_and_from_the_second() -> None:
    assert parts(FAMILY, "S", "Y")["A"].generations == (1, 2)
    assert parts(FAMILY, "Y", "S")["A"].generations == (2, 1)


def test_a_band_that_is_not_there_is_refused() -> None:
    with pytest.raises(KeyError):
        common_ancestors(FAMILY, "A", "Z")
