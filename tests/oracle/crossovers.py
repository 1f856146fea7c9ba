"""Whole chromosomes dropped through a pedigree, crossover by crossover, the slow plain way."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, TypeAlias

from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    import numpy as np

    from matchmaker.flock.pedigree import Links, Pedigree

Strand: TypeAlias = list[tuple[float, int]]
"""Where each piece starts, in Morgans, and the pool it came from."""


@dataclass(frozen=True)
class Dropper:
    """Drops one chromosome of ``length`` Morgans; crossovers do not hinder each other."""

    pedigree: Pedigree
    length: float
    rng: np.random.Generator
    on_z: bool = False

    def drop(self) -> list[list[Strand]]:
        """Strands of every bird: two, or a hen's one Z."""
        birds: list[list[Strand]] = []
        drawn: dict[tuple[int, int], int] = {}
        for at, sex in enumerate(self.pedigree.sexes):
            sides = (self.pedigree.sires[at], self.pedigree.dams[at])
            count = 1 if self.on_z and sex is Sex.HEN else 2
            birds.append(
                [
                    self._gamete(birds, self._parent(at, side, links, drawn))
                    for side, links in enumerate(sides[:count])
                ]
            )
        return birds

    def _parent(self, at: int, side: int, links: Links, drawn: dict[tuple[int, int], int]) -> int:
        clutch = self.pedigree.clutch_of(at)
        if clutch is not None and (clutch, side) in drawn:
            return drawn[clutch, side]
        nodes = [node for node, _ in links]
        node = int(self.rng.choice(nodes, p=[chance for _, chance in links]))
        if clutch is not None:
            drawn[clutch, side] = node
        return node

    def _gamete(self, birds: list[list[Strand]], node: int) -> Strand:
        if node < self.pedigree.first_bird:
            return [(0.0, node)]
        strands = birds[node - self.pedigree.first_bird]
        if len(strands) == 1:
            return strands[0]
        cuts = sorted(self.rng.uniform(0, self.length, self.rng.poisson(self.length)))
        bounds = [0.0, *cuts, self.length]
        at = int(self.rng.integers(2))
        made: Strand = []
        for start, end in pairwise(bounds):
            made += _piece(strands[at], start, end)
            at = 1 - at
        return made


def _piece(strand: Strand, start: float, end: float) -> Strand:
    first = bisect_right([place for place, _ in strand], start) - 1
    return [(max(place, start), pool) for place, pool in strand[first:] if place < end]


def share(strand: Strand, length: float, pool: int) -> float:
    """Part of a strand that came from a pool."""
    ends = [*(place for place, _ in strand[1:]), length]
    pieces = zip(strand, ends, strict=True)
    return sum(end - start for (start, own), end in pieces if own == pool) / length


def piece_around(strand: Strand, length: float, place: float, pool: int) -> float | None:
    """Unbroken length from one pool around a place, None if the place is not from it."""
    starts = [start for start, _ in strand]
    at = bisect_right(starts, place) - 1
    if strand[at][1] != pool:
        return None
    low = high = at
    while low > 0 and strand[low - 1][1] == pool:
        low -= 1
    while high + 1 < len(strand) and strand[high + 1][1] == pool:
        high += 1
    end = starts[high + 1] if high + 1 < len(strand) else length
    return end - starts[low]
