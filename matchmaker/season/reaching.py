"""The chance that so many eggs give at least the wanted number of wanted chicks.

Each egg of a pair is a yes-or-no trial: it gives a wanted chick that is raised, or not. Their
number is the sum of independent trials of unequal chances (Poisson-binomial), counted exactly, egg
by egg. What all eggs share, how well eggs hatch and chicks live this year, is itself not known
for sure: the chance is the mean over what it may be (beta-binomial, where all eggs are alike).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

NODES: Final = 41
"""Values of what all eggs share over which is summed."""

REACH: Final = 5.0
"""They lie so many SDs to either side of its mean."""

SURE: Final = 1e-4
"""With a smaller SD than this it is taken as known."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Survival:
    """What an egg may have for a chance of a raised chick: values with their weights."""

    values: Array
    weights: Array

    @property
    def mean(self) -> float:
        """The expected chance."""
        return float(self.values @ self.weights)


def survival(mean: float, spread: float) -> Survival:
    """A chance with this mean and SD, as a beta distribution on some values.

    Examples
    --------
    >>> known, unsure = survival(0.6, 0.0), survival(0.6, 0.08)
    >>> len(known.values), round(unsure.mean, 6)
    (1, 0.6)
    """
    most = math.sqrt(max(mean * (1.0 - mean), 0.0))
    spread = min(spread, 0.99 * most)
    if spread < SURE:
        return Survival(values=np.array([mean]), weights=np.array([1.0]))
    trials = mean * (1.0 - mean) / spread**2 - 1.0
    low, high = max(0.0, mean - REACH * spread), min(1.0, mean + REACH * spread)
    values = low + (high - low) * (np.arange(NODES) + 0.5) / NODES
    logs = (mean * trials - 1.0) * np.log(values)
    logs += ((1.0 - mean) * trials - 1.0) * np.log1p(-values)
    weights = np.exp(logs - logs.max())
    weights /= weights.sum()
    return Survival(values=values * (mean / (values @ weights)), weights=weights)


class Tally:
    """Eggs added one by one, and the chance that they give at least ``wanted`` chicks.

    ``ways`` are the chances of what else may be so or otherwise (the parents' genotypes); an egg
    then has a chance in each. The table holds P(exactly k chicks so far) for each k below
    ``wanted``, a row for each way with each value of what the eggs share.
    """

    def __init__(self, wanted: int, shared: Survival, ways: Array | None = None) -> None:
        self.shared = shared
        self.eggs = 0
        self.expected = 0.0
        self._ways = np.ones(1) if ways is None else ways
        self._weights = np.outer(self._ways, shared.weights).ravel()
        self._fewer = np.zeros((len(self._weights), max(wanted, 0)))
        if wanted > 0:
            self._fewer[:, 0] = 1.0

    @property
    def chance(self) -> float:
        """P(at least ``wanted``)."""
        return float(1.0 - min(1.0, self._weights @ self._fewer.sum(axis=1)))

    @property
    def by_way(self) -> Array:
        """P(at least ``wanted``) in each way."""
        fewer = self._fewer.sum(axis=1).reshape(len(self._ways), -1)
        return np.asarray(1.0 - np.minimum(fewer @ self.shared.weights, 1.0))

    def add(self, part: float | Array) -> None:
        """One more egg that gives a wanted chick with ``part`` of the chance that all share."""
        self._trial(np.minimum(np.outer(self._in_ways(part), self.shared.values), 1.0).ravel())
        self.eggs += 1

    def add_known(self, chance: float | Array) -> None:
        """One more chick, hatched already, that is wanted and lives with this chance."""
        chances = np.minimum(self._in_ways(chance), 1.0)
        self._trial(np.repeat(chances, len(self.shared.values)))

    def _in_ways(self, chance: float | Array) -> Array:
        return np.broadcast_to(np.asarray(chance, dtype=np.float64), self._ways.shape)

    def _trial(self, chance: Array) -> None:
        self.expected += float(self._weights @ chance)
        more = self._fewer[:, :-1] * chance[:, None]
        self._fewer *= (1.0 - chance)[:, None]
        self._fewer[:, 1:] += more
