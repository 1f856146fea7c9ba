"""What replicates say: means, chances and differences with their errors."""

from __future__ import annotations

import math

import numpy as np
import pytest

from matchmaker.ahead.paired import (
    chance,
    paired_chances,
    paired_difference,
    summary,
    wilson_interval,
)
from matchmaker.ahead.student import quantile_above

NAN = math.nan


def test_missing_values_are_left_out_and_counted() -> None:
    found = summary([4.0, NAN, 2.0, 6.0, NAN], quantiles=(0.0, 0.5, 1.0))
    assert (found.mean, found.replicates, found.missing) == (4.0, 3, 2)
    assert found.se == pytest.approx(2 / math.sqrt(3))
    assert found.quantiles == ((0.0, 2.0), (0.5, 4.0), (1.0, 6.0))


def test_of_nothing_and_of_one_there_is_no_error() -> None:
    nothing, one = summary([NAN, NAN]), summary([3.0])
    assert math.isnan(nothing.mean)
    assert math.isnan(nothing.se)
    assert all(math.isnan(value) for _, value in nothing.quantiles)
    assert (nothing.replicates, nothing.missing) == (0, 2)
    assert one.mean == 3.0
    assert math.isnan(one.se)


def test_a_difference_is_of_the_replicates_in_which_both_have_a_value() -> None:
    found = paired_difference([5.0, NAN, 7.0, 1.0], [4.0, 2.0, 9.0, NAN])
    assert (found.mean, found.replicates, found.missing) == (-0.5, 2, 2)
    assert found.se == pytest.approx(1.5)


def test_luck_that_both_share_does_not_count() -> None:
    luck = np.random.default_rng(4).normal(scale=100.0, size=50)
    found = paired_difference(luck + 1.0, luck)
    assert found.mean == pytest.approx(1.0)
    assert found.se < 1e-9
    assert summary(luck).se > 5.0


@pytest.mark.parametrize("two", [paired_difference, paired_chances])
def test_replicates_that_do_not_go_together_are_refused(two: object) -> None:
    assert callable(two)
    with pytest.raises(ValueError, match="2 are not 3"):
        two([0.0, 1.0], [0.0, 1.0, 1.0])


def test_a_chance_is_of_zeros_and_ones() -> None:
    found = chance([True, False, 1, NAN, 0])
    assert (found.share, found.times, found.replicates, found.missing) == (0.5, 2, 4, 1)
    assert (found.low, found.high) == wilson_interval(2, 4)
    with pytest.raises(ValueError, match=r"0\.5 is neither"):
        chance([0.5, 1.0])


def test_the_chance_of_nothing_may_be_anything() -> None:
    found = chance([NAN])
    assert math.isnan(found.share)
    assert (found.low, found.high) == (0.0, 1.0)


@pytest.mark.parametrize(
    ("times", "of", "level", "words"),
    [(3, 2, 0.95, "3 times in 2"), (-1, 2, 0.95, "-1 times"), (1, 2, 1.0, "not 1.0")],
)
def test_an_interval_of_what_cannot_be_is_refused(
    times: int, of: int, level: float, words: str
) -> None:
    with pytest.raises(ValueError, match=words):
        wilson_interval(times, of, level)


def test_only_the_replicates_that_differ_tell_two_chances_apart() -> None:
    first = [1] * 30 + [1] * 6 + [0] * 2 + [0] * 12
    second = [1] * 30 + [0] * 6 + [1] * 2 + [0] * 12
    found = paired_chances(first, second)
    assert (found.only_first, found.only_second, found.replicates) == (6, 2, 50)
    assert found.difference == pytest.approx(4 / 50)
    assert found.se == pytest.approx(math.sqrt((8 - 16 / 50) / 50 / 49))
    assert found.low < 0 < found.difference < found.high


def test_two_that_never_differed_may_still() -> None:
    found = paired_chances([1] * 20, [1] * 20)
    assert (found.difference, found.se) == (0.0, 0.0)
    assert found.low == pytest.approx(-0.1611, abs=5e-5)
    assert found.high == pytest.approx(0.1611, abs=5e-5)


def test_chances_of_no_replicate_tell_nothing() -> None:
    found = paired_chances([NAN, 1.0], [0.0, NAN])
    assert math.isnan(found.difference)
    assert (found.low, found.high, found.missing) == (-1.0, 1.0, 2)


@pytest.mark.parametrize("wrong", [0.0, -0.1, 0.6])
def test_a_quantile_needs_a_small_chance(wrong: float) -> None:
    with pytest.raises(ValueError, match=r"at most 0\.5"):
        quantile_above(wrong, 5)
