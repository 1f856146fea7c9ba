"""Sixteen places at a time: which of a parent's strands a gamete has at each, out of a table.

A pattern says by one bit a place which strand a gamete has there, given strand 0 before the first
of them. A number below 2¹⁶ is drawn; pattern k has the whole part of 2¹⁶ times its chance as
entries in the table, and leads there at once. What is left over, about one draw in sixty, is
shared out by a second draw from a table of alternatives (Walker 1977, ACM Trans Math Softw 3:253;
citation from memory): so chances are as exact as 48 bits of a second number make them.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from matchmaker.genetics.drop.grid import Grid, Numbers, Reals, Words

CHUNK = 16
"""Places of a pattern."""

DRAWS = 1 << CHUNK
SHIFT = np.uint64(CHUNK)
LOW = np.uint64(DRAWS - 1)
ONE = 1 << (64 - CHUNK)
"""A chance of one, in the table of alternatives."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PatternTables:
    """Patterns of every sixteen places of a grid.

    Of the 2¹⁶ ``entries``, shape (chunks, 2¹⁶), the first ``sure`` of each chunk lead to a
    pattern, shape (chunks, 1). ``others``, by chunk and pattern drawn evenly: the chance (high 48
    bits) that it stands, and the pattern to take if not (low 16 bits).
    """

    entries: NDArray[np.uint16]
    sure: NDArray[np.int64]
    others: Words

    def draw(self, count: int, rng: np.random.Generator) -> NDArray[np.uint16]:
        """Return fresh patterns, shape (chunks, count)."""
        chunks = len(self.entries)
        each = CHUNK // 4
        drawn = rng.integers(0, 2**64, size=(chunks, -(-count // each)), dtype=np.uint64)
        draws = drawn.view("<u2")[:, :count]
        patterns = np.empty((chunks, count), dtype=np.uint16)
        for at in range(chunks):
            np.take(self.entries[at], draws[at], out=patterns[at], mode="clip")
        chunk, over = np.nonzero(draws >= self.sure)
        patterns[chunk, over] = self._second(chunk, rng)
        return patterns

    def _second(self, chunk: Numbers, rng: np.random.Generator) -> NDArray[np.uint16]:
        drawn = rng.integers(0, 2**64, size=len(chunk), dtype=np.uint64)
        pattern = drawn & LOW
        other = self.others[chunk, pattern]
        stands = (drawn >> SHIFT) < (other >> SHIFT)
        return np.where(stands, pattern, other & LOW).astype(np.uint16)


def pattern_tables(grid: Grid) -> PatternTables:
    """Return the tables of a grid; made once for grids that are alike.

    Examples
    --------
    >>> from matchmaker.genetics.drop.grid import Grid
    >>> pattern_tables(Grid.of({"1": 100.0})).draw(3, np.random.default_rng(1)).shape
    (2, 3)
    """
    return _tables(grid.recombination.tobytes())


@lru_cache(maxsize=8)
def _tables(recombination: bytes) -> PatternTables:
    given = np.frombuffer(recombination)
    chances = np.zeros(-(-len(given) // CHUNK) * CHUNK)
    chances[: len(given)] = given
    made = [_table(pattern_chances(one)) for one in chances.reshape(-1, CHUNK)]
    return PatternTables(
        entries=np.stack([entries for entries, _, _ in made]),
        sure=np.array([[sure] for _, sure, _ in made]),
        others=np.stack([others for _, _, others in made]),
    )


def pattern_chances(recombination: Reals) -> Reals:
    """Return the chance of each pattern of places given that of a change before each place.

    Examples
    --------
    A change before the only place in one gamete of four; before the second of two, always:

    >>> pattern_chances(np.array([0.25])).tolist()
    [0.75, 0.25]
    >>> pattern_chances(np.array([0.25, 1.0])).tolist()
    [0.0, 0.25, 0.75, 0.0]
    """
    # a place has the strand of the one before it unless there is a change
    by_strand = np.array([[1.0], [0.0]])
    for chance in recombination.tolist():
        stay, change = (1 - chance) * by_strand, chance * by_strand[::-1]
        zero, one = stay + change
        by_strand = np.stack([np.append(zero, 0 * one), np.append(0 * zero, one)])
    found: Reals = by_strand.sum(axis=0)
    return found


def _table(chances: Reals) -> tuple[NDArray[np.uint16], int, Words]:
    patterns = np.arange(DRAWS, dtype=np.uint16)
    scaled = chances * DRAWS
    whole = np.floor(scaled)
    sure = int(whole.sum())
    entries = np.zeros(DRAWS, dtype=np.uint16)
    entries[:sure] = np.repeat(patterns, whole.astype(np.intp))
    left = scaled - whole
    stands, other = _alternatives(left / left.sum() if sure < DRAWS else chances)
    return entries, sure, (np.rint(stands * (ONE - 1)).astype(np.uint64) << SHIFT) | other


def _alternatives(chances: Reals) -> tuple[Reals, Words]:
    """For outcomes drawn evenly: the chance that each stands, and the one to take if it does not.

    Light outcomes are filled up from heavy ones in turn; a heavy one that has given too much is
    filled up from the next. Done by running sums instead of one by one.
    """
    size = len(chances)
    scaled = chances * size
    stands, other = np.minimum(scaled, 1.0), np.arange(size)
    light, heavy = np.flatnonzero(scaled < 1), np.flatnonzero(scaled > 1)
    if len(light) and len(heavy):
        lacking, spare = np.cumsum(1 - scaled[light]), np.cumsum(scaled[heavy] - 1)
        last = len(heavy) - 1
        giver = np.searchsorted(spare, np.append(0.0, lacking[:-1]), side="right")
        other[light] = heavy[np.minimum(giver, last)]
        given = lacking[np.minimum(np.searchsorted(lacking, spare), len(light) - 1)]
        stands[heavy[:-1]] = np.clip(1 + spare - given, 0.0, 1.0)[:-1]
        other[heavy[:-1]] = heavy[1:]
    return stands, other.astype(np.uint64)
