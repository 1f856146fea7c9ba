"""Wright's method of paths (Wright 1922, Am Nat 56:330, from memory) on pedigrees in print.

The sum of the paths of two animals is half their relationship. The matrices were read whole: eight
animals in K. Christensen, Population Genetics (KVL Copenhagen), ch. 7.5, and six in Mrode 2014,
Linear Models, Table 2.1 (the pedigree read, the whole matrix from memory). The royal pedigree is
that of `test_alvarez_2009`; how often its ancestors meet is our own count.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations

import pytest

from matchmaker.genetics.kin.kinship import kinship_matrix
from matchmaker.genetics.kin.wright_paths import Paths, wright_paths
from tests.published.pedigrees import Parents, pedigree_of
from tests.published.test_alvarez_2009 import EXACT, persons
from tests.published.test_christensen_kvl import EIGHT, EIGHT_RELATED
from tests.published.test_mrode_2014 import RELATED_2_1, TABLE_2_1


def paths(rows: list[Parents], first: str, second: str) -> Paths:
    """Every path between two animals of a printed pedigree."""
    pedigree = pedigree_of(rows)
    kinship = Fraction(kinship_matrix(pedigree, [first, second]).between(first, second))
    return wright_paths(pedigree, first, second, kinship, most=10**6)


def total(found: Paths) -> Fraction:
    """The sum of the paths alone."""
    return sum((path.kinship for path in found.listed), Fraction(0))


@pytest.mark.parametrize(
    ("rows", "related"), [(EIGHT, EIGHT_RELATED), (TABLE_2_1, RELATED_2_1)], ids=["eight", "six"]
)
def test_the_paths_of_two_animals_sum_to_half_their_relationship(
    rows: list[Parents], related: list[list[Fraction]]
) -> None:
    for (at, (one, *_)), (to, (other, *_)) in combinations(enumerate(rows), 2):
        assert total(paths(rows, one, other)) == related[at][to] / 2


def test_the_paths_behind_an_inbred_animal() -> None:
    """Number 8 of the eight: its parents are full sibs, joined over 1 and over 2."""
    found = paths(EIGHT, "5", "6")
    assert [(path.ancestor, path.kinship) for path in found.listed] == [
        ("1", Fraction(1, 8)),
        ("2", Fraction(1, 8)),
    ]


@pytest.mark.parametrize("count", [43])  # of 87 persons: 12 seconds, the same walk
def test_the_paths_that_join_the_parents_of_charles_ii(count: int) -> None:
    rows = persons(count)
    found = paths(rows, "Philip IV", "Mariana")
    assert total(found) == Fraction(EXACT[count]["Charles II"])
    assert found.others == found.before == 0
    assert all(
        len(set(one.first) | set(one.second)) == len(one.first) + len(one.second) - 1
        for one in found.listed
    )
    assert max(found.listed, key=lambda one: one.kinship).ancestor == "Philip III"
