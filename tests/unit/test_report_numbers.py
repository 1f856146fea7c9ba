"""Numbers as people read them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from matchmaker.report.numbers import chicks_text, kinship_text, percent, share_text, signed

CHANCES = st.floats(0, 1)


@pytest.mark.parametrize(
    ("share", "digits", "text"),
    [
        (0, 0, "0 %"),
        (1, 0, "100 %"),
        (0.5, 0, "50 %"),
        (0.996, 0, "> 99 %"),
        (0.004, 0, "< 1 %"),
        (0.9996, 1, "> 99.9 %"),
        (0.0004, 1, "< 0.1 %"),
        (0.125, 1, "12.5 %"),
    ],
)
def test_percent(share: float, digits: int, text: str) -> None:
    assert percent(share, digits) == text


@given(CHANCES)
def test_only_certainty_is_printed_as_certainty(share: float) -> None:
    assert (percent(share) == "100 %") == (share == 1)
    assert (percent(share) == "0 %") == (share == 0)


@given(CHANCES)
def test_percent_is_within_half_a_step(share: float) -> None:
    text = percent(share, 1)
    if text[0] not in "<>":
        assert abs(float(text.removesuffix(" %")) / 100 - share) <= 0.0005 + 1e-12


@pytest.mark.parametrize(
    ("share", "text"),
    [(0.5, "50 %"), (0.75, "75 %"), (0.875, "87.5 %"), (0.9375, "93.8 %"), (1, "100 %")],
)
def test_shares_have_a_decimal_only_where_it_says_something(share: float, text: str) -> None:
    """The expected shares of four backcrosses: 50, 75, 87.5, 93.75 % (common practice)."""
    assert share_text(share) == text


@pytest.mark.parametrize(
    ("kinship", "text"),
    [(0, "0"), (0.0001, "< 0.001"), (0.0005, "0.001"), (0.25, "0.250"), (0.015625, "0.016")],
)
def test_kinship(kinship: float, text: str) -> None:
    assert kinship_text(kinship) == text


@pytest.mark.parametrize(("chicks", "text"), [(0, "0"), (9.94, "9.9"), (10, "10"), (31.7, "32")])
def test_chicks(chicks: float, text: str) -> None:
    assert chicks_text(chicks) == text


@pytest.mark.parametrize(
    ("number", "text"), [(0.254, "+0.25"), (-0.1, "−0.10"), (-0.004, "0.00"), (12, "+12.00")]
)
def test_signed(number: float, text: str) -> None:
    assert signed(number) == text
