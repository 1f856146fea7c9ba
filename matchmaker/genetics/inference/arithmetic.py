"""How the weights of joint states are held and summed: plain, as logarithms, or as possible or not.

All arrays have the batch as their last axis (of length 1 where every row is alike), so that the
innermost loops run over it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    States = NDArray[np.intp]


class OutOfRangeError(Exception):
    """All weight of a message fell below the smallest float, or there was none."""


class Arithmetic(Protocol):
    """How weights are held: as plain numbers, or as logarithms where those would vanish."""

    def chosen(self, pair: tuple[Array, Array]) -> Array:
        """Return the numbers to work with, of (plain, logarithms)."""
        ...

    def times(self, one: Array, two: Array) -> Array:
        """Return the products of two broadcast arrays."""
        ...

    def summed(self, weights: Array, axes: tuple[int, ...]) -> Array:
        """Return the sums over some axes."""
        ...

    def scaled(self, message: Array) -> Array:
        """Return the weights with the largest of each row of the batch set to one."""
        ...

    def divided(self, whole: Array, part: Array) -> Array:
        """Return the quotients, nought where the divisor is."""
        ...

    def plain(self, weights: Array) -> Array:
        """Return plain numbers in proportion to the weights, row by row."""
        ...


class Plain:
    """Weights as they are; every message is scaled to a largest entry of one."""

    def chosen(self, pair: tuple[Array, Array]) -> Array:
        """Return the plain numbers."""
        return pair[0]

    def times(self, one: Array, two: Array) -> Array:
        """Return the products."""
        return one * two

    def summed(self, weights: Array, axes: tuple[int, ...]) -> Array:
        """Return the sums over some axes."""
        found: Array = np.add.reduce(weights, axis=axes) if axes else weights
        return found

    def scaled(self, message: Array) -> Array:
        """Return the message over its peaks; OutOfRangeError if one of these is nought."""
        peak = np.maximum.reduce(message, axis=tuple(range(message.ndim - 1)))
        if not peak.all():
            raise OutOfRangeError
        found: Array = message / peak
        return found

    def divided(self, whole: Array, part: Array) -> Array:
        """Return the quotients, nought where the divisor is."""
        return np.divide(whole, part, out=np.zeros(np.broadcast(whole, part).shape), where=part > 0)

    def plain(self, weights: Array) -> Array:
        """Return the weights as they are."""
        return weights


class Logs:
    """Weights as logarithms, -inf for the impossible."""

    def chosen(self, pair: tuple[Array, Array]) -> Array:
        """Return the logarithms."""
        return pair[1]

    def times(self, one: Array, two: Array) -> Array:
        """Return the sums of the logarithms."""
        return one + two

    def summed(self, weights: Array, axes: tuple[int, ...]) -> Array:
        """Return the logarithm of the sums over some axes."""
        if not axes:
            return weights
        peak = np.maximum.reduce(weights, axis=axes, keepdims=True)
        peak = np.where(np.isfinite(peak), peak, 0.0)
        with np.errstate(divide="ignore"):
            logs: Array = np.log(np.add.reduce(np.exp(weights - peak), axis=axes))
        logs += peak.reshape(logs.shape)
        return logs

    def scaled(self, message: Array) -> Array:
        """Return the message less its peaks; OutOfRangeError if one of these is -inf."""
        peak = np.maximum.reduce(message, axis=tuple(range(message.ndim - 1)))
        if not np.isfinite(peak).all():
            raise OutOfRangeError
        found: Array = message - peak
        return found

    def divided(self, whole: Array, part: Array) -> Array:
        """Return the differences of the logarithms, -inf where the divisor is."""
        possible = np.isfinite(part)
        found: Array = np.where(possible, whole - np.where(possible, part, 0.0), -np.inf)
        return found

    def plain(self, weights: Array) -> Array:
        """Return the plain numbers, the largest of each row being one."""
        peak = np.maximum.reduce(weights, axis=tuple(range(weights.ndim - 1)))
        found: Array = np.exp(weights - peak)
        return found


class Possible(Plain):
    """One for what is possible, nought for what is not: nothing can vanish."""

    def chosen(self, pair: tuple[Array, Array]) -> Array:
        """Return one where the logarithm is finite."""
        return np.isfinite(pair[1]).astype(float)


def drawn(chances: Array, uniform: Array) -> States:
    """Return a state for every column of chances (states, batch), never one of no chance.

    Examples
    --------
    >>> drawn(np.array([[0.0, 0.5], [1.0, 0.5]]), np.array([0.0, 0.4])).tolist()
    [1, 0]
    """
    sums = np.cumsum(chances, axis=0)
    found: States = np.add.reduce(sums[:-1] <= uniform * sums[-1], axis=0)
    return found
