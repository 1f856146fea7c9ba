"""Uncertain sires: average relationship (Henderson 1988, J Anim Sci 66:551; citation from memory).

Rule read in the abstract of Kerr et al. 1994, J Anim Breed Genet 111:199: the relationship
matrix averages the true sire-offspring relationship over the putative sires. The numbers are our
own exact arithmetic, checked by gene dropping apart from this project. Each chick's sire is drawn
independently of its clutch mates', unless the keeper says that one cock and one hen have them all.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from matchmaker.genetics.kin.kinship import kinship_matrix
from tests.descent_helpers import pedigree
from tests.descent_helpers import pedigree as flock

PEN = pedigree(
    "A cock recurrent recurrent",
    "B cock recurrent recurrent",
    "H1 hen recurrent recurrent",
    "H2 hen recurrent recurrent",
    "H3 hen A H1",
    "c1 hen A:0.6|B:0.4 H2",
    "c2 hen A:0.6|B:0.4 H2",
    "c3 hen A:0.6|B:0.4 H1",
    "c4 hen A:0.6|B:0.4 H3",
)


RELATED = [
    ("c1", "A", "3/10"),
    ("c1", "B", "1/5"),
    ("c1", "c2", "19/50"),
    ("c1", "c3", "13/100"),
    ("c1", "c4", "41/200"),
    ("c3", "c4", "33/100"),
    ("c4", "A", "11/20"),
]
"""Average relationships of two of ``PEN``."""


@pytest.mark.parametrize(("first", "second", "relationship"), RELATED)
def test_average_relationships_in_a_pen_of_two_cocks(
    first: str, second: str, relationship: str
) -> None:
    found = 2 * kinship_matrix(PEN).between(first, second)
    assert found == pytest.approx(float(Fraction(relationship)), abs=1e-15)


def test_a_chick_of_a_daughter_of_one_of_the_cocks() -> None:
    assert kinship_matrix(PEN).inbreeding()["c4"] == pytest.approx(3 / 20, abs=1e-15)


@pytest.mark.parametrize("cocks", [1, 2, 3, 5])
def test_equally_likely_unrelated_cocks(cocks: int) -> None:
    """Two chicks are related by 1/(4m), and by a quarter more if they share the dam."""
    names = [f"C{at}" for at in range(cocks)]
    family = pedigree(
        *(f"{name} cock recurrent recurrent" for name in names),
        "H1 hen recurrent recurrent",
        "H2 hen recurrent recurrent",
        f"x hen {'|'.join(names)} H1",
        f"y hen {'|'.join(names)} H1",
        f"z hen {'|'.join(names)} H2",
    )
    found = kinship_matrix(family)
    assert 2 * found.between("x", "z") == pytest.approx(1 / (4 * cocks))
    assert 2 * found.between("x", "y") == pytest.approx(1 / 4 + 1 / (4 * cocks))


@pytest.mark.parametrize("cocks", [2, 3, 5])
def test_chicks_of_one_clutch_share_the_cock_whichever_he_is(cocks: int) -> None:
    """Full sibs, related by a half; drawn apart they would be by 1/4 + 1/(4m). Own arithmetic."""
    names = [f"C{at}" for at in range(cocks)]
    family = flock(
        *(f"{name} cock recurrent recurrent" for name in names),
        "H hen recurrent recurrent",
        f"x hen {'|'.join(names)} H 0",
        f"y cock {'|'.join(names)} H 0",
        f"z cock {'|'.join(names)} H",
    )
    found = kinship_matrix(family)
    assert 2 * found.between("x", "y") == pytest.approx(1 / 2)
    assert 2 * found.between("x", "z") == pytest.approx(1 / 4 + 1 / (4 * cocks))
    assert 2 * found.between("x", "C0") == pytest.approx(1 / (2 * cocks))
