"""Places along the chromosomes at which strands are followed, in 64-bit words.

A strand is one of the two haplotypes of a bird: strand 0 came from its sire, strand 1 from its
dam. Place ``i`` is bit ``i % 64`` of word ``i // 64``; bits beyond the last place are nought.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from matchmaker.genetics.shares.genome_map import MORGAN, Z

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

Words: TypeAlias = NDArray[np.uint64]
Numbers: TypeAlias = NDArray[np.integer[Any]]
Reals: TypeAlias = NDArray[np.float64]
Flags: TypeAlias = NDArray[np.bool_]

WORD = 64
"""Places in a word."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Grid:
    """Places in order: autosome by autosome, the Z last.

    ``recombination`` is the chance that a gamete changes strands between the place before and
    this one, a half at the first place of each chromosome. ``weights`` are parts of the autosomes,
    ``z_weights`` parts of the Z; each sums to one if the map has any. ``positions`` are in
    centimorgans from the start of the chromosome, ``chromosome_of`` numbers in ``chromosomes``,
    ``placed_at`` the places asked for, in their order. All arrays are read-only.
    """

    chromosomes: tuple[str, ...]
    lengths: tuple[float, ...]
    positions: Reals
    chromosome_of: Numbers
    recombination: Reals
    weights: Reals
    z_weights: Reals
    is_z: Flags
    placed_at: Numbers

    @classmethod
    def of(
        cls,
        lengths: Mapping[str, float],
        *,
        spacing: float = 5.0,
        placed: Sequence[tuple[str, float]] = (),
    ) -> Grid:
        """Lay places over a map.

        Each chromosome is cut into equal stretches of at most ``spacing`` with a place in the
        middle of each. ``lengths`` are those of the chromosomes in centimorgans, ``placed`` more
        places (chromosome, cM from its start) that weigh nothing.

        Recombination of neighbours follows from their distance (Haldane 1919, J Genet 8:299).

        Raises
        ------
        ValueError
            If a length or the spacing is not above nought, or a place lies on no chromosome.

        Examples
        --------
        >>> grid = Grid.of({"1": 20.0, "Z": 10.0}, spacing=10, placed=[("1", 6.0)])
        >>> grid.positions.tolist(), grid.placed_at.tolist()
        ([5.0, 6.0, 15.0, 5.0], [1])
        >>> grid.weights.tolist(), grid.z_weights.tolist()
        ([0.5, 0.0, 0.5, 0.0], [0.0, 0.0, 0.0, 1.0])
        >>> grid.recombination.round(4).tolist()
        [0.5, 0.0099, 0.0824, 0.5]
        """
        _check(lengths, spacing, placed)
        names = [*(name for name in lengths if name != Z), *(name for name in lengths if name == Z)]
        asked = [names.index(chromosome) for chromosome, _ in placed]
        stretches = [math.ceil(lengths[name] / spacing) for name in names]
        steps = [lengths[name] / count for name, count in zip(names, stretches, strict=True)]
        number = np.concatenate([np.repeat(np.arange(len(names)), stretches), asked]).astype(int)
        position = np.concatenate(
            [
                *(step * (np.arange(n) + 0.5) for step, n in zip(steps, stretches, strict=True)),
                np.array([at for _, at in placed], dtype=float),
            ]
        )
        weight = np.concatenate([np.repeat(steps, stretches), np.zeros(len(placed))])
        order = np.lexsort((position, number))
        rank = np.empty_like(order)
        rank[order] = np.arange(len(order))
        number, position, weight = number[order], position[order], weight[order]
        is_z = np.array([name == Z for name in names], dtype=bool)[number]
        return cls(
            chromosomes=tuple(names),
            lengths=tuple(float(lengths[name]) for name in names),
            positions=_fixed(position),
            chromosome_of=_fixed(number),
            recombination=_fixed(_recombination(number, position)),
            weights=_fixed(_parts(np.where(is_z, 0.0, weight))),
            z_weights=_fixed(_parts(np.where(is_z, weight, 0.0))),
            is_z=_fixed(is_z),
            placed_at=_fixed(rank[len(rank) - len(placed) :]),
        )

    @property
    def places(self) -> int:
        """Number of places."""
        return len(self.positions)

    @property
    def words(self) -> int:
        """Words that hold one bit of every place."""
        return -(-self.places // WORD)

    def stretch(self, place: int) -> tuple[int, int]:
        """First place of the chromosome on which ``place`` lies, and the one past its last."""
        first, past = np.searchsorted(self.chromosome_of, self.chromosome_of[place] + np.arange(2))
        return int(first), int(past)


def packed(grid: Grid, flags: Flags) -> Words:
    """Return flags by place, shape (…, places), as words, shape (…, words).

    Examples
    --------
    >>> grid = Grid.of({"1": 15.0})
    >>> packed(grid, np.array([True, False, True]))
    array([5], dtype=uint64)
    """
    full = np.zeros((*flags.shape[:-1], grid.words * WORD), dtype=bool)
    full[..., : grid.places] = flags
    found: Words = np.packbits(full, axis=-1, bitorder="little").view("<u8")
    return found


def unpacked(grid: Grid, words: Words) -> NDArray[np.uint8]:
    """Return words, shape (…, words), as one number 0 or 1 a place, shape (…, places).

    Examples
    --------
    >>> unpacked(Grid.of({"1": 15.0}), np.array([5], dtype=np.uint64)).tolist()
    [1, 0, 1]
    """
    octets = np.ascontiguousarray(words, dtype="<u8").view(np.uint8)
    return np.unpackbits(octets, axis=-1, bitorder="little", count=grid.places)


def _check(
    lengths: Mapping[str, float], spacing: float, placed: Sequence[tuple[str, float]]
) -> None:
    if not lengths or not spacing > 0 or not all(length > 0 for length in lengths.values()):
        raise ValueError("a grid needs chromosomes and a spacing, all longer than nought")
    for chromosome, at in placed:
        if chromosome not in lengths or not 0 <= at <= lengths[chromosome]:
            raise ValueError(f"no place at {at:g} cM of chromosome {chromosome}")


def _recombination(number: Numbers, position: Reals) -> Reals:
    chances = np.full(len(position), 0.5)
    near = number[1:] == number[:-1]
    chances[1:][near] = -np.expm1(-2 * np.diff(position)[near] / MORGAN) / 2
    return chances


def _parts(weights: Reals) -> Reals:
    total = weights.sum()
    return weights / total if total > 0 else weights


def _fixed(values: NDArray[Any]) -> NDArray[Any]:
    values.flags.writeable = False
    return values
