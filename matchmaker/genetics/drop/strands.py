"""Strands of birds as planes of bits, and the gametes and chicks made of them.

Planes of a strand: plane 0 says at each place whether it is of the recurrent breed, planes 1 and
up are the binary digits of the founder label there.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from matchmaker.genetics.drop.crossovers import strand_masks
from matchmaker.genetics.drop.grid import packed

if TYPE_CHECKING:
    from matchmaker.genetics.drop.grid import Flags, Grid, Numbers, Words

BLOCK_WORDS = 2**14
"""Words of one strand's gametes worked on at once, so that they stay in the cache."""


def planes_for(labels: int) -> int:
    """Return the planes that hold the breed and that many founder labels, 0 and up.

    Examples
    --------
    >>> planes_for(1), planes_for(2), planes_for(120)
    (1, 2, 8)
    """
    return 1 + max(labels - 1, 0).bit_length()


def founder_strands(grid: Grid, labels: Numbers, recurrent: Flags, planes: int) -> Words:
    """Return strands that are of one founder and one breed throughout.

    ``labels`` and ``recurrent`` have shape (n, 2), strand 0 first; the result (n, 2, planes,
    words).

    Raises
    ------
    ValueError
        If a label is negative or needs more planes.

    Examples
    --------
    >>> from matchmaker.genetics.drop.grid import Grid
    >>> grid = Grid.of({"1": 15.0})
    >>> founder_strands(grid, np.array([[0, 1]]), np.array([[True, False]]), 2)[..., 0].tolist()
    [[[7, 0], [0, 7]]]
    """
    digits = planes - 1
    if labels.size and not 0 <= labels.min() <= labels.max() < 1 << digits:
        raise ValueError(f"labels must lie between 0 and {(1 << digits) - 1}")
    values = (labels[..., None] >> np.arange(digits)) & 1
    flags = np.concatenate([recurrent[..., None], values.astype(bool)], axis=-1)
    whole = packed(grid, np.ones(grid.places, dtype=bool))
    found: Words = np.where(flags[..., None], whole, np.uint64(0))
    return found


def gametes(parents: Words, masks: Words) -> Words:
    """Return one gamete of each parent.

    ``parents`` has shape (n, 2, planes, words), ``masks`` (n, words), the gametes (n, planes,
    words).

    Examples
    --------
    Places 0 and 2 from strand 0, place 1 from strand 1:

    >>> parents = np.array([[[[0b111]], [[0b000]]]], dtype=np.uint64)
    >>> gametes(parents, np.array([[0b010]], dtype=np.uint64)).tolist()
    [[[5]]]
    """
    return crossed(parents[:, 0], parents[:, 1], masks)


def crossed(one: Words, two: Words, masks: Words) -> Words:
    """Return ``two`` where the mask is set, elsewhere ``one``; each of shape (n, planes, words).

    Examples
    --------
    >>> one, two = np.array([[[[0b000]]], [[[0b111]]]], dtype=np.uint64)
    >>> crossed(one, two, np.array([[0b101]], dtype=np.uint64)).tolist()
    [[[5]]]
    """
    planes = one.shape[1]
    found: Words = one ^ two
    found &= _to_planes(masks, planes).reshape(found.shape)
    found ^= one
    return found


def chicks(
    grid: Grid, bits: Words, sires: Numbers, dams: Numbers, rng: np.random.Generator
) -> Words:
    """Return a chick of each sire and dam, which are places in ``bits``.

    ``bits`` has shape (birds, 2, planes, words), the chicks (n, 2, planes, words). Their strand 1
    on the Z is their dam's; in a hen chick it is not there and must not be read.

    Raises
    ------
    ValueError
        If there are not as many sires as dams.

    Examples
    --------
    >>> from matchmaker.genetics.drop.grid import Grid
    >>> grid = Grid.of({"1": 100.0})
    >>> pair = founder_strands(grid, np.array([[0, 1], [2, 3]]), np.ones((2, 2), dtype=bool), 3)
    >>> parents = np.array([0, 0]), np.array([1, 1])
    >>> chicks(grid, pair, *parents, np.random.default_rng(1)).shape
    (2, 2, 3, 1)
    """
    count = len(sires)
    if len(dams) != count:
        raise ValueError(f"{count} sires but {len(dams)} dams")
    found = np.empty((count, *bits.shape[1:]), dtype=np.uint64)
    masks = strand_masks(grid, 2 * count, rng, of_hens=np.repeat([False, True], count))
    into = np.concatenate([2 * np.arange(count), 2 * np.arange(count) + 1])
    pass_on(bits, np.concatenate([sires, dams]), masks, found.reshape(-1, *bits.shape[2:]), into)
    return found


def pass_on(bits: Words, parents: Numbers, masks: Words, found: Words, into: Numbers) -> None:
    """Write one gamete of each of ``parents``, birds of ``bits``, to its place among ``found``.

    ``found`` has shape (strands, planes, words).

    Raises
    ------
    ValueError
        If a parent is not among the birds.

    Examples
    --------
    >>> bits = np.array([[[[0b000]], [[0b111]]]], dtype=np.uint64)
    >>> found = np.zeros((2, 1, 1), dtype=np.uint64)
    >>> masks = np.array([[0b101]], dtype=np.uint64)
    >>> pass_on(bits, np.array([0]), masks, found, np.array([1]))
    >>> found.ravel().tolist()
    [0, 5]
    """
    if len(parents) and not 0 <= parents.min() <= parents.max() < len(bits):
        raise ValueError(f"parents are numbers of birds, 0 to {len(bits) - 1}")
    planes, words = bits.shape[-2:]
    strands = bits.reshape(-1, planes * words)
    step = max(1, min(len(parents), BLOCK_WORDS // (planes * words)))
    room = np.empty((2, step, planes * words), dtype=np.uint64)
    for begun in range(0, len(parents), step):
        block = slice(begun, begun + step)
        first = 2 * parents[block]
        one, two = room[:, : len(first)]
        # all are in range: clipping is what lets numpy write the rows straight there
        strands.take(first, axis=0, out=one, mode="clip")
        strands.take(first + 1, axis=0, out=two, mode="clip")
        two ^= one
        two &= _to_planes(masks[block], planes).reshape(two.shape)
        two ^= one
        found[into[block]] = two.reshape(-1, planes, words)


def _to_planes(masks: Words, planes: int) -> Words:
    """Each mask once a plane: far quicker than to broadcast over so few words."""
    return np.repeat(masks, planes, axis=0)
