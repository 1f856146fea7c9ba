"""Mrode 2014, Linear Models for the Prediction of Animal Breeding Values, 3rd ed., CABI.

Table 2.1 and sec. 2.2-2.4 (pp. 23-32), example 3.1 (pp. 57-58), example 4.1 (p. 64), sires and
maternal grandsires (p. 235). Read: the pedigree of Table 2.1, its T and D, F5, the rows of sires
1, 4 and 5, both inverses (their entries as printed, two decimals), and of p. 235 two rows of the
inverse and the beginning of a third. The inverse of Table 2.1 with inbreeding is from memory of the
print and follows from T and D. The pedigree of example 4.1 was rebuilt: it reproduces the print.
Methods: Henderson 1976, Biometrics 32:69; Quaas 1976, Biometrics 32:949.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
import pytest

from matchmaker.genetics.kin.ancestry import ancestry_of
from matchmaker.genetics.kin.layers import layers_of
from matchmaker.genetics.kin.sweeps import decomposition_of
from matchmaker.genetics.traits.kindred import kindred_of
from tests.published.pedigrees import (
    INVERSES,
    Matrix,
    Parents,
    fractions,
    inbreeding,
    inverse,
    kinship,
    pedigree_of,
    printed,
    relationship,
    rounded,
)

if TYPE_CHECKING:
    from collections.abc import Callable

Inverse: TypeAlias = "Callable[[list[Parents]], Matrix]"

TABLE_2_1 = printed("1 - -", "2 - -", "3 1 2", "4 1 -", "5 4 3", "6 5 2")
EXAMPLE_3_1 = printed("1 - -", "2 - -", "3 - -", "4 1 -", "5 3 2", "6 1 2", "7 4 5", "8 3 6")
EXAMPLE_4_1 = printed("1 - -", "2 - -", "3 - -", "4 1 2", "5 3 -", "6 1 5", "7 3 4", "8 1 7")


RELATED_2_1 = fractions(
    "1 0 1/2 1/2 1/2 1/4",
    "0 1 1/2 0 1/4 5/8",
    "1/2 1/2 1 1/4 5/8 9/16",
    "1/2 0 1/4 1 5/8 5/16",
    "1/2 1/4 5/8 5/8 9/8 11/16",
    "1/4 5/8 9/16 5/16 11/16 9/8",
)


def test_relationships_of_table_2_1() -> None:
    assert relationship(TABLE_2_1) == RELATED_2_1


def test_relationships_follow_from_the_printed_factors() -> None:
    """A = T D T', p. 27; the last D is printed .469, exactly 15/32."""
    lower = fractions(
        "1 0 0 0 0 0",
        "0 1 0 0 0 0",
        ".5 .5 1 0 0 0",
        ".5 0 0 1 0 0",
        ".5 .25 .5 .5 1 0",
        ".25 .625 .25 .25 .5 1",
    )
    spread = [Fraction(one) for one in ("1", "1", ".5", ".75", ".5", "15/32")]
    product = [
        [sum((a * d * b for a, d, b in zip(one, spread, other, strict=True)), Fraction(0))
         for other in lower]
        for one in lower
    ]  # fmt: skip
    assert relationship(TABLE_2_1) == product


def test_the_printed_factors_themselves() -> None:
    """D is twice what Mendelian sampling adds to kinship, T the inverse of I less the weights."""
    ancestry = ancestry_of(pedigree_of(TABLE_2_1))
    layers = layers_of(ancestry, np.ones(ancestry.size, dtype=np.bool_))
    taken_apart = decomposition_of(layers)
    place = layers.place_of[ancestry.birds]
    off = np.eye(layers.size) - taken_apart.weights().toarray()
    assert (2 * taken_apart.within[place]).tolist() == [1, 1, 0.5, 0.75, 0.5, 15 / 32]
    assert kindred_of(ancestry).within.tolist() == [1, 1, 0.5, 0.75, 0.5, 15 / 32]
    assert np.linalg.inv(off)[np.ix_(place, place)][5].tolist() == [0.25, 0.625, 0.25, 0.25, 0.5, 1]


