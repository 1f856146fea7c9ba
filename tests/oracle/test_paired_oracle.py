"""Intervals and quantiles beside scipy's, and how often the paired interval holds the truth."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from matchmaker.ahead import paired
from matchmaker.ahead.paired import paired_chances, wilson_interval
from matchmaker.ahead.student import above, quantile_above


@pytest.mark.parametrize("degrees", [1, 2, 3, 4, 9, 10, 59, 199, 200])
def test_students_t_is_that_of_scipy(degrees: int) -> None:
    for t in (-4.0, -0.5, 0.0, 0.1, 1.0, 2.5, 6.0):
        assert above(t, degrees) == pytest.approx(stats.t.sf(t, degrees), rel=1e-9, abs=1e-13)
    for chance in (0.5, 0.1, 0.025, 0.001, 1e-5):
        assert quantile_above(chance, degrees) == pytest.approx(
            stats.t.isf(chance, degrees), rel=1e-8, abs=1e-9
        )


@pytest.mark.parametrize("of", [1, 7, 50, 200])
def test_wilsons_interval_is_that_of_scipy(of: int) -> None:
    for times in range(of + 1):
        for level in (0.5, 0.95, 0.99):
            low, high = stats.binomtest(times, of).proportion_ci(level, method="wilson")
            assert wilson_interval(times, of, level) == pytest.approx((low, high), abs=1e-12)


REPEATED = 1000
NOISE = 3 * (0.95 * 0.05 / REPEATED) ** 0.5


def times_held(count: int, both: float, only_first: float, only_second: float) -> float:
    """How often the interval of a difference in ``count`` replicates holds the true one."""
    rng = np.random.default_rng([count, round(100 * both)])
    held = 0
    for _ in range(REPEATED):
        luck = rng.random(count)
        first = luck < both + only_first
        second = (luck < both) | (luck > 1 - only_second)
        found = paired_chances(first, second)
        held += found.low <= only_first - only_second <= found.high
    return held / REPEATED


@pytest.mark.parametrize("count", [20, 60])
@pytest.mark.parametrize("both", [0.05, 0.5, 0.85])
def test_the_interval_of_two_chances_holds_the_truth_as_often_as_it_says(
    count: int, both: float
) -> None:
    assert 0.95 - NOISE <= times_held(count, both, 0.1, 0.03) < 1


def test_without_its_correction_the_interval_would_be_too_short(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def plain(both: int, times: int, others: int, count: int) -> float:
        spread = (times * (count - times) * others * (count - others)) ** 0.5
        return (count * both - times * others) / spread if spread else 0.0

    monkeypatch.setattr(paired, "_correlation", plain)
    assert times_held(20, 0.5, 0.1, 0.03) < 0.95 - NOISE
