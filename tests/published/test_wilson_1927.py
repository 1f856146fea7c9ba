"""Wilson's interval of a chance: Wilson 1927, J Am Stat Assoc 22:209 (from memory).

Ten birds: the values of prop.test in R 3.6.2 without correction for continuity, read where scipy's
own tests print them. The larger samples: Newcombe 1998, Stat Med 17:857, Table I (from memory).
"""

from __future__ import annotations

import pytest

from matchmaker.ahead.paired import wilson_interval


@pytest.mark.parametrize(
    ("times", "level", "low", "high"),
    [
        (3, 0.95, 0.1077913, 0.6032219),
        (3, 0.99, 0.07956632, 0.6799753),
        (3, 0.90, 0.1268766, 0.5583002),
        (0, 0.95, 0.0, 0.2775328),
        (10, 0.95, 0.7224672, 1.0),
    ],
)
def test_of_ten_as_r_has_it(times: int, level: float, low: float, high: float) -> None:
    """That at 0.90 are R's one-sided limits at 0.95."""
    assert wilson_interval(times, 10, level) == pytest.approx((low, high), rel=1e-6)


@pytest.mark.parametrize(
    ("times", "of", "low", "high"),
    [
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_of_newcombes_samples(times: int, of: int, low: float, high: float) -> None:
    assert wilson_interval(times, of) == pytest.approx((low, high), abs=5e-5)
