"""Eight places at a time: which of a parent's strands a gamete has at each, out of a table.

A pattern says by one bit a place which strand a gamete has there, given strand 0 before the first
of them. A number below 2¹² is drawn; pattern k has the whole part of 2¹² times its chance as
entries in the table, and is found there at once. What is left over, about one draw in ninety, is
shared out by a second draw from a table of alternatives (Walker 1977, ACM Trans Math Softw 3:253;
citation from memory): so chances are as exact as 56 bits of a second number make them. All tables
of a grid together fit into the cache.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from matchmaker.genetics.drop.grid import Grid, Numbers, Reals, Words

CHUNK = 8
"""Places of a pattern."""

PATTERNS = 1 << CHUNK
ENTRIES = 1 << 12
SPARE_BITS = 4
"""Bits of a 16-bit number that the first draw does not need."""

CHANCE_AT = np.uint64(CHUNK)
LOW = np.uint64(PATTERNS - 1)
ONE = 1 << (64 - CHUNK)
"""A chance of one, in the table of alternatives."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PatternTables:
    """Patterns of every eight places of a grid.

    Of the 2¹² ``entries``, shape (chunks, 2¹²), those up to ``last_sure`` of each chunk, shape
    (chunks, 1), lead to a pattern. ``others``, by chunk and pattern drawn evenly: the chance (high
    56 bits) that it stands, and the pattern to take if not (low 8 bits).
    """

    entries: NDArray[np.uint8]
    last_sure: NDArray[np.uint16]
    others: Words

    def draw(self, rng: np.random.Generator, into: NDArray[np.uint8]) -> None:
        """Fill an array of shape (chunks, gametes) with fresh patterns."""
        chunks, count = into.shape
        drawn = rng.integers(0, 2**64, size=(chunks, -(-count // 4)), dtype=np.uint64)
        draws = drawn.view("<u2")[:, :count]
        draws >>= SPARE_BITS
        for at in range(chunks):
            self.entries[at].take(draws[at], out=into[at], mode="clip")
        chunk, over = np.divmod(np.flatnonzero(draws > self.last_sure), count)
        into[chunk, over] = self._second(chunk, rng)

    def _second(self, chunk: Numbers, rng: np.random.Generator) -> NDArray[np.uint8]:
        drawn = rng.integers(0, 2**64, size=len(chunk), dtype=np.uint64)
        pattern = drawn & LOW
        other = self.others[chunk, pattern]
        stands = (drawn >> CHANCE_AT) < (other >> CHANCE_AT)
        return np.where(stands, pattern, other & LOW).astype(np.uint8)


def pattern_tables(grid: Grid) -> PatternTables:
    """Return the tables of a grid; made once for grids that are alike.

    Examples
    --------
    >>> from matchmaker.genetics.drop.grid import Grid
    >>> pattern_tables(Grid.of({"1": 100.0})).entries.shape
    (3, 4096)
    """
    return _tables(grid.recombination.tobytes())


@lru_cache(maxsize=8)
def _tables(recombination: bytes) -> PatternTables:
    given = np.frombuffer(recombination)
    chances = np.zeros(-(-len(given) // CHUNK) * CHUNK)
    chances[: len(given)] = given
    made = [_of_chunk(one.tobytes()) for one in chances.reshape(-1, CHUNK)]
    return PatternTables(
        entries=np.stack([entries for entries, _, _ in made]),
        last_sure=np.array([[sure - 1] for _, sure, _ in made], dtype=np.uint16),
        others=np.stack([others for _, _, others in made]),
    )


@lru_cache(maxsize=2048)
def _of_chunk(recombination: bytes) -> tuple[NDArray[np.uint8], int, Words]:
    """Kept, because grids that differ in the places put on them are alike nearly everywhere."""
    return _table(pattern_chances(np.frombuffer(recombination)))


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


def _table(chances: Reals) -> tuple[NDArray[np.uint8], int, Words]:
    patterns = np.arange(PATTERNS, dtype=np.uint8)
    scaled = chances * ENTRIES
    whole = np.floor(scaled)
    sure = int(whole.sum())
    entries = np.zeros(ENTRIES, dtype=np.uint8)
    entries[:sure] = np.repeat(patterns, whole.astype(np.intp))
    left = scaled - whole
    stands, other = _alternatives(left / left.sum() if sure < ENTRIES else chances)
    chance = np.minimum((stands * float(ONE)).astype(np.uint64), np.uint64(ONE - 1))
    return entries, sure, (chance << CHANCE_AT) | other


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
