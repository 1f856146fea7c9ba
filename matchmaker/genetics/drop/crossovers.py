"""Which of a parent's two strands a gamete has at each place: crossovers drawn afresh.

Crossovers do not hinder each other (Haldane 1919, J Genet 8:299). Hens have one Z, their strand 0
there, and pass it on whole.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.genetics.drop.grid import WORD, packed
from matchmaker.genetics.drop.held import turn_to_held
from matchmaker.genetics.drop.patterns import CHUNK, pattern_tables

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from matchmaker.genetics.drop.grid import Flags, Grid, Words
    from matchmaker.genetics.drop.patterns import PatternTables

BLOCK = 2048
"""Gametes drawn at once: their words stay in the cache."""

CHUNKS = WORD // CHUNK
LAST_BITS = np.uint64(0x0101010101010101)
LATER_CHUNKS = np.uint64(0x0101010101010100)
WHOLE_CHUNK = np.uint64(0xFF)
ALL_BITS = np.uint64(0xFFFFFFFFFFFFFFFF)


def strand_masks(
    grid: Grid, count: int, rng: np.random.Generator, *, of_hens: Flags | None = None
) -> Words:
    """Return for each gamete which of its parent's strands it has, shape (count, words).

    ``of_hens`` says whose gametes are hens', shape (count,); without it none is.

    Examples
    --------
    A hen's gamete has the Z of her sire, strand 0, at every place:

    >>> from matchmaker.genetics.drop.grid import Grid
    >>> grid = Grid.of({"Z": 200.0})
    >>> hens = np.ones(3, dtype=bool)
    >>> strand_masks(grid, 3, np.random.default_rng(1), of_hens=hens).tolist()
    [[0], [0], [0]]
    """
    masks = np.empty((count, grid.words), dtype=np.uint64)
    bench = _Bench.of(grid, min(count, BLOCK))
    for begun in range(0, count, BLOCK):
        block = masks[begun : begun + BLOCK]
        block[:] = bench.masks(len(block), rng).T
    masks[:, -1] &= ALL_BITS >> np.uint64(-grid.places % WORD)
    if of_hens is not None:
        _keep_whole_z(grid, masks, of_hens)
    return masks


def held_masks(
    grid: Grid,
    count: int,
    rng: np.random.Generator,
    held: NDArray[np.int8],
    of_hens: Flags | None = None,
) -> Words:
    """Return masks as ``strand_masks`` does, given the strand at some of the placed places.

    ``held`` is 0 or 1 for the strand, −1 where either may be, shape (count, placed places).

    Raises
    ------
    ValueError
        If the shape is another, a hen should pass on a second Z, or two places should come from
        different strands that no crossover can part.

    Examples
    --------
    >>> from matchmaker.genetics.drop.grid import Grid, unpacked
    >>> grid = Grid.of({"1": 100.0}, placed=[("1", 50.0)])
    >>> held = np.array([[0], [1], [1]], dtype=np.int8)
    >>> masks = held_masks(grid, 3, np.random.default_rng(1), held)
    >>> unpacked(grid, masks)[:, grid.placed_at[0]].tolist()
    [0, 1, 1]
    """
    if held.shape != (count, len(grid.placed_at)):
        raise ValueError(f"held strands of shape {held.shape}, not {(count, len(grid.placed_at))}")
    asked = held
    if of_hens is not None:
        hens_z = of_hens[:, None] & grid.is_z[grid.placed_at]
        if (asked[hens_z] == 1).any():
            raise ValueError("a hen passes on her only Z, strand 0")
        asked = np.where(hens_z, np.int8(-1), held)
    masks = strand_masks(grid, count, rng)
    turn_to_held(grid, masks, asked, rng)
    if of_hens is not None:
        _keep_whole_z(grid, masks, of_hens)
    return masks


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Bench:
    """Room for a block of masks, used over and over: fresh memory costs more than the work."""

    tables: PatternTables
    patterns: NDArray[np.uint8]
    words: Words
    spare: Words

    @classmethod
    def of(cls, grid: Grid, gametes: int) -> _Bench:
        tables = pattern_tables(grid)
        room = (grid.words, gametes)
        return cls(
            tables=tables,
            patterns=np.empty((len(tables.entries), gametes), dtype=np.uint8),
            words=np.zeros(room, dtype="<u8"),
            spare=np.empty(room, dtype=np.uint64),
        )

    def masks(self, count: int, rng: np.random.Generator) -> Words:
        """Return fresh masks, shape (words, count), good until the next are asked for."""
        patterns, words = self.patterns[:, :count], self.words[:, :count]
        self.tables.draw(rng, patterns)
        chunks = self.words.view(np.uint8).reshape(*self.words.shape, CHUNKS)
        for at, some in enumerate(patterns):
            chunks[at // CHUNKS, :count, at % CHUNKS] = some
        _join(words, self.spare[:, :count])
        return words


def _join(words: Words, spare: Words) -> None:
    """Turn each pattern where the strand before it is 1, in place; ``spare`` is room for that."""
    np.right_shift(words, np.uint64(CHUNK - 1), out=spare)
    spare &= LAST_BITS
    spare *= LATER_CHUNKS  # how many of the chunks before this one in its word end on strand 1
    spare &= LAST_BITS
    spare *= WHOLE_CHUNK
    words ^= spare
    before = spare[1:]
    np.right_shift(words[:-1], np.uint64(WORD - 1), out=before)
    np.bitwise_xor.accumulate(before, axis=0, out=before)
    before *= ALL_BITS
    words[1:] ^= before


def _keep_whole_z(grid: Grid, masks: Words, of_hens: Flags) -> None:
    z = packed(grid, grid.is_z)
    for word in np.flatnonzero(z):
        masks[:, word] &= np.where(of_hens, ~z[word], ALL_BITS)
