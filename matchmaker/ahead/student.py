"""The distribution of Student's t for whole degrees of freedom, without scipy.

Importing scipy's takes longer than a race between two plans.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Final

HALVINGS: Final = 80
"""Steps of the search for a quantile: the bracket is then at the last digit of a float."""


def above(t: float, degrees: int) -> float:
    """Chance of a value above ``t``, 0 to 1.

    ``degrees`` of freedom are whole and at least 1.

    Notes
    -----
    The finite series of Abramowitz & Stegun 1964, 26.7.3 and 26.7.4 (from memory; the tests hold
    it against scipy). Values below 1e-13 are lost in rounding.

    Examples
    --------
    >>> round(above(2.228, 10), 4)
    0.025
    """
    angle = math.atan(t / math.sqrt(degrees))
    within = _even(angle, degrees) if degrees % 2 == 0 else _odd(angle, degrees)
    return min(max((1.0 - within) / 2, 0.0), 1.0)


def _even(angle: float, degrees: int) -> float:
    """Chance of lying within ± t where the degrees are even; below 0 for a negative t."""
    term, total, square = 1.0, 1.0, math.cos(angle) ** 2
    for step in range(2, degrees - 1, 2):
        term *= square * (step - 1) / step
        total += term
    return math.sin(angle) * total


def _odd(angle: float, degrees: int) -> float:
    """Chance of lying within ± t where the degrees are odd; below 0 for a negative t."""
    if degrees == 1:
        return 2 * angle / math.pi
    term = total = math.cos(angle)
    square = term**2
    for step in range(3, degrees - 1, 2):
        term *= square * (step - 1) / step
        total += term
    return 2 / math.pi * (angle + math.sin(angle) * total)


@lru_cache(maxsize=4096)
def quantile_above(chance: float, degrees: int) -> float:
    """The value that is exceeded with this chance; 0 < ``chance`` ≤ 0.5.

    Examples
    --------
    >>> round(quantile_above(0.025, 10), 3), round(quantile_above(0.05, 1), 3)
    (2.228, 6.314)

    Raises
    ------
    ValueError
        If the chance is not above 0 and at most one half.
    """
    if not 0 < chance <= 0.5:
        msg = f"a chance above 0 and at most 0.5 is needed, not {chance}"
        raise ValueError(msg)
    low, high = 0.0, 1.0
    while above(high, degrees) > chance:
        low, high = high, 2 * high
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if above(middle, degrees) > chance else (low, middle)
    return (low + high) / 2
