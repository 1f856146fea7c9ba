"""Slow and obvious: chances by looking at every outcome, rates by summing over a plain grid."""

from __future__ import annotations

from fractions import Fraction
from itertools import product
from typing import TYPE_CHECKING

import numpy as np
from scipy import stats

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray


def reached(wanted: int, chances: Sequence[Fraction]) -> Fraction:
    """P(at least ``wanted`` successes), outcome by outcome."""
    total = Fraction(0)
    for outcome in product((0, 1), repeat=len(chances)):
        if sum(outcome) >= wanted:
            part = Fraction(1)
            for hit, chance in zip(outcome, chances, strict=True):
                part *= chance if hit else 1 - chance
            total += part
    return total


def fewest(wanted: int, certainty: float, kinds: Sequence[tuple[int, Fraction]]) -> int | None:
    """The fewest eggs out of kinds (how many there are, chance), over every choice of numbers."""
    enough = [
        sum(choice)
        for choice in product(*(range(most + 1) for most, _ in kinds))
        if reached(
            wanted,
            [
                chance
                for count, (_, chance) in zip(choice, kinds, strict=True)
                for _ in range(count)
            ],
        )
        >= certainty
    ]
    return min(enough, default=None)


def flock_rate(
    groups: Mapping[str, Sequence[tuple[int, int]]],
    taken: float,
    weight: float,
    spreads: Sequence[float],
) -> tuple[float, dict[str, float]]:
    """Mean of the flock's rate and of each group's, by loops over a grid and scipy's laws."""
    grid = (np.arange(100) + 0.5) / 100
    trust = [(1 - spread) ** 8 * spread for spread in spreads]
    prior = stats.beta.pdf(grid, taken * weight, (1 - taken) * weight)
    total = 0.0
    flock, own = 0.0, dict.fromkeys(groups, 0.0)
    for within, w_within in zip(spreads, trust, strict=True):
        trials = 1 / within - 1
        likely = {
            name: _of_sets(sets, grid * trials, (1 - grid) * trials)
            for name, sets in groups.items()
        }
        for between, w_between in zip(spreads, trust, strict=True):
            for at, mean in enumerate(grid):
                about = 1 / between - 1
                law = stats.beta.pdf(grid, mean * about, (1 - mean) * about)
                law = law / law.sum()
                each = {name: float(law @ one) for name, one in likely.items()}
                chance = prior[at] * w_within * w_between * float(np.prod(list(each.values())))
                total += chance
                flock += chance * mean
                for name, one in likely.items():
                    own[name] += chance * float((law * grid) @ one) / each[name]
    return flock / total, {name: value / total for name, value in own.items()}


def _of_sets(
    sets: Sequence[tuple[int, int]], a: NDArray[np.float64], b: NDArray[np.float64]
) -> NDArray[np.float64]:
    found = np.ones(len(a))
    for tries, hits in sets:
        found = found * np.asarray(stats.betabinom.pmf(hits, tries, a, b))
    return found
