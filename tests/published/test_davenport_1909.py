"""Davenport 1909, Inheritance of Characteristics in Domestic Fowl, Carnegie Inst. Publ. 121.

Counts read in full text (Project Gutenberg 48288); the chi-squares were worked out beforehand by
a script apart from this project. Ratios come from the engine.
"""

from __future__ import annotations

import pytest

from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.genetics.loci.locus import Locus
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


BUFF = Locus(symbol="Buff", name="buff")
GAME = Locus(symbol="Game", name="game colour", dominance="dominant")
"""The game pattern as a gene that a coloured bird needs to show it."""


def test_silkie_by_buff_cochin_f2_buff_white_game() -> None:
    """Table 62: 34 buff, 17 white, 7 game; recessive white, buff over game, three loci."""
    coloured, buff, game = 1 - f2(catalogue()["c"]), f2(BUFF), f2(GAME)
    shown_buff, shown_game = coloured * buff, coloured * (1 - buff) * game
    ratio = (shown_buff, 1 - shown_buff - shown_game, shown_game)
    assert ratio == pytest.approx((36 / 64, 19 / 64, 9 / 64), abs=1e-15)
    found = chi_square((34, 17, 7), ratio)
    assert found == pytest.approx(0.2246, abs=5e-5)
    assert p_value(found, 3) == pytest.approx(0.894, abs=5e-4)


def test_silkie_by_white_leghorn_f2_white_game_black() -> None:
    """Table 60: 68 white, 16 game, 1 black; dominant white, recessive white, game over black."""
    coloured = (1 - f2(catalogue()["I"])) * (1 - f2(catalogue()["c"]))
    ratio = (1 - coloured, coloured * f2(GAME), coloured * (1 - f2(GAME)))
    assert ratio == pytest.approx((52 / 64, 9 / 64, 3 / 64), abs=1e-15)
    found = chi_square((68, 16, 1), ratio)
    assert found == pytest.approx(3.6218, abs=5e-5)
    assert p_value(found, 3) == pytest.approx(0.164, abs=5e-4)


@pytest.mark.parametrize(
    ("dam", "counts", "ratio", "statistic", "p"),
    [
        pytest.param("F1-HEN", (61, 17, 8), (12 / 16, 3 / 16, 1 / 16), 1.5194, 0.468, id="F2"),
        pytest.param("PLAIN-HEN", (7, 10, 4), (1 / 2, 1 / 4, 1 / 4), 5.7619, 0.056, id="pen 848"),
    ],
)
def test_black_by_buff_cochin_black_buff_white(
    dam: str,
    counts: tuple[int, int, int],
    ratio: tuple[float, float, float],
    statistic: float,
    p: float,
) -> None:
    """F2, and pen 848 back to the double recessive: black over buff over white."""
    black, buff = shown(BLACK, "F1-COCK", dam), shown(BUFF, "F1-COCK", dam)
    assert (black, (1 - black) * buff, (1 - black) * (1 - buff)) == pytest.approx(ratio, abs=1e-15)
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
