"""The exact test of a hatch beside brute force, beside scipy, and drawn beside gone through."""

from __future__ import annotations

from itertools import product
from math import comb
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import multinomial

from matchmaker.hatch import exact, explanations
from matchmaker.hatch.exact import exact_fit, likelihood

if TYPE_CHECKING:
    from collections.abc import Sequence


def by_hand(
    counts: Sequence[int], chances: Sequence[Sequence[float]], weights: Sequence[float]
) -> tuple[float, float]:
    """The chance of these counts and the sum of all no likelier, one way after the other."""
    total = sum(counts)

    def chance(way: Sequence[int]) -> float:
        pairs = zip(weights, chances, strict=True)
        return sum(w * float(multinomial.pmf(way, total, row)) for w, row in pairs)

    ways = [w for w in product(range(total + 1), repeat=len(counts)) if sum(w) == total]
    own = chance(counts)
    return own, sum(found for found in map(chance, ways) if found <= own * (1 + 1e-7))


@st.composite
def hatches(
    draw: st.DrawFn,
) -> tuple[tuple[int, ...], list[tuple[float, ...]], tuple[float, ...]]:
    """Counts with what the parents may be; chances of nought and of one among them."""
    classes = draw(st.integers(2, 4))
    counts = tuple(draw(st.lists(st.integers(0, 5), min_size=classes, max_size=classes)))
    parts = st.lists(st.integers(0, 4), min_size=classes, max_size=classes).filter(any)
    rows = draw(st.lists(parts, min_size=1, max_size=3))
    chances = [tuple(part / sum(row) for part in row) for row in rows]
    shares = draw(st.lists(st.integers(1, 5), min_size=len(rows), max_size=len(rows)))
    return counts, chances, tuple(share / sum(shares) for share in shares)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(hatches())
def test_it_is_as_by_hand(
    told: tuple[tuple[int, ...], list[tuple[float, ...]], tuple[float, ...]],
) -> None:
    counts, chances, weights = told
    own, p = by_hand(counts, chances, weights)
    found = exact_fit(counts, chances, weights)
    assert found.ways == comb(sum(counts) + len(counts) - 1, len(counts) - 1)
    assert found.chance == pytest.approx(own, rel=1e-9, abs=1e-300)
    assert found.p == pytest.approx(p, rel=1e-6, abs=1e-12)
    assert found.impossible == (own == 0)
    assert likelihood(counts, chances, weights) == found.chance


def test_parents_that_may_be_two_things_make_extremes_likely() -> None:
    """A hen that may be pure or not: no single comb among ten is no wonder."""
    chances, weights = [(0.5, 0.5), (1.0, 0.0)], (0.5, 0.5)
    assert exact_fit((10, 0), chances, weights).p > 0.9
    assert exact_fit((10, 0), [(0.75, 0.25)]).p == pytest.approx(0.0755, abs=1e-3)


def test_too_many_ways_are_drawn_and_say_how_sure(monkeypatch: pytest.MonkeyPatch) -> None:
    counts, chances, weights = (9, 4, 7, 3), [(0.4, 0.1, 0.3, 0.2), (0.25,) * 4], (0.7, 0.3)
    whole = exact_fit(counts, chances, weights)
    monkeypatch.setattr(exact, "MOST_CELLS", 10)
    drawn = exact_fit(counts, chances, weights)
    assert whole.draws == 0
    assert whole.error == 0
    assert drawn.draws == exact.DRAWS
    assert 0 < drawn.error < 0.002
    assert abs(drawn.p - whole.p) < 5 * drawn.error
    assert drawn == exact_fit(counts, chances, weights)


def test_an_impossible_chick_stays_impossible_when_drawn(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(exact, "MOST_CELLS", 1)
    found = exact_fit((9, 1), [(1.0, 0.0)])
    assert found.impossible
    assert found.p < 1e-4


def test_one_class_and_no_chick_are_as_expected() -> None:
    assert exact_fit((7,), [(1.0,)]).p == 1.0
    assert exact_fit((0, 0), [(0.5, 0.5)]).p == 1.0


def test_many_chicks_are_taken_in_pieces(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = exact_fit((300, 280), [(0.5, 0.5)])
    monkeypatch.setattr(exact, "CHUNK", 7)
    assert exact_fit((300, 280), [(0.5, 0.5)]).p == pytest.approx(whole.p, rel=1e-12)


@pytest.mark.parametrize(
    ("counts", "chances", "weights"),
    [
        ((1, 2), [(0.5, 0.5, 0.0)], (1.0,)),
        ((1, 2), [(0.5, 0.4)], (1.0,)),
        ((1, 2), [(0.5, 0.5)], (0.5,)),
        ((1, -2), [(0.5, 0.5)], (1.0,)),
    ],
)
def test_what_does_not_agree_is_refused(
    counts: tuple[int, ...], chances: list[tuple[float, ...]], weights: tuple[float, ...]
) -> None:
    with pytest.raises(ValueError, match="chances"):
        exact_fit(counts, chances, weights)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(hatches(), st.integers(1, 3))
def test_the_number_of_each_sex_is_taken_as_given(
    told: tuple[tuple[int, ...], list[tuple[float, ...]], tuple[float, ...]], split: int
) -> None:
    """By hand: of all hatches those with as many sons, and how often they come."""
    counts, chances, weights = told
    split = min(split, len(counts) - 1)
    total, sons = sum(counts), sum(counts[:split])
    ways = [w for w in product(range(total + 1), repeat=len(counts)) if sum(w) == total]
    own = {
        way: sum(
            w * float(multinomial.pmf(way, total, row))
            for w, row in zip(weights, chances, strict=True)
        )
        for way in ways
        if sum(way[:split]) == sons
    }
    given_sex, here = sum(own.values()), own[counts]
    found = exact_fit(counts, chances, weights, split=split)
    if given_sex > 0:
        assert found.chance == pytest.approx(here / given_sex, rel=1e-6, abs=1e-12)
        odd = sum(chance for chance in own.values() if chance <= here * (1 + 1e-7))
        assert found.p == pytest.approx(odd / given_sex, rel=1e-6, abs=1e-9)
    else:
        assert found.impossible


def test_drawn_with_the_sexes_given(monkeypatch: pytest.MonkeyPatch) -> None:
    counts, chances = (3, 1, 0, 5), [(0.3, 0.2, 0.1, 0.4), (0.1, 0.4, 0.25, 0.25)]
    whole = exact_fit(counts, chances, (0.5, 0.5), split=2)
    monkeypatch.setattr(exact, "MOST_CELLS", 1)
    drawn = exact_fit(counts, chances, (0.5, 0.5), split=2)
    assert drawn.chance == whole.chance
    assert abs(drawn.p - whole.p) < 5 * drawn.error


def test_who_misreads_a_look_does_not_misread_the_sex() -> None:
    """Two looks of sons, then of daughters: one in twenty sons of the one is written as the other.

    The one in twenty is common practice, no source.
    """
    sexed = explanations._blurred(np.array([[0.5, 0.0, 0.0, 0.5]]), 2)
    assert sexed.tolist() == [pytest.approx([0.475, 0.025, 0.025, 0.475])]
    alike = explanations._blurred(np.array([[0.5, 0.5, 0.0]]), 1)
    assert alike.tolist() == [pytest.approx([0.4875, 0.4875, 0.025])]
