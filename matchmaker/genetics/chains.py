"""Many chains at once: sweeps over blocks, and what a round of sweeps says of every variable."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.genetics.blocks import strides_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from matchmaker.genetics.blocks import Block

    Array = NDArray[np.float64]
    States = NDArray[np.intp]

NEGLIGIBLE = 1e-6
"""Variance of a probability (0.001 squared) below which chains are not said to disagree."""


@dataclass(frozen=True, slots=True)
class Round:
    """What some sweeps of all chains gave.

    ``means`` and ``variances`` are those of the probabilities from which a variable was drawn, by
    half of the round: shape (2, variables, states, chains); ``draws`` (sweeps, variables, chains).
    """

    sizes: Sequence[int]
    means: Array
    variances: Array
    draws: NDArray[np.uint8]

    def marginal(self, variable: int, groups: int) -> Array:
        """Return a variable's probabilities by group of chains, shape (states, groups)."""
        size = self.sizes[variable]
        mean = self.means[:, variable, :size].mean(axis=0)
        found: Array = mean.reshape(size, -1, groups).mean(axis=1)
        return found

    def joint(self, variables: Sequence[int], groups: int) -> Array:
        """Return the shares of the joint states drawn, shape (states of each ..., groups)."""
        shape = [self.sizes[variable] for variable in variables]
        places = np.einsum("v,svc->sc", strides_of(shape), self.draws[:, list(variables)])
        group = np.arange(places.shape[1]) % groups
        cells = int(np.prod(shape))
        counts = np.bincount((places * groups + group).ravel(), minlength=cells * groups)
        found: Array = counts.reshape(*shape, groups) * (groups / places.size)
        return found

    @property
    def disagreement(self) -> float:
        """How much wider all half chains together spread than each alone; 1 if they agree.

        The largest over variables and states of the potential scale reduction factor of split
        chains (Gelman and Rubin 1992, Stat Sci 7:457; halves as in Gelman et al. 2013, Bayesian
        Data Analysis, 3rd ed., sec. 11.4; both from memory).
        """
        if not self.means.size:
            return 1.0
        length = len(self.draws) // 2
        within = self.variances.mean(axis=(0, 3))
        between = np.moveaxis(self.means, 0, 2).reshape(*within.shape, -1).var(axis=2, ddof=1)
        pooled = within * (length - 1) / length + between
        return float(np.sqrt((pooled + NEGLIGIBLE) / (within + NEGLIGIBLE)).max())


@dataclass(slots=True)
class Chains:
    """The present state of every variable in every chain, and the blocks that draw them anew."""

    blocks: Sequence[Block]
    sizes: Sequence[int]
    states: States
    generator: np.random.Generator

    def round(self, sweeps: int) -> Round:
        """Sweep an even number of times and say what was seen."""
        half = sweeps // 2
        shape = (2, len(self.sizes), max(self.sizes, default=1), self.states.shape[1])
        sums, squares = np.zeros(shape), np.zeros(shape)
        draws = np.empty((2 * half, *self.states.shape), dtype=np.uint8)
        for at in range(2 * half):
            chances = self._sweep()
            sums[at // half] += chances
            squares[at // half] += chances**2
            draws[at] = self.states
        means = sums / half
        variances = np.maximum(squares / half - means**2, 0.0) * (half / max(1, half - 1))
        return Round(self.sizes, means, variances, draws)

    def _sweep(self) -> Array:
        """Draw every block once; return the mean of the chances each variable was drawn by."""
        shape = (len(self.sizes), max(self.sizes, default=1), self.states.shape[1])
        total = np.zeros(shape)
        times = np.zeros((len(self.sizes), 1, 1))
        for block in self.blocks:
            for variable, chance in zip(
                block.free, block.draw(self.states, self.generator), strict=True
            ):
                total[variable, : len(chance)] += chance
                times[variable] += 1
        return total / times
