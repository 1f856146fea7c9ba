"""How many chicks to rear and eggs to set for enough birds of a class: exact binomial tails."""

from __future__ import annotations

from functools import lru_cache
from math import ceil, exp, lgamma, log
from typing import TYPE_CHECKING

from matchmaker.genetics.genotypes.progeny import fewer_than

if TYPE_CHECKING:
    from collections.abc import Callable

MOST = 100_000
"""More than this nobody hatches; numbers beyond are given as none."""


@lru_cache(maxsize=65536)
def needed(birds: int, chance: float, level: float) -> int | None:
    """Least number of trials that gives at least ``birds`` of a class with chance ``level``.

    ``chance`` is that of the class per trial (a chick reared, an egg set); None beyond ``MOST``.

    Notes
    -----
    Exact binomial tail; such numbers were tabled by Sedcole 1977 (Crop Sci 17:667, from memory).

    Examples
    --------
    >>> needed(1, 1 / 4, 0.95), needed(4, 1 / 4, 0.99), needed(1, 0.02, 0.95)
    (11, 37, 149)
    """
    if chance <= 0:
        return None
    return _least(birds, lambda trials: fewer_than(birds, trials, chance) <= 1 - level)


@lru_cache(maxsize=65536)
def both_needed(birds: int, one: float, two: float, level: float) -> int | None:
    """Least number of trials that gives at least ``birds`` of each of two classes.

    The classes exclude each other (sons and daughters); ``one`` and ``two`` are their chances.

    Examples
    --------
    A son and a daughter, whatever they are; then one of each of a class of one quarter:

    >>> both_needed(1, 0.5, 0.5, 0.95), both_needed(1, 0.25, 0.25, 0.95)
    (6, 13)
    """
    if one <= 0 or two <= 0:
        return None

    def failing(trials: int) -> float:
        fewer = fewer_than(birds, trials, one) + fewer_than(birds, trials, two)
        return fewer - _both_fewer(birds, trials, one, two)

    return _least(2 * birds, lambda trials: failing(trials) <= 1 - level)


def _least(start: int, enough: Callable[[int], bool]) -> int | None:
    """The least number from ``start`` on that is enough, where every greater one is too."""
    low, high = start - 1, start
    while not enough(high):
        low, high = high, 2 * high
        if high > 2 * MOST:
            return None
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    return high if high <= MOST else None


def _both_fewer(birds: int, trials: int, one: float, two: float) -> float:
    """Chance of fewer than ``birds`` of the one class and of the other."""
    rest = 1.0 - one - two
    total = 0.0
    for a in range(min(birds, trials + 1)):
        for b in range(min(birds, trials - a + 1)):
            left = trials - a - b
            if left and rest <= 1e-12:
                continue
            ways = lgamma(trials + 1) - lgamma(a + 1) - lgamma(b + 1) - lgamma(left + 1)
            total += exp(ways + a * log(one) + b * log(two) + (left * log(rest) if left else 0.0))
    return total


def expected_birds(trials: int, chance: float) -> int:
    """Birds of a class to reckon with among so many trials, rounded up.

    Examples
    --------
    >>> expected_birds(11, 0.25)
    3
    """
    return ceil(trials * chance - 1e-9)
