"""Paths found for many pairs at once are those that are listed for each pair by itself."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings

from matchmaker.genetics.kin.kinship import kinship_matrix
from matchmaker.genetics.kin.path_finder import PathFinder
from matchmaker.genetics.kin.wright_paths import Paths, wright_paths
from tests.descent_helpers import FAMILY
from tests.strategies import RELATED, Shape, pedigrees

if TYPE_CHECKING:
    from matchmaker.flock.pedigree import Pedigree

ANY = pedigrees(Shape(birds=12, founders=4, bases=RELATED))
CERTAIN = pedigrees(Shape(birds=14, founders=4, uncertain=0.0))


def told(paths: Paths) -> dict[tuple[object, ...], float]:
    """Each path with its part of the kinship."""
    return {(one.first, one.second, one.chance): float(one.kinship) for one in paths.listed}


def same_paths(family: Pedigree, most: int = 24) -> None:
    kinship = kinship_matrix(family, family.birds)
    finder = PathFinder(family)
    for first, second in combinations(family.birds[-5:], 2):
        amount = kinship.between(first, second)
        one_by_one = wright_paths(family, first, second, Fraction(amount), most=most)
        found = finder.between(first, second, amount, most=most)
        assert told(found) == pytest.approx(told(one_by_one))
        assert float(found.before) == pytest.approx(float(one_by_one.before))
        assert float(found.others) == pytest.approx(float(one_by_one.others))
        parts = [one.kinship for one in found.listed]
        assert float(sum(parts) + found.before + found.others) == pytest.approx(amount)


@settings(deadline=None, max_examples=40)
@given(ANY)
def test_they_are_the_same_with_uncertain_parents_and_founders_taken_as_kin(
    family: Pedigree,
) -> None:
    same_paths(family)


@settings(deadline=None, max_examples=40)
@given(CERTAIN)
def test_they_are_the_same_where_only_the_greatest_are_listed(family: Pedigree) -> None:
    same_paths(family, most=3)


def test_full_sibs_meet_in_both_parents() -> None:
    found = PathFinder(FAMILY).between("S", "T", 0.25)
    assert [(path.first, path.second, path.kinship) for path in found.listed] == [
        (("S", "A"), ("T", "A"), Fraction(1, 8)),
        (("S", "B"), ("T", "B"), Fraction(1, 8)),
    ]


def test_a_bird_that_is_not_in_the_pedigree_is_an_error() -> None:
    with pytest.raises(KeyError):
        PathFinder(FAMILY).between("S", "nobody", 0.0)
