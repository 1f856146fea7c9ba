"""What replicates say of one number, and of two that shared their luck: means, chances, errors.

A value may be missing (NaN): the share of a line that died out in this replicate. It is left out
and counted.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist
from typing import TYPE_CHECKING, Final, TypeAlias

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

QUANTILES: Final = (0.05, 0.25, 0.5, 0.75, 0.95)
"""Shown of a distribution unless asked otherwise: nine in ten, the middle half, the middle."""

LEVEL: Final = 0.95
"""How sure an interval is to hold the truth, unless asked otherwise."""

Values: TypeAlias = "Sequence[float] | NDArray[np.float64] | NDArray[np.bool_]"
"""One value per replicate, in their order; NaN where there is none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Summary:
    """One number over replicates, in its own unit.

    ``replicates`` had a value, ``missing`` had none. ``mean`` is NaN without any value, ``se`` (the
    standard error of the mean) with fewer than two. ``quantiles`` pairs each chance asked for with
    the value that so many replicates lie below.
    """

    mean: float
    se: float
    quantiles: tuple[tuple[float, float], ...]
    replicates: int
    missing: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """How much more the first of two gave than the second, over replicates with the same luck.

    ``replicates`` had a value in both, ``missing`` in one of them or in none.
    """

    mean: float
    se: float
    replicates: int
    missing: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Chance:
    """In which part of the replicates something came true, with its interval, 0 to 1."""

    share: float
    low: float
    high: float
    times: int
    replicates: int
    missing: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ChanceDifference:
    """How much more often something came true of the first than of the second, −1 to 1.

    ``only_first`` and ``only_second`` count the replicates in which it came true of one alone: they
    are all that tells the two apart.
    """

    difference: float
    se: float
    low: float
    high: float
    only_first: int
    only_second: int
    replicates: int
    missing: int


def summary(values: Values, quantiles: Sequence[float] = QUANTILES) -> Summary:
    """Mean, its standard error and quantiles of one number over replicates.

    Quantiles lie on the straight line between the two nearest values (Hyndman & Fan 1996, type 7;
    citation from memory).

    Examples
    --------
    >>> found = summary([1.0, 2.0, 3.0, float("nan")], quantiles=(0.5,))
    >>> found.mean, round(found.se, 3), found.quantiles, found.replicates, found.missing
    (2.0, 0.577, ((0.5, 2.0),), 3, 1)
    """
    whole = np.asarray(values, dtype=np.float64)
    there = whole[~np.isnan(whole)]
    mean, se = _mean_and_error(there)
    at = np.quantile(there, quantiles) if len(there) else np.full(len(quantiles), np.nan)
    return Summary(
        mean=mean,
        se=se,
        quantiles=tuple(zip(map(float, quantiles), at.tolist(), strict=True)),
        replicates=len(there),
        missing=len(whole) - len(there),
    )


def paired_difference(first: Values, second: Values) -> Difference:
    """Mean of (first − second) over the replicates in which both have a value.

    Place r of both is replicate r, which had the same luck in both; the standard error is that of
    the differences, so what the luck did to both alike does not count.

    Examples
    --------
    >>> found = paired_difference([5.0, 9.0, 7.0], [4.0, 8.0, 6.0])
    >>> found.mean, found.se
    (1.0, 0.0)

    Raises
    ------
    ValueError
        If the two have not the same number of replicates.
    """
    one, other = _side_by_side(first, second)
    apart = one - other
    there = apart[~np.isnan(apart)]
    mean, se = _mean_and_error(there)
    return Difference(mean=mean, se=se, replicates=len(there), missing=len(apart) - len(there))


def chance(values: Values, level: float = LEVEL) -> Chance:
    """In which part of the replicates something came true (1) or not (0), with Wilson's interval.

    Examples
    --------
    >>> found = chance([1, 1, 0, 1])
    >>> found.share, round(found.low, 3), round(found.high, 3)
    (0.75, 0.301, 0.954)

    Raises
    ------
    ValueError
        If a value is neither 0 nor 1 nor missing.
    """
    whole = _zeros_and_ones(values)
    there = whole[~np.isnan(whole)]
    times, count = int(there.sum()), len(there)
    low, high = wilson_interval(times, count, level)
    return Chance(
        share=times / count if count else math.nan,
        low=low,
        high=high,
        times=times,
        replicates=count,
        missing=len(whole) - count,
    )


