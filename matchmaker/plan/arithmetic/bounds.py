"""How rows of the program and the arithmetic that checks them meet a bound in the same way.

A row is written with a hair to spare, so that rounding noise does not bar a plan that meets its
bound exactly. It may be no more than a hair: with a whole ``tolerance.INTEGRALITY`` a solver took
a millionth of a pair, called it none, and counted its value. A solver may pass its rows by its own
tolerance; the check allows two. Whatever a solver returns for a sound program so passes the check.
"""

from __future__ import annotations

from matchmaker import tolerance


def high(bound: float) -> float:
    """Return what a row writes for "at most ``bound``".

    >>> high(200.0) - 200.0 < 1e-6
    True
    """
    return bound + tolerance.LIMIT * max(1.0, abs(bound))


def low(bound: float) -> float:
    """Return what a row writes for "at least ``bound``"."""
    return bound - tolerance.LIMIT * max(1.0, abs(bound))


def is_above(amount: float, bound: float) -> bool:
    """Return whether an amount passes its upper bound by more than noise.

    >>> is_above(100.0001, 100.0), is_above(100.01, 100.0)
    (False, True)
    """
    return amount > bound + _noise(bound)


def is_below(amount: float, bound: float) -> bool:
    """Return whether an amount misses its lower bound by more than noise."""
    return amount < bound - _noise(bound)


def _noise(bound: float) -> float:
    return 2 * tolerance.INTEGRALITY * max(1.0, abs(bound))