def test_inbreeding_of_animal_5_is_an_eighth() -> None:
    assert inbreeding(TABLE_2_1)["5"] == Fraction("0.125")


RELATED_SIRES = fractions("1 .5 .5", ".5 1 .625", ".5 .625 1.125")


def test_relationships_among_the_sires() -> None:
    """Page 32."""
    found = [[2 * cell for cell in row] for row in kinship(TABLE_2_1, ["1", "4", "5"])]
    assert found == RELATED_SIRES


def test_a_chick_of_5_and_6_would_be_eleven_thirtyseconds_inbred() -> None:
    """Own arithmetic from the printed matrix: half of 11/16."""
    assert inbreeding([*TABLE_2_1, ("7", "5", "6")])["7"] == Fraction(11, 32)


INVERSE_2_1 = fractions(
    "1.8333 .5 -1 -.6667 0 0",
    ".5 2.0333 -1 0 .5333 -1.0667",
    "-1 -1 2.5 .5 -1 0",
    "-.6667 0 .5 1.8333 -1 0",
    "0 .5333 -1 -1 2.5333 -1.0667",
    "0 -1.0667 0 0 -1.0667 2.1333",
)


@pytest.mark.parametrize("inverse_of", INVERSES)
def test_inverse_of_table_2_1_with_inbreeding(inverse_of: Inverse) -> None:
    assert rounded(inverse_of(TABLE_2_1), 4) == INVERSE_2_1


PRINTED_INVERSES: dict[str, tuple[list[Parents], int, Matrix]] = {
    "example 3.1": (
        EXAMPLE_3_1,
        3,
        fractions(
            "1.833 .5 0 -.667 0 -1 0 0",
            ".5 2 .5 0 -1 -1 0 0",
            "0 .5 2 0 -1 .5 0 -1",
            "-.667 0 0 1.833 .5 0 -1 0",
            "0 -1 -1 .5 2.5 0 -1 0",
            "-1 -1 .5 0 0 2.5 0 -1",
            "0 0 0 -1 -1 0 2 0",
            "0 0 -1 0 0 -1 0 2",
        ),
    ),
    "example 4.1": (
        EXAMPLE_4_1,
        2,
        fractions(
            "2.50 .50 0 -1 .50 -1 .50 -1",
            ".50 1.50 0 -1 0 0 0 0",
            "0 0 1.83 .50 -.67 0 -1 0",
            "-1 -1 .50 2.50 0 0 -1 0",
            ".50 0 -.67 0 1.83 -1 0 0",
            "-1 0 0 0 -1 2 0 0",
            ".50 0 -1 -1 0 0 2.50 -1",
            "-1 0 0 0 0 0 -1 2",
        ),
    ),
}
"""By example: its pedigree, decimals printed, and the inverse."""


@pytest.mark.parametrize("inverse_of", INVERSES)
@pytest.mark.parametrize("example", PRINTED_INVERSES)
def test_printed_inverses(example: str, inverse_of: Inverse) -> None:
    rows, digits, matrix = PRINTED_INVERSES[example]
    assert rounded(inverse_of(rows), digits) == matrix


GRANDSIRES = printed("1 - -", "2 - -", "3 1 -", "4 2 1", "5 3 2", "6 2 3")
"""Page 235: bull, its sire, the sire of its dam."""


def test_inverse_where_only_sires_and_maternal_grandsires_are_known() -> None:
    """A dam nobody wrote down is put in for each bull: her sire's chick by an unrelated hen."""
    rows = [
        row
        for bull, sire, grandsire in GRANDSIRES
        for row in ((f"dam of {bull}", grandsire, ""), (bull, sire, f"dam of {bull}"))
    ]
    bulls = [[2 * cell for cell in row] for row in kinship(rows, [row[0] for row in GRANDSIRES])]
    found = rounded(inverse(bulls), 3)
    assert [found[0]] == fractions("1.424 .182 -.667 -.364 0 0")
    assert [found[1][:4]] == fractions(".182 1.818 .364 -.727")
    assert [found[2]] == fractions("-.667 .364 1.788 0 -.727 -.364")
