"""Davenport 1909, Inheritance of Characteristics in Domestic Fowl, Carnegie Inst. Publ. 121.

Counts read in full text (Project Gutenberg 48288); the chi-squares were worked out beforehand by
a script apart from this project. Ratios come from the engine.
"""

from __future__ import annotations

import pytest

from matchmaker.genetics.loci import Locus, catalogue
from tests.published.crosses import chi_square, chicks, p_value, shown

BLACK = Locus(symbol="Black", name="black")
"""Black over game colour, dominant."""


def f2(locus: Locus) -> float:
    return shown(locus, "F1-COCK", "F1-HEN")


@pytest.mark.parametrize(
    ("counts", "statistic", "p"),
    [
        pytest.param((64, 23), 0.0958, 0.757, id="pen 824, black and game"),
        pytest.param((30, 14), 1.0909, 0.296, id="pen 804, other hens, black and game"),
    ],
)
def test_black_and_game_f2(counts: tuple[int, int], statistic: float, p: float) -> None:
    black = f2(BLACK)
    found = chi_square(counts, (black, 1 - black))
    assert found == pytest.approx(statistic, abs=5e-5)
    assert p_value(found, 2) == pytest.approx(p, abs=5e-4)


def test_white_leghorn_by_black_minorca_f2() -> None:
    """Pen 633: 116 whitish, 38 black."""
    white = f2(catalogue()["I"])
    found = chi_square((116, 38), (white, 1 - white))
    assert found == pytest.approx(0.0087, abs=5e-5)
    assert p_value(found, 2) == pytest.approx(0.926, abs=5e-4)


@pytest.mark.parametrize(
    ("counts", "statistic", "p"),
    [
        pytest.param((210, 95, 57), 2.1657, 0.339, id="Table 58, total"),
        pytest.param((119, 55, 31), 1.8314, 0.400, id="pen 709"),
        pytest.param((91, 40, 26), 0.4975, 0.780, id="pen 804"),
        pytest.param((40, 13, 14), 1.1459, 0.564, id="pen 804, F1 cock on like hens"),
    ],
)
def test_silkie_by_minorca_f2_black_white_game(
    counts: tuple[int, int, int], statistic: float, p: float
) -> None:
    """Recessive white over black over game: two unlinked loci."""
    white, black = f2(catalogue()["c"]), f2(BLACK)
    ratio = ((1 - white) * black, white, (1 - white) * (1 - black))
    assert ratio == pytest.approx((9 / 16, 4 / 16, 3 / 16), abs=1e-15)
    found = chi_square(counts, ratio)
    assert found == pytest.approx(statistic, abs=5e-5)
    assert p_value(found, 3) == pytest.approx(p, abs=5e-4)


SPLIT = Locus(symbol="Split", name="split comb", dominance="incomplete")
"""One copy splits the comb (Y), none leaves it single (I), two leave no median element."""


def test_split_comb_by_single() -> None:
    """Table 6: 95 with the Y comb, 95 single (the printed total of 189 is a misprint)."""
    plain, split, none = chicks(SPLIT, "F1-COCK", "PLAIN-HEN", "hen")
    assert none == 0
    assert chi_square((95, 95), (split, plain)) == 0


def test_split_by_split_fits_badly_as_printed() -> None:
    """471 Y, 289 I, 236 none: a published bad fit, which a right test must not call good."""
    plain, split, none = chicks(SPLIT, "F1-COCK", "F1-HEN", "hen")
    found = chi_square((471, 289, 236), (split, plain, none))
    assert found == pytest.approx(8.5683, abs=5e-5)
    assert p_value(found, 3) == pytest.approx(0.014, abs=5e-4)
