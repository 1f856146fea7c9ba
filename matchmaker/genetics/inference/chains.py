"""Many chains at once: sweeps over blocks, and what they say of every variable."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.genetics.inference.blocks import strides_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from matchmaker.genetics.inference.blocks import Block

    Array = NDArray[np.float64]
    States = NDArray[np.intp]

NEGLIGIBLE = 1e-4
"""Variance of a probability (0.01 squared) below which chains are not said to disagree."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """What consecutive sweeps of all chains gave.

    ``means`` and ``squares`` (mean squares) are of the probabilities from which a variable was
    drawn, shape (variables, states, chains); ``draws`` is (sweeps, variables, chains).
    """

    means: Array
    squares: Array
    draws: NDArray[np.uint8]

    def then(self, later: Stretch) -> Stretch:
        """Return this stretch and a later one of the same length as one."""
        return Stretch(
            (self.means + later.means) / 2,
            (self.squares + later.squares) / 2,
            np.concatenate((self.draws, later.draws)),
        )


@dataclass(frozen=True, slots=True)
class Seen:
    """Stretches of equal length that count, and the number of states of every variable."""

    stretches: Sequence[Stretch]
    sizes: Sequence[int]

    @property
    def draws(self) -> NDArray[np.uint8]:
        """The states drawn, shape (sweeps, variables, chains)."""
        return np.concatenate([stretch.draws for stretch in self.stretches])

    def marginal(self, variable: int, groups: int) -> Array:
        """Return a variable's probabilities by group of chains, shape (states, groups)."""
        size = self.sizes[variable]
        mean = np.mean([stretch.means[variable, :size] for stretch in self.stretches], axis=0)
        found: Array = mean.reshape(size, -1, groups).mean(axis=1)
        return found

    def disagreements(self) -> Array:
        """How much wider all pieces of chains spread than each alone, per variable; 1: alike.

        The largest over the states of the potential scale reduction factor of chains that are
        split into stretches (Gelman and Rubin 1992, Stat Sci 7:457; splitting as in Gelman et al.
        2013, Bayesian Data Analysis, 3rd ed., sec. 11.4; both from memory).
        """
        length = len(self.stretches[0].draws)
        means = np.concatenate([stretch.means for stretch in self.stretches], axis=2)
        squares = np.concatenate([stretch.squares for stretch in self.stretches], axis=2)
        within = (np.maximum(squares - means**2, 0.0) * length / (length - 1)).mean(axis=2)
        pooled = within * (length - 1) / length + means.var(axis=2, ddof=1)
        found: Array = np.sqrt((pooled + NEGLIGIBLE) / (within + NEGLIGIBLE)).max(axis=1)
        return found


def joint(draws: NDArray[np.uint8], sizes: Sequence[int], groups: int) -> Array:
    """Return the shares of joint states (states of each variable ..., groups of chains).

    ``draws`` is (sweeps, variables, chains); chain c belongs to group c modulo ``groups``.

    Examples
    --------
    >>> draws = np.array([[[0, 1], [2, 2]]], dtype=np.uint8)
    >>> joint(draws, [2, 3], 1)[..., 0].tolist()
    [[0.0, 0.0, 0.5], [0.0, 0.0, 0.5]]
    """
    places = np.einsum("v,svc->sc", strides_of(sizes), draws)
    places = places * groups + np.arange(draws.shape[2]) % groups
    counts = np.bincount(places.ravel(), minlength=int(np.prod(sizes)) * groups)
    found: Array = counts.reshape(*sizes, groups) * (groups / places.size)
    return found


@dataclass(slots=True)
class Chains:
    """The present state of every variable in every chain, and the blocks that draw them anew."""

    blocks: list[Block]
    sizes: Sequence[int]
    states: States
    generator: np.random.Generator

    def run(self, sweeps: int) -> Stretch:
        """Sweep so many times and say what was seen."""
        shape = (len(self.sizes), max(self.sizes, default=1), self.states.shape[1])
        means, squares = np.zeros(shape), np.zeros(shape)
        draws = np.empty((sweeps, *self.states.shape), dtype=np.uint8)
        for at in range(sweeps):
            chances = self._sweep()
            means += chances
            squares += chances**2
            draws[at] = self.states
        return Stretch(means / sweeps, squares / sweeps, draws)

    def _sweep(self) -> Array:
        """Draw every block once; return the mean of the chances each variable was drawn by."""
        total = np.zeros((len(self.sizes), max(self.sizes, default=1), self.states.shape[1]))
        times = np.zeros((len(self.sizes), 1, 1))
        for block in self.blocks:
            times[block.free] += 1
            chances = block.draw(self.states, self.generator)
            for variable, chance in zip(block.free.tolist(), chances, strict=True):
                total[variable, : len(chance)] += chance
        return total / times
