"""Kinship by counting paths, in exact fractions: a slow second way that shares no formula.

Sewall Wright's coefficient of relationship by paths (Wright 1922, Am Nat 56:330, from memory):
kinship of two birds is the sum, over every common ancestor and every pair of paths that lead
down from it to the two birds and share no other bird, of (1/2) to the power of the birds on the
loop, times (1 + F) of the ancestor. Uncertain parents are enumerated: each realisation of them
is a certain pedigree, and kinship is the mean over all realisations.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction
from functools import cache
from itertools import product
from math import prod
from typing import TypeAlias

Parents: TypeAlias = tuple[str | None, str | None]
"""Sire and dam of a bird; ``None`` for an unrelated founder's gamete."""

Family: TypeAlias = Mapping[str, Parents]
Choice: TypeAlias = tuple[tuple[str | None, Fraction], ...]


class Paths:
    """Kinship in one certain pedigree."""

    def __init__(self, family: Family) -> None:
        self._family = family
        self._kinship = cache(self._count)
        self._up = cache(lambda bird: tuple(self._climb(bird)))

    def kinship(self, first: str, second: str) -> Fraction:
        """Kinship of two birds; of a bird with itself, half of one plus its inbreeding."""
        if first == second:
            return (1 + self.inbreeding(first)) / 2
        return self._kinship(*sorted((first, second)))

    def inbreeding(self, bird: str) -> Fraction:
        """Kinship of the parents."""
        sire, dam = self._family[bird]
        return Fraction(0) if sire is None or dam is None else self.kinship(sire, dam)

    def _count(self, first: str, second: str) -> Fraction:
        total = Fraction(0)
        for one in self._up(first):
            for other in self._up(second):
                if one[-1] == other[-1] and not set(one[:-1]) & set(other[:-1]):
                    birds = len(one) + len(other) - 1
                    total += Fraction(1, 2**birds) * (1 + self.inbreeding(one[-1]))
        return total

    def _climb(self, bird: str) -> Iterator[tuple[str, ...]]:
        """Every path from a bird to itself or any of its ancestors, the bird first."""
        yield (bird,)
        for parent in self._family[bird]:
            if parent is not None:
                for path in self._up(parent):
                    yield (bird, *path)


def mean_kinship(
    choices: Mapping[str, tuple[Choice, Choice]],
) -> dict[tuple[str, str], Fraction]:
    """Kinship of every two birds as the mean over all realisations of uncertain parents.

    Each bird's parents are drawn independently of every other bird's.
    """
    birds = list(choices)
    cells = [side for bird in birds for side in choices[bird]]
    total = {pair: Fraction(0) for pair in product(birds, birds)}
    for drawn in product(*cells):
        chance = prod((share for _, share in drawn), start=Fraction(1))
        parents = [parent for parent, _ in drawn]
        paths = Paths({b: (parents[2 * at], parents[2 * at + 1]) for at, b in enumerate(birds)})
        for pair in total:
            total[pair] += chance * paths.kinship(*pair)
    return total
