"""Counts of Davenport 1909, Inheritance of Characteristics in Domestic Fowl, and of Landauer's and
Warren & Hutt's crosses, through the one exact test that every hatch goes through.

Counts and ratios as in ``test_davenport_1909.py``, ``test_hutt_1930.py``, ``test_punnett_1911.py``
and ``test_linked_crosses.py``; chi-squares were worked out beforehand by a script apart from this
project. Exact chances are own arithmetic: whole fractions for the small ones, and for the others
what a general library (scipy) says of the same counts.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import product
from math import factorial, prod

import pytest
from scipy.stats import binomtest

from matchmaker.hatch.exact import exact_fit
from tests.published.test_davenport_1909 import CROSSES

NEAR = 0.075
"""Chi-square is an approximation: on these counts (85 to 996 chicks) so far from exact at most."""


def chances(ratio: tuple[int, ...]) -> tuple[float, ...]:
    return tuple(part / sum(ratio) for part in ratio)


@pytest.mark.parametrize("cross", CROSSES)
def test_davenport(cross: str) -> None:
    printed = CROSSES[cross]
    found = exact_fit(printed.counts, [printed.expected])
    assert found.draws == 0
    assert found.p == pytest.approx(printed.p, abs=NEAR)
    assert (found.p < 0.05) == (printed.p < 0.05)


@pytest.mark.parametrize("cross", [name for name, told in CROSSES.items() if len(told.counts) == 2])
def test_two_classes_are_as_the_library_has_them(cross: str) -> None:
    printed = CROSSES[cross]
    total = sum(printed.counts)
    other = binomtest(printed.counts[0], total, printed.expected[0]).pvalue
    assert exact_fit(printed.counts, [printed.expected]).p == pytest.approx(other, rel=1e-6)


def test_pen_848_in_whole_fractions() -> None:
    """21 chicks, 253 ways: every one weighed in fractions."""
    printed = CROSSES["pen 848, back to the double recessive"]
    counts, ratio = printed.counts, printed.ratio
    total = sum(counts)

    def chance(way: tuple[int, ...]) -> Fraction:
        arranged = Fraction(factorial(total), prod(map(factorial, way)))
        parts = (Fraction(r, sum(ratio)) ** n for r, n in zip(ratio, way, strict=True))
        return arranged * prod(parts)

    ways = [w for w in product(range(total + 1), repeat=3) if sum(w) == total]
    own = chance(counts)
    p = sum(chance(way) for way in ways if chance(way) <= own)
    found = exact_fit(counts, [chances(ratio)])
    assert found.ways == len(ways)
    assert found.p == pytest.approx(float(p), rel=1e-9)
    assert found.chance == pytest.approx(float(own), rel=1e-9)


def test_four_combs_in_the_ratio_of_bateson_and_punnett() -> None:
    """Rose by pea: 9 walnut, 3 rose, 3 pea, 1 single; no counts were read, so the ratio itself."""
    assert exact_fit((9, 3, 3, 1), [chances((9, 3, 3, 1))]).p == pytest.approx(1.0)
    backcross = exact_fit((12, 12, 12, 12), [chances((1, 1, 1, 1))])
    assert backcross.p == pytest.approx(1.0)
    assert exact_fit((16, 0, 0, 0), [chances((9, 3, 3, 1))]).chance == pytest.approx((9 / 16) ** 16)


def test_frizzle() -> None:
    """Hutt 1930: of frizzled birds of two heterozygotes 5 were extreme and 18 ordinary, 1 to 2."""
    found = exact_fit((5, 18), [(1 / 3, 2 / 3)])
    assert found.p == pytest.approx(binomtest(5, 23, 1 / 3).pvalue, rel=1e-9)
    assert found.p > 0.05


def test_creeper_and_comb_are_not_unlinked() -> None:
    """Landauer, Creeper V: 24 of 6,627 chicks with the two parted, 0.36 per cent."""
    unlinked = exact_fit((24, 6603), [(0.5, 0.5)])
    linked = exact_fit((24, 6603), [(0.0036, 0.9964)])
    assert unlinked.p == 0.0
    assert linked.p == pytest.approx(binomtest(24, 6627, 0.0036).pvalue, rel=1e-6)
    assert linked.p > 0.9


@pytest.mark.parametrize(
    ("gametes", "share"), [(1984, 0.125), (1105, 0.171), (677, 0.294)], ids=["Cr-I", "I-F", "Cr-F"]
)
def test_crest_white_and_frizzle_are_linked(gametes: int, share: float) -> None:
    """Warren & Hutt (authors from memory): the parted gametes by the printed shares."""
    parted = round(gametes * share)
    counts = (parted, gametes - parted)
    assert exact_fit(counts, [(share, 1 - share)]).p > 0.95
    other = binomtest(parted, gametes, 0.5).pvalue
    assert exact_fit(counts, [(0.5, 0.5)]).p == pytest.approx(other, rel=1e-4)
    assert other < 1e-20
