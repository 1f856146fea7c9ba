"""Masks turned to the strands that are known at some places, exactly.

Strands are alike until something is known of them, so at the first held place of a chromosome the
whole chromosome is turned where it has the other strand. At each further one, gametes that have
the other strand are drawn anew between the two held places, given that an odd number of changes
is missing, and turned beyond. Those that had the right one by themselves are already as they
should be.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from matchmaker.genetics.drop.grid import packed, unpacked

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from matchmaker.genetics.drop.grid import Flags, Grid, Numbers, Words

FREE = -1
"""Held strand of a place where either may be."""


def turn_to_held(
    grid: Grid, masks: Words, held: NDArray[np.int8], rng: np.random.Generator
) -> None:
    """Change ``masks`` in place so that each has the strands of its row of ``held``.

    Raises
    ------
    ValueError
        If two places should come from different strands and cannot be parted.

    Examples
    --------
    Strand 1 asked for at the middle of three places without a crossover:

    >>> from matchmaker.genetics.drop.grid import Grid
    >>> grid = Grid.of({"1": 10.0}, placed=[("1", 5.0)])
    >>> masks = np.zeros((1, 1), dtype=np.uint64)
    >>> turn_to_held(grid, masks, np.array([[1]], dtype=np.int8), np.random.default_rng(1))
    >>> unpacked(grid, masks).tolist()
    [[1, 1, 1]]
    """
    rows = np.flatnonzero((held != FREE).any(axis=1))
    if not len(rows):
        return
    strands = unpacked(grid, masks[rows])
    order = np.argsort(grid.placed_at, kind="stable")
    before = np.full(len(rows), -1)  # last held place of each row on this chromosome
    chromosome = -1
    for column in order.tolist():
        place = int(grid.placed_at[column])
        if grid.chromosome_of[place] != chromosome:
            chromosome = int(grid.chromosome_of[place])
            before[:] = -1
        wanted = held[rows, column]
        wrong = (wanted != FREE) & (strands[:, place] != wanted)
        _turn(grid, strands, np.flatnonzero(wrong & (before < 0)), place)
        for first in np.unique(before[wrong & (before >= 0)]).tolist():
            some = np.flatnonzero(wrong & (before == first))
            _part(grid, strands, some, (first, place), rng)
        before[wanted != FREE] = place
    masks[rows] = packed(grid, strands.astype(bool))


def _turn(grid: Grid, strands: NDArray[np.uint8], rows: Numbers, place: int) -> None:
    first, past = grid.stretch(place)
    strands[rows, first:past] ^= 1


def _part(
    grid: Grid,
    strands: NDArray[np.uint8],
    rows: Numbers,
    between: tuple[int, int],
    rng: np.random.Generator,
) -> None:
    """Draw anew what lies between two held places, with the other strand at the second."""
    first, last = between
    past = grid.stretch(last)[1]
    now = strands[rows, last]
    strands[rows, first + 1 : last + 1] = _bridges(
        grid.recombination[first + 1 : last + 1], strands[rows, first], 1 - now, rng
    )
    strands[rows, last + 1 : past] ^= 1


def _bridges(
    recombination: NDArray[np.float64],
    starts: NDArray[np.uint8],
    ends: NDArray[np.uint8],
    rng: np.random.Generator,
) -> NDArray[np.uint8]:
    """Return strands at each of some places given the one before them and the last of them."""
    lasting = np.cumprod((1 - 2 * recombination)[::-1])[::-1]
    odd_after = np.append((1 - lasting) / 2, 0.0)  # chance of an odd number of changes to come
    missing: Flags = starts != ends
    if (missing & (odd_after[0] <= 0)).any():
        raise ValueError("two places that no crossover parts should come from different strands")
    found = np.empty((len(starts), len(recombination)), dtype=np.uint8)
    strand = starts.copy()
    for at, chance in enumerate(recombination.tolist()):
        odd = odd_after[at + 1]
        change = chance * np.where(missing, 1 - odd, odd)
        stay = (1 - chance) * np.where(missing, odd, 1 - odd)
        changes = rng.random(len(starts)) * (change + stay) < change
        strand ^= changes
        missing = missing ^ changes
        found[:, at] = strand
    return found
