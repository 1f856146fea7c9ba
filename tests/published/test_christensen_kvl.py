"""K. Christensen, Population Genetics (course notes, KVL Copenhagen), ch. 7.5 and 9.3.

Chapter 7.5: relationships and their inverse in a pedigree of eight, both matrices read whole.
Chapter 9.3: the scheme "cocks move one pen to the right, hens stay" was read; its numbers are our
own exact arithmetic, worked out apart from this project. Generation 1 are the first chicks.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import pytest

from tests.published.pedigrees import (
    INVERSES,
    Matrix,
    Parents,
    fractions,
    inbreeding,
    printed,
    relationship,
)

if TYPE_CHECKING:
    from collections.abc import Callable

EIGHT = printed("1 - -", "2 - -", "3 - -", "4 - -", "5 1 2", "6 1 2", "7 3 4", "8 5 6")


EIGHT_RELATED = fractions(
    "1 0 0 0 .5 .5 0 .5",
    "0 1 0 0 .5 .5 0 .5",
    "0 0 1 0 0 0 .5 0",
    "0 0 0 1 0 0 .5 0",
    ".5 .5 0 0 1 .5 0 .75",
    ".5 .5 0 0 .5 1 0 .75",
    "0 0 .5 .5 0 0 1 0",
    ".5 .5 0 0 .75 .75 0 1.25",
)


def test_relationships() -> None:
    assert relationship(EIGHT) == EIGHT_RELATED


EIGHT_INVERSE = fractions(
    "2 1 0 0 -1 -1 0 0",
    "1 2 0 0 -1 -1 0 0",
    "0 0 1.5 .5 0 0 -1 0",
    "0 0 .5 1.5 0 0 -1 0",
    "-1 -1 0 0 2.5 .5 0 -1",
    "-1 -1 0 0 .5 2.5 0 -1",
    "0 0 -1 -1 0 0 2 0",
    "0 0 0 0 -1 -1 0 2",
)

ONE_PEN_ON = {
    2: "0 0 1/8 3/16 1/4 5/16 47/128 107/256 119/256",
    3: "0 0 1/16 7/64 39/256 199/1024 .2341 .2719 .3078",
    4: "0 0 1/16 3/32 1/8 5/32 95/512 219/1024 247/1024",
    5: "0 0 1/16 3/32 31/256 151/1024 .1714 .1940 .2157",
}
"""Inbreeding of the chicks by generation, by number of pens; decimals are rounded to four."""


@pytest.mark.parametrize("inverse_of", INVERSES)
def test_inverse(inverse_of: Callable[[list[Parents]], Matrix]) -> None:
    assert inverse_of(EIGHT) == EIGHT_INVERSE


def rotation(pens: int, generations: int) -> list[Parents]:
    """Pedigree of pens of one pair: each generation a pen's son serves in the next pen."""
    rows = [(f"{sex}0.{pen}", "", "") for pen in range(pens) for sex in "CH"]
    for born in range(1, generations + 1):
        for pen in range(pens):
            # the cock in this pen came from the pen to the left; at the start all are founders
            cock = f"C{born - 1}.{(pen - 1) % pens if born > 1 else pen}"
            rows += [(f"{sex}{born}.{pen}", cock, f"H{born - 1}.{pen}") for sex in "CH"]
    return rows


@pytest.mark.parametrize("pens", ONE_PEN_ON)
def test_cocks_moved_one_pen_to_the_right(pens: int) -> None:
    """Fractions to the last digit; decimals, of generations 7 to 9, to their four."""
    printed_as = ONE_PEN_ON[pens].split()
    found = inbreeding(rotation(pens, len(printed_as)))
    for born, expected in enumerate(printed_as, 1):
        own = found[f"H{born}.0"]
        assert (round(own, 4) if expected.startswith(".") else own) == Fraction(expected)
