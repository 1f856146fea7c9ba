"""Factors with their own scope, as logarithms: what is left of a network once parts are summed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from numpy.typing import NDArray

    Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Factor:
    """Weights over the states of some variables, as logarithms, -inf for the impossible.

    Scopes ascend; factors of one scope are multiplied by adding.
    """

    scope: tuple[int, ...]
    logs: Array

    @classmethod
    def over(cls, scope: Sequence[int], logs: Array) -> Factor:
        """Make a factor from axes in any order, its largest weight set to one.

        Examples
        --------
        >>> Factor.over((2, 1), np.log([[0.5, 2.0]])).logs.round(3).tolist()
        [[-1.386], [0.0]]
        """
        turn = sorted(range(len(scope)), key=scope.__getitem__)
        peak = logs.max()
        scaled = logs - peak if np.isfinite(peak) else logs
        return cls(tuple([scope[axis] for axis in turn]), scaled.transpose(turn))

    def renumbered(self, number: Mapping[int, int]) -> Factor:
        """Return the same factor over variables that bear other numbers, in the same order."""
        return Factor(tuple([number[variable] for variable in self.scope]), self.logs)


def spread_over(factor: Factor, scope: Sequence[int]) -> Array:
    """Return a factor's logarithms with an axis of length one for what it lacks of ``scope``.

    Examples
    --------
    >>> spread_over(Factor((1, 3), np.zeros((2, 5))), (1, 2, 3)).shape
    (2, 1, 5)
    """
    sizes = dict(zip(factor.scope, factor.logs.shape, strict=True))
    return factor.logs.reshape([sizes.get(variable, 1) for variable in scope])


def joined(factors: Iterable[Factor], cells_max: int) -> list[Factor]:
    """Multiply factors together, smallest first, while a product has ``cells_max`` cells at most.

    Examples
    --------
    >>> both = joined([Factor((0,), np.zeros(3)), Factor((0, 1), np.zeros((3, 2)))], 6)
    >>> [factor.scope for factor in both]
    [(0, 1)]
    """
    found: list[Factor] = []
    for factor in sorted(factors, key=lambda one: (one.logs.size, one.scope)):
        for at, other in enumerate(found):
            product = _product(other, factor, cells_max)
            if product is not None:
                found[at] = product
                break
        else:
            found.append(factor)
    return found


def _product(one: Factor, two: Factor, cells_max: int) -> Factor | None:
    """Return the product of two factors, or nothing where it would be too large."""
    sizes = dict(zip(one.scope, one.logs.shape, strict=True))
    sizes |= dict(zip(two.scope, two.logs.shape, strict=True))
    cells = 1
    for size in sizes.values():
        cells *= size
    if cells > cells_max:
        return None
    scope = tuple(sorted(sizes))
    logs = spread_over(one, scope) + spread_over(two, scope)
    return Factor.over(scope, logs)


def absorbed(factors: Iterable[Factor]) -> list[Factor]:
    """Multiply every factor into one whose scope holds its own, where there is one.

    Examples
    --------
    >>> some = [Factor((0,), np.zeros(3)), Factor((0, 1), np.zeros((3, 2)))]
    >>> [factor.scope for factor in absorbed(some)]
    [(0, 1)]
    """
    found: list[Factor] = []
    touching: dict[int, list[int]] = {}
    for factor in sorted(factors, key=lambda one: (-len(one.scope), one.scope)):
        held = set(factor.scope)
        wider = (at for at in touching.get(factor.scope[0], ()) if held <= set(found[at].scope))
        at = next(wider, None)
        if at is None:
            for variable in factor.scope:
                touching.setdefault(variable, []).append(len(found))
            found.append(factor)
        else:
            scope = found[at].scope
            found[at] = Factor.over(scope, found[at].logs + spread_over(factor, scope))
    return found
