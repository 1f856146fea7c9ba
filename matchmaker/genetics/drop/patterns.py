"""Sixteen places at a time: which of a parent's strands a gamete has at each, out of a table.

A pattern says by one bit a place which strand a gamete has there, given strand 0 before the first
of them. A number below 2¹⁶ is drawn; pattern k has the whole part of 2¹⁶ times its chance as
entries in the table, and what is left over is shared out by a second draw. So chances are as exact
as floating-point numbers, and one draw in about sixty needs the second.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from matchmaker.genetics.drop.grid import Grid

CHUNK = 16
"""Places of a pattern."""

DRAWS = 1 << CHUNK


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PatternTable:
    """Patterns of sixteen places.

    The first ``sure`` of the 2¹⁶ ``entries`` lead to a pattern; from there on it is drawn among
    ``rest``, of which ``bounds`` are the chances added up.
    """

    entries: NDArray[np.uint16]
    sure: int
    rest: NDArray[np.uint16]
    bounds: NDArray[np.float64]

    def fill(
        self, draws: NDArray[np.uint16], rng: np.random.Generator, into: NDArray[np.uint16]
    ) -> None:
        """Put the patterns of evenly drawn numbers ``into`` an array of the same shape (n,)."""
        np.take(self.entries, draws, out=into, mode="clip")
        if self.sure < DRAWS:
            over = np.flatnonzero(draws >= self.sure)
            at = np.searchsorted(self.bounds, rng.random(len(over)), side="right")
            into[over] = self.rest[at]


@lru_cache(maxsize=8)
def pattern_tables(grid: Grid) -> tuple[PatternTable, ...]:
    """Return the tables of a grid, sixteen places each, as many as it takes."""
    chances = np.zeros(-(-grid.places // CHUNK) * CHUNK)
    chances[: grid.places] = grid.recombination
    return tuple(pattern_table(tuple(some)) for some in chances.reshape(-1, CHUNK).tolist())


@lru_cache(maxsize=256)
def pattern_table(recombination: tuple[float, ...]) -> PatternTable:
    """Return the table of up to sixteen neighbours with the chance of a change before each.

    Examples
    --------
    A change before the only place in one gamete of four:

    >>> table = pattern_table((0.25,))
    >>> np.unique(table.entries, return_counts=True)[1].tolist(), table.sure
    ([49152, 16384], 65536)
    """
    patterns, chances = _patterns(recombination)
    whole = np.floor(chances * DRAWS)
    sure = int(whole.sum())
    entries = np.zeros(DRAWS, dtype=np.uint16)
    entries[:sure] = np.repeat(patterns, whole.astype(np.intp))
    left = chances * DRAWS - whole
    some = left > 0
    bounds = np.cumsum(left[some])
    return PatternTable(
        entries=entries,
        sure=sure,
        rest=patterns[some],
        bounds=bounds[:-1] / bounds[-1] if len(bounds) else bounds,
    )


def _patterns(recombination: tuple[float, ...]) -> tuple[NDArray[np.uint16], NDArray[np.float64]]:
    """All patterns that can be, and their chances."""
    patterns, chances = np.zeros(1, dtype=np.uint16), np.ones(1)
    for at, chance in enumerate(recombination):
        # a change here turns this place and all that follow
        turned = patterns ^ np.uint16((DRAWS - 1) >> at << at)
        patterns = np.concatenate([patterns, turned])
        chances = np.concatenate([chances * (1 - chance), chances * chance])
        patterns, chances = patterns[chances > 0], chances[chances > 0]
    return patterns, chances