def wilson_interval(times: int, of: int, level: float = LEVEL) -> tuple[float, float]:
    """The chances at which it would be no surprise to see something ``times`` times in ``of``.

    It never leaves 0 to 1 and is right also where something was seen never or always. Of no
    replicates at all it says nothing: 0 to 1.

    Source: Wilson 1927, J Am Stat Assoc 22:209, without correction for continuity.

    Examples
    --------
    >>> [round(end, 4) for end in wilson_interval(0, 20)]
    [0.0, 0.1611]

    Raises
    ------
    ValueError
        If ``times`` is not a count out of ``of``, or ``level`` not between 0 and 1.
    """
    if not 0 <= times <= of:
        msg = f"{times} times in {of} cannot be"
        raise ValueError(msg)
    if not 0 < level < 1:
        msg = f"level is a chance between 0 and 1, not {level}"
        raise ValueError(msg)
    if of == 0:
        return 0.0, 1.0
    z2 = NormalDist().inv_cdf((1 + level) / 2) ** 2
    middle = (times + z2 / 2) / (of + z2)
    half = math.sqrt(z2 * (times * (of - times) / of + z2 / 4)) / (of + z2)
    return (
        0.0 if times == 0 else middle - half,
        1.0 if times == of else middle + half,
    )


def paired_chances(first: Values, second: Values, level: float = LEVEL) -> ChanceDifference:
    """How much more often the first came true than the second, in the same replicates.

    The standard error is that of the mean of the differences −1, 0 and 1. The interval joins the
    two chances' own Wilson intervals by how they go together; it stays within −1 to 1 and does not
    shrink to nothing where the two never differed.

    Source: Newcombe 1998, Stat Med 17:2635, method 10, which corrects the correlation: without that
    the interval is too short in few replicates. Formula from memory; the tests count how often it
    holds the truth.

    Examples
    --------
    >>> found = paired_chances([1, 1, 1, 0], [1, 0, 1, 0])
    >>> found.difference, found.only_first, found.only_second, round(found.se, 3)
    (0.25, 1, 0, 0.25)

    Raises
    ------
    ValueError
        If a value is neither 0 nor 1 nor missing, or the two differ in their replicates.
    """
    one, other = _side_by_side(_zeros_and_ones(first), _zeros_and_ones(second))
    both = ~np.isnan(one - other)
    one, other = one[both], other[both]
    mean, se = _mean_and_error(one - other)
    low, high = _joined(one, other, level)
    return ChanceDifference(
        difference=mean,
        se=se,
        low=low,
        high=high,
        only_first=int((one > other).sum()),
        only_second=int((one < other).sum()),
        replicates=len(one),
        missing=int((~both).sum()),
    )


def _joined(
    one: NDArray[np.float64], other: NDArray[np.float64], level: float
) -> tuple[float, float]:
    """The interval of a difference of chances, from those of the two and their correlation."""
    count = len(one)
    if count == 0:
        return -1.0, 1.0
    times, others = int(one.sum()), int(other.sum())
    p, q = times / count, others / count
    low_p, high_p = wilson_interval(times, count, level)
    low_q, high_q = wilson_interval(others, count, level)
    together = _correlation(int((one * other).sum()), times, others, count)
    below = _length(p - low_p, high_q - q, together)
    above = _length(high_p - p, q - low_q, together)
    return max(p - q - below, -1.0), min(p - q + above, 1.0)


def _correlation(both: int, times: int, others: int, count: int) -> float:
    """How two things that come true or not go together, a positive one drawn towards nothing."""
    spread = math.sqrt(times * (count - times) * others * (count - others))
    product = count * both - times * others
    return (max(product - count / 2, 0.0) if product > 0 else product) / spread if spread else 0.0


def _length(one: float, other: float, together: float) -> float:
    """Length of the difference of two errors with this correlation."""
    return math.sqrt(max(one * one - 2 * together * one * other + other * other, 0.0))


def _mean_and_error(values: NDArray[np.float64]) -> tuple[float, float]:
    count = len(values)
    mean = float(values.mean()) if count else math.nan
    se = float(values.std(ddof=1)) / math.sqrt(count) if count > 1 else math.nan
    return mean, se


def _side_by_side(first: Values, second: Values) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    one, other = np.asarray(first, dtype=np.float64), np.asarray(second, dtype=np.float64)
    if one.shape != other.shape:
        msg = f"replicates must be the same in both: {len(one)} are not {len(other)}"
        raise ValueError(msg)
    return one, other


def _zeros_and_ones(values: Values) -> NDArray[np.float64]:
    whole = np.asarray(values, dtype=np.float64)
    strange = whole[~np.isnan(whole) & (whole != 0) & (whole != 1)]
    if len(strange):
        msg = f"something comes true (1) or not (0): {strange[0]} is neither"
        raise ValueError(msg)
    return whole
