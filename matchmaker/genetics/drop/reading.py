"""What can be read off strands: labels, shares of the recurrent breed, inbreeding, kinship.

Shares, inbreeding and kinship are parts of the autosomes, each place standing for its stretch.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.genetics.drop.grid import WORD, unpacked

if TYPE_CHECKING:
    from matchmaker.genetics.drop.grid import Grid, Numbers, Reals, Words

OCTETS = WORD // 8
OCTET = 256


def bits_at(masks: Words, places: Numbers) -> Numbers:
    """Return the bit at some places of each row of words, 0 or 1, shape (…, places).

    Examples
    --------
    >>> bits_at(np.array([0b110], dtype=np.uint64), np.array([0, 1, 2])).tolist()
    [0, 1, 1]
    """
    at = np.asarray(places)
    words = masks[..., at // WORD] >> (at % WORD).astype(np.uint64)
    return (words & np.uint64(1)).astype(np.intp)


def labels_at(bits: Words, places: Numbers) -> Numbers:
    """Return the founder labels at some places.

    ``bits`` has shape (…, 2, planes, words), the labels (…, 2, places).

    Examples
    --------
    >>> from matchmaker.genetics.drop.grid import Grid
    >>> from matchmaker.genetics.drop.strands import founder_strands
    >>> grid = Grid.of({"1": 20.0})
    >>> birds = founder_strands(grid, np.array([[4, 7]]), np.ones((1, 2), dtype=bool), 4)
    >>> labels_at(birds, np.array([0, 3])).tolist()
    [[[4, 4], [7, 7]]]
    """
    digits = bits_at(bits[..., 1:, :], places)
    values = 1 << np.arange(digits.shape[-2])
    found: Numbers = (digits * values[:, None]).sum(axis=-2)
    return found


def recurrent_share(grid: Grid, bits: Words) -> Reals:
    """Return the part of each bird's autosomes that is of the recurrent breed.

    ``bits`` has shape (…, 2, planes, words), the shares (…).

    Examples
    --------
    >>> from matchmaker.genetics.drop.grid import Grid
    >>> from matchmaker.genetics.drop.strands import founder_strands
    >>> grid = Grid.of({"1": 20.0})
    >>> birds = founder_strands(grid, np.array([[0, 1]]), np.array([[True, False]]), 2)
    >>> recurrent_share(grid, birds).tolist()
    [0.5]
    """
    found: Reals = weighed(grid, bits[..., 0, :]).mean(axis=-1)
    return found


def breed_mixed(grid: Grid, bits: Words) -> Reals:
    """Return the part of the autosomes where one strand is of the recurrent breed, one not.

    Examples
    --------
    >>> from matchmaker.genetics.drop.grid import Grid
    >>> from matchmaker.genetics.drop.strands import founder_strands
    >>> grid = Grid.of({"1": 20.0})
    >>> birds = founder_strands(grid, np.array([[0, 1]]), np.array([[True, False]]), 2)
    >>> breed_mixed(grid, birds).tolist()
    [1.0]
    """
    return weighed(grid, bits[..., 0, 0, :] ^ bits[..., 1, 0, :])


def inbreeding(grid: Grid, bits: Words) -> Reals:
    """Return the part of each bird's autosomes with the same founder label on both strands.

    Examples
    --------
    >>> from matchmaker.genetics.drop.grid import Grid
    >>> from matchmaker.genetics.drop.strands import founder_strands
    >>> grid = Grid.of({"1": 20.0})
    >>> birds = founder_strands(grid, np.array([[0, 1], [1, 1]]), np.ones((2, 2), dtype=bool), 2)
    >>> inbreeding(grid, birds).tolist()
    [0.0, 1.0]
    """
    return alike(grid, bits[..., 0, :, :], bits[..., 1, :, :])


def kinship(grid: Grid, bits_a: Words, bits_b: Words) -> Reals:
    """Return the realised kinship of each bird with the one at its place in the other array.

    That is the part of the autosomes with the same founder label, meaned over the four pairs of
    strands. The shapes (…, 2, planes, words) may broadcast.

    Examples
    --------
    >>> from matchmaker.genetics.drop.grid import Grid
    >>> from matchmaker.genetics.drop.strands import founder_strands
    >>> grid = Grid.of({"1": 20.0})
    >>> birds = founder_strands(grid, np.array([[0, 1], [1, 2]]), np.ones((2, 2), dtype=bool), 3)
    >>> kinship(grid, birds[:1], birds).tolist()
    [0.5, 0.25]
    """
    pairs = [
        alike(grid, bits_a[..., one, :, :], bits_b[..., other, :, :])
        for one in (0, 1)
        for other in (0, 1)
    ]
    found: Reals = sum(pairs[1:], pairs[0]) / 4
    return found


def alike(grid: Grid, one: Words, other: Words) -> Reals:
    """Return the part of the autosomes at which two strands (…, planes, words) share a label.

    Examples
    --------
    >>> from matchmaker.genetics.drop.grid import Grid
    >>> one, other = np.array([[[0], [0b1100]], [[1], [0b1010]]], dtype=np.uint64)
    >>> alike(Grid.of({"1": 20.0}), one, other).tolist()
    0.5
    """
    unlike = np.bitwise_or.reduce(one[..., 1:, :] ^ other[..., 1:, :], axis=-2)
    return weighed(grid, ~unlike)


def weighed(grid: Grid, words: Words) -> Reals:
    """Return the weights of the places whose bit is set, summed, shape (…).

    Examples
    --------
    >>> from matchmaker.genetics.drop.grid import Grid
    >>> weighed(Grid.of({"1": 20.0}), np.array([[0b1101]], dtype=np.uint64)).tolist()
    [0.75]
    """
    octets = np.ascontiguousarray(words, dtype="<u8").view(np.uint8)
    starts, table = _weights_of_octets(grid)
    found: Reals = table[octets[..., : len(starts)] + starts].sum(axis=-1)
    return found


def segment(grid: Grid, strands: Words, place: int) -> Reals:
    """Return how far the breed found at a place reaches to its left and right, in centimorgans.

    ``strands`` has shape (n, planes, words), the result (n, 2). A piece is taken to end half way
    between the last place that has the breed and the first that has not, or with its chromosome.

    Examples
    --------
    Places at 2.5, 7.5, 12.5 and 17.5 cM; the breed of the third reaches one place to the left:

    >>> from matchmaker.genetics.drop.grid import Grid
    >>> segment(Grid.of({"1": 20.0}), np.array([[[0b1110]]], dtype=np.uint64), 2).tolist()
    [[7.5, 7.5]]
    """
    first, past = grid.stretch(place)
    breeds = unpacked(grid, strands[:, 0])[:, first:past]
    at = grid.positions[first:past]
    middles = (at[1:] + at[:-1]) / 2
    here = place - first
    length = grid.lengths[int(grid.chromosome_of[place])]
    unlike = breeds != breeds[:, here : here + 1]
    left = _reach(unlike[:, :here][:, ::-1], at[here] - middles[:here][::-1], at[here])
    right = _reach(unlike[:, here + 1 :], middles[here:] - at[here], length - at[here])
    return np.stack([left, right], axis=1)


def _reach(unlike: Numbers, distances: Reals, whole: float) -> Reals:
    """Distance to the first place that differs, outward; ``whole`` if none does."""
    ends = np.append(distances, whole)
    marked = np.concatenate([unlike, np.ones((len(unlike), 1), dtype=bool)], axis=1)
    found: Reals = ends[marked.argmax(axis=1)]
    return found


@lru_cache(maxsize=8)
def _weights_of_octets(grid: Grid) -> tuple[Numbers, Reals]:
    """Weight of every octet of every eight places, and where each octet's weights begin."""
    weights = np.zeros(grid.words * WORD)
    weights[: grid.places] = grid.weights
    octets = np.unpackbits(np.arange(OCTET, dtype=np.uint8)[:, None], axis=1, bitorder="little")
    table = weights.reshape(-1, OCTETS) @ octets.T
    used = int(np.flatnonzero(table.any(axis=1)).max(initial=-1)) + 1
    return OCTET * np.arange(used), table[:used].ravel()
