"""Genes dropped place by place with plain lists, the slow obvious way."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    import random
    from collections.abc import Sequence

    from matchmaker.genetics.drop.grid import Grid

Strand: TypeAlias = list[int]
"""Founder label at every place."""


@dataclass
class SlowDrop:
    """One replicate after the other, a place at a time."""

    grid: Grid
    rng: random.Random

    def gamete(self, bird: Sequence[Strand], *, of_hen: bool) -> Strand:
        found = []
        side = 0
        for place, chance in enumerate(self.grid.recombination.tolist()):
            if self.rng.random() < chance:
                side = 1 - side
            only = of_hen and self.grid.is_z[place]
            found.append(bird[0 if only else side][place])
        return found

    def pedigree(self, sires: Sequence[int], dams: Sequence[int]) -> list[list[Strand]]:
        """Strands of every bird; parents stand before their chicks, −1 is a new founder."""
        birds: list[list[Strand]] = []
        label = 0
        for parents in zip(sires, dams, strict=True):
            bird = []
            for parent, of_hen in zip(parents, (False, True), strict=True):
                if parent < 0:
                    bird.append([label] * self.grid.places)
                    label += 1
                else:
                    bird.append(self.gamete(birds[parent], of_hen=of_hen))
            birds.append(bird)
        return birds


def part(grid: Grid, marked: Sequence[bool]) -> float:
    """Weights of the marked places, added one by one."""
    return sum(float(grid.weights[place]) for place, mark in enumerate(marked) if mark)


def kinship(grid: Grid, one: Sequence[Strand], other: Sequence[Strand]) -> float:
    """Realised kinship of two birds, place by place."""
    return sum(
        part(grid, [a == b for a, b in zip(first, second, strict=True)]) / 4
        for first in one
        for second in other
    )
