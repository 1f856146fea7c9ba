"""What counts say of a rate that differs from flock to flock, from cock to cock, from set to set.

Three levels, each a beta distribution about the one above: the flock's mean about the rate that
was taken, each cock's about the flock's, each set's about its cock's; what is counted in a set is
binomial. So a set is beta-binomial and its eggs do not count as so many independent trials. How
much sets and cocks differ is not known beforehand either: all is summed over a grid of means and
of spreads by their likelihood, nothing is plugged in. Few counts leave what was taken, many leave
the flock's own rate.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final, TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

Array: TypeAlias = NDArray[np.float64]

PRIOR_EGGS: Final = 18.0
"""How many eggs the rate that was taken counts for.

Between flocks the hatch of eggs set runs from 45 to 86 % in villages (Livestock Res Rural Dev 23:9)
and from 50 (poor) to 90 % (very good) at home (Emery, Encyclopedia of Country Living). Taken as two
SDs to either side of the product of two rates about 0.85 and 0.80, that is the spread of two betas
of 18 trials each (own arithmetic)."""

SPREADS: Final = np.array([0.004, 0.01, 0.02, 0.04, 0.08, 0.15, 0.3])
"""Correlations between two eggs of one set, or of one cock, that are tried."""

USUAL_SPREAD: Final = 10.0
"""Their weights are those of a beta (1, 9), mean 0.1: no published figure was at hand."""

POINTS: Final = 200
SURE: Final = 0.9
"""Rates are given with the range that holds them with this chance."""

GRID: Final = (np.arange(POINTS) + 0.5) / POINTS


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """A rate with the range that holds it with a chance of 90 %, and its SD."""

    value: float
    low: float
    high: float
    spread: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Shrunk:
    """The flock's rate, each cock's, and how alike two eggs of one set are (0: not at all)."""

    flock: Estimate
    groups: Mapping[str, Estimate] = field(default_factory=dict)
    within_sets: float


Counts: TypeAlias = "Sequence[tuple[int, int]]"
"""(tries, successes) of each set."""


def shrink(
    groups: Mapping[str, Counts],
    taken: float,
    *,
    by_group: bool = True,
) -> Shrunk:
    """Return the flock's rate and each group's from their counts and the rate that was taken.

    Parameters
    ----------
    groups
        Counts of the sets of each cock; with ``by_group`` false groups are taken as alike.
    taken
        The rate without any counts, 0 to 1; it counts for ``PRIOR_EGGS``.

    Notes
    -----
    The method is that of hierarchical beta-binomial models by direct summation; from memory.

    Examples
    --------
    >>> none = shrink({}, 0.85).flock
    >>> none.value, none.low < 0.75 < 0.95 < none.high
    (0.85, True)
    >>> round(shrink({"": [(400, 240)] * 30}, 0.85, by_group=False).flock.value, 2)
    0.6
    """
    mean = min(max(taken, 0.01), 0.99)
    prior = _beta_logs(mean * PRIOR_EGGS, (1.0 - mean) * PRIOR_EGGS)
    spread = _spread_logs()
    groups = {name: sets for name, sets in groups.items() if any(n for n, _ in sets)}
    if not groups:
        return _untouched(taken, prior, spread)
    return _Levels(prior=prior, groups=groups, by_group=by_group).summed(spread)


@dataclass(frozen=True, kw_only=True)
class _Levels:
    """The likelihood on the grid: axes are the flock's mean with the cocks' spread, and the sets'.

    A cock's mean given the flock's is one row of ``_links``.
    """

    prior: Array
    groups: Mapping[str, Counts]
    by_group: bool

    def summed(self, spread: Array) -> Shrunk:
        links = self._links()
        own = {name: _of_sets(sets) for name, sets in self.groups.items()}
        top = {name: float(logs.max()) for name, logs in own.items()}
        seen = {name: links @ np.exp(logs - top[name]) for name, logs in own.items()}
        logs = self._prior_logs(spread) + sum(np.log(one + 1e-300) for one in seen.values())
        chance = np.exp(logs - logs.max())
        chance /= chance.sum()
        flock = chance.sum(axis=1).reshape(-1, POINTS).sum(axis=0)
        groups = {}
        for name, likely in own.items():
            back = links.T @ (chance / (seen[name] + 1e-300))
            groups[name] = _estimate((back * np.exp(likely - top[name])).sum(axis=1))
        within = float(chance.sum(axis=0) @ SPREADS)
        return Shrunk(flock=_estimate(flock), groups=groups, within_sets=within)

    def _links(self) -> Array:
        if not self.by_group:
            return np.eye(POINTS)
        rows = [_about_means(spread) for spread in SPREADS]
        return np.concatenate(rows)

    def _prior_logs(self, spread: Array) -> Array:
        if not self.by_group:
            return self.prior[:, None] + spread[None, :]
        means = (spread[:, None] + self.prior[None, :]).reshape(-1)
        return np.asarray(means[:, None] + spread[None, :])


def _untouched(taken: float, prior: Array, spread: Array) -> Shrunk:
    """Without counts: what was taken, as unsure as it is."""
    found = _estimate(np.exp(prior))
    flock = Estimate(value=taken, low=found.low, high=found.high, spread=found.spread)
    weights = np.exp(spread)
    return Shrunk(flock=flock, within_sets=float(weights @ SPREADS / weights.sum()))


def _spread_logs() -> Array:
    """Log weights of the spreads that are tried, each standing for a part of a log scale."""
    return np.asarray((USUAL_SPREAD - 2.0) * np.log1p(-SPREADS) + np.log(SPREADS))


def _beta_logs(a: float, b: float) -> Array:
    logs = (a - 1.0) * np.log(GRID) + (b - 1.0) * np.log1p(-GRID)
    return np.asarray(logs - np.log(np.exp(logs - logs.max()).sum()) - logs.max())


def _about_means(spread: float) -> Array:
    """P(a group's mean | the flock's), one row for each mean of the flock."""
    trials = 1.0 / spread - 1.0
    a, b = GRID[:, None] * trials, (1.0 - GRID[:, None]) * trials
    logs = (a - 1.0) * np.log(GRID)[None, :] + (b - 1.0) * np.log1p(-GRID)[None, :]
    table = np.exp(logs - logs.max(axis=1, keepdims=True))
    return np.asarray(table / table.sum(axis=1, keepdims=True))


def _of_sets(sets: Counts) -> Array:
    """Log likelihood of the counts of some sets, shape (mean, spread)."""
    trials = 1.0 / SPREADS[None, :] - 1.0
    a, b = GRID[:, None] * trials, (1.0 - GRID[:, None]) * trials
    total = np.zeros((POINTS, len(SPREADS)))
    kinds: dict[tuple[int, int], int] = {}
    for kind in sets:
        kinds[kind] = kinds.get(kind, 0) + 1
    start = log_gamma(a) + log_gamma(b) - log_gamma(trials)
    for (tries, hits), times in kinds.items():
        both = log_gamma(a + hits) + log_gamma(b + (tries - hits)) - log_gamma(trials + tries)
        total += times * (both - start)
    return total


def log_gamma(x: ArrayLike) -> Array:
    """The logarithm of the gamma function, of numbers above 0, by Stirling's series.

    Examples
    --------
    >>> [round(float(one), 9) for one in log_gamma([0.5, 1.0, 5.0])]
    [0.572364943, 0.0, 3.17805383]
    """
    shifted = np.asarray(x, dtype=np.float64) + 8.0
    below = np.ones_like(shifted)
    for step in range(8):
        below *= shifted - 8.0 + step
    inverse = 1.0 / shifted
    series = inverse * (1 / 12 - inverse**2 * (1 / 360 - inverse**2 * (1 / 1260)))
    whole = (shifted - 0.5) * np.log(shifted) - shifted + 0.5 * np.log(2 * np.pi) + series
    return np.asarray(whole - np.log(below) + 0.0)


def _estimate(weights: Array) -> Estimate:
    """Mean, range and SD of weights on the grid."""
    chance = weights / weights.sum()
    value = float(chance @ GRID)
    spread = float(np.sqrt(max(chance @ (GRID - value) ** 2, 0.0)))
    below = np.concatenate([[0.0], np.cumsum(chance)])
    edges = np.arange(POINTS + 1) / POINTS
    low, high = (float(np.interp(at, below, edges)) for at in ((1 - SURE) / 2, (1 + SURE) / 2))
    return Estimate(value=value, low=low, high=high, spread=spread)
