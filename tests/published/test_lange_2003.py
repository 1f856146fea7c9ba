"""Lange, Applied Probability (Springer), sec. 5.2-5.3, Table 5.1 and Figure 5.1 (pp. 82-91, read).

The nine condensed identity coefficients of the brother and sister of Figure 5.1 give their
kinship; the fractions on p. 86 were scrambled in the copy read and put in order by enumerating
all 256 paths of the genes.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from tests.published.pedigrees import Parents, inbreeding, kinship, printed

SIBS = printed("1 - -", "2 - -", "3 1 2", "4 1 2", "5 3 4", "6 3 4")
CONDENSED = [
    Fraction(one)
    for one in "1/16 1/32 1/8 1/32 1/8 1/32 7/32 5/16 1/16".split()  # noqa: SIM905
]


def test_identity_coefficients_give_the_kinship() -> None:
    """Page 85: kinship is D1 + (D3 + D5 + D7) / 2 + D8 / 4."""
    first, _, third, _, fifth, _, seventh, eighth, _ = CONDENSED
    assert sum(CONDENSED) == 1
    from_coefficients = first + (third + fifth + seventh) / 2 + eighth / 4
    assert kinship(SIBS, ["5", "6"])[0][1] == from_coefficients == Fraction(3, 8)


@pytest.mark.parametrize(
    ("pair", "expected"),
    [(("5", "5"), "5/8"), (("3", "5"), "3/8"), (("1", "5"), "1/4"), (("3", "4"), "1/4")],
)
def test_kinship_in_figure_5_1(pair: tuple[str, str], expected: str) -> None:
    assert kinship(SIBS, pair)[0][1] == Fraction(expected)


def test_inbreeding_in_figure_5_1() -> None:
    assert inbreeding(SIBS)["5"] == Fraction(1, 4)


KIN = printed(
    *("A - -", "B - -", "C - -", "D - -", "E - -", "G - -", "X - -", "Y - -"),
    *("S1 A B", "S2 A B", "HALF A C"),  # full sibs and a half sib
    *("T1 D E", "T2 D E"),  # another pair of full sibs
    *("K1 S1 C", "K2 S2 G"),  # first cousins
    *("Q1 S1 T1", "Q2 S2 T2"),  # double first cousins
    *("N1 K1 X", "N2 K2 Y"),  # second cousins
)


TABLE_5_1 = {
    "parent and offspring": ("A", "S1", "1/4"),
    "half sibs": ("S1", "HALF", "1/8"),
    "full sibs": ("S1", "S2", "1/4"),
    "first cousins": ("K1", "K2", "1/16"),
    "double first cousins": ("Q1", "Q2", "1/8"),
    "second cousins": ("N1", "N2", "1/64"),
    "uncle and niece": ("S1", "K2", "1/8"),
}
"""Two of ``KIN`` and their kinship."""


@pytest.mark.parametrize("kin", TABLE_5_1)
def test_table_5_1(kin: str) -> None:
    """Page 82; the inbreeding of a chick of the two is the same number."""
    first, second, expected = TABLE_5_1[kin]
    chick: Parents = ("CHICK", first, second)
    assert kinship(KIN, [first, second])[0][1] == Fraction(expected)
    assert inbreeding([*KIN, chick])["CHICK"] == Fraction(expected)
