"""The paths that join two birds, one by one, each with its part of their kinship."""

from __future__ import annotations

from fractions import Fraction

import pytest

from matchmaker.genetics.kin.kinship import kinship_matrix
from matchmaker.genetics.kin.wright_paths import Paths, wright_paths
from tests.descent_helpers import FAMILY, pedigree


def paths(first: str, second: str, most: int = 24, family: object = FAMILY) -> Paths:
    """Paths of two birds of a family."""
    assert hasattr(family, "birds")
    kinship = Fraction(kinship_matrix(family, [first, second]).between(first, second))  # type: ignore[arg-type]
    return wright_paths(family, first, second, kinship, most=most)  # type: ignore[arg-type]


def test_full_sibs_are_joined_over_either_parent() -> None:
    found = paths("S", "T")
    assert [(path.first, path.second, path.kinship) for path in found.listed] == [
        (("S", "A"), ("T", "A"), Fraction(1, 8)),
        (("S", "B"), ("T", "B"), Fraction(1, 8)),
    ]
    assert found.others == found.before == 0


def test_a_parent_and_its_chick_also_meet_behind_the_parent() -> None:
    found = paths("Y", "S")
    assert [(path.ancestor, path.first, path.second) for path in found.listed] == [
        ("S", ("Y", "S"), ("S",)),
        ("A", ("Y", "U", "A"), ("S", "A")),
    ]
    assert [path.kinship for path in found.listed] == [Fraction(1, 4), Fraction(1, 16)]


def test_one_forebear_may_join_two_birds_over_several_paths() -> None:
    """X and Y: S is the sire of both; A stands behind three pairs of their forebears."""
    found = paths("X", "Y")
    by_a = [path for path in found.listed if path.ancestor == "A"]
    assert {(path.first[1:-1], path.second[1:-1]) for path in by_a} == {
        (("S",), ("U",)),
        (("T",), ("S",)),
        (("T",), ("U",)),
    }
    assert {path.kinship for path in by_a} == {Fraction(1, 32)}
    assert sum(path.kinship for path in found.listed) == Fraction(1, 4)


def test_an_inbred_forebear_counts_more() -> None:
    family = pedigree(
        "A cock recurrent recurrent",
        "B hen recurrent recurrent",
        "S cock A B",
        "T hen A B",
        "X cock S T",
        "D hen recurrent recurrent",
        "E hen recurrent recurrent",
        "P hen X D",
        "Q cock X E",
    )
    (path,) = paths("P", "Q", family=family).listed
    assert path.kinship == Fraction(1, 2) ** 3 * (1 + Fraction(1, 4))


def test_a_parent_that_is_not_certain_counts_by_its_chance() -> None:
    family = pedigree(
        "A cock recurrent recurrent",
        "B cock recurrent recurrent",
        "D hen recurrent recurrent",
        "E hen recurrent recurrent",
        "P hen A D",
        "Q cock A:0.75|B:0.25 E",
    )
    (path,) = paths("P", "Q", family=family).listed
    assert (path.ancestor, path.chance) == ("A", Fraction(3, 4))
    assert path.kinship == Fraction(1, 8) * Fraction(3, 4)


def test_what_is_not_listed_is_told_as_a_sum() -> None:
    whole, part = paths("X", "Y"), paths("X", "Y", most=1)
    assert part.listed == whole.listed[:1]
    assert part.others == sum(path.kinship for path in whole.listed[1:])


def test_unrelated_birds_have_no_path() -> None:
    assert paths("A", "B") == Paths((), Fraction(0), Fraction(0))


def test_a_bird_that_nobody_knows_is_refused() -> None:
    with pytest.raises(KeyError):
        wright_paths(FAMILY, "A", "nobody", Fraction(0))
