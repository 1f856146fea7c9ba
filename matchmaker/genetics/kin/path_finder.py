"""The paths that join many pairs of one pedigree, as ``wright_paths`` lists them for one.

What all pairs share is worked out once, and no way is followed that cannot meet in a bird.
"""

from __future__ import annotations

import heapq
from dataclasses import dataclass
from fractions import Fraction
from itertools import count
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from matchmaker import tolerance
from matchmaker.genetics.kin.ancestry import Drawn, ancestry_of, members_of
from matchmaker.genetics.kin.kinship import inbreeding_of
from matchmaker.genetics.kin.layers import layers_of
from matchmaker.genetics.kin.wright_paths import MOST_PATHS, STEPS_A_PATH, Path, Paths, wright_paths

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.flock.pedigree import Pedigree
    from matchmaker.genetics.kin.ancestry import Ancestry

Ways: TypeAlias = tuple[tuple[int, ...], tuple[int, ...]]
"""Nodes met on the way up from each of two birds."""


@dataclass(frozen=True, slots=True)
class _Trail:
    """Two ways up, how likely a gene is to come over them, and the chance of their parents."""

    ways: Ways
    weight: float
    chance: float


class PathFinder:
    """Finds the paths between birds of one pedigree.

    Examples
    --------
    Half sibs by the cock A:

    >>> from matchmaker.flock.pedigree import Pedigree, Pool
    >>> family = Pedigree(
    ...     pools=(Pool("sussex"),),
    ...     bases=((0.0,),),
    ...     birds=("A", "B", "C", "D", "E"),
    ...     sexes=(None,) * 5,
    ...     sires=(((0, 1.0),), ((0, 1.0),), ((0, 1.0),), ((1, 1.0),), ((1, 1.0),)),
    ...     dams=(((0, 1.0),), ((0, 1.0),), ((0, 1.0),), ((2, 1.0),), ((3, 1.0),)),
    ... )
    >>> found = PathFinder(family).between("D", "E", 0.125)
    >>> [(path.first, path.second, path.kinship) for path in found.listed], found.before
    ([(('D', 'A'), ('E', 'A'), Fraction(1, 8))], Fraction(0, 1))
    """

    def __init__(self, pedigree: Pedigree) -> None:
        ancestry = ancestry_of(pedigree)
        self._pedigree = pedigree
        self._node_of = pedigree.node_of()
        self._first_bird, self._first_mixture = ancestry.first_bird, ancestry.first_mixture
        everyone = np.ones(ancestry.size, dtype=bool)
        self._rank: list[int] = layers_of(ancestry, everyone).place_of.tolist()
        self._above = [list(_parents(ancestry, node)) for node in range(ancestry.size)]
        self._once = [_is_once(ancestry, node) for node in range(ancestry.size)]
        self._forebears = self._sets_of_forebears()
        self._alike = ((1 + inbreeding_of(ancestry)) / 2).tolist()

    def between(self, first: str, second: str, kinship: float, *, most: int = MOST_PATHS) -> Paths:
        """The greatest paths between two birds whose kinship is known.

        Raises
        ------
        KeyError
            If a bird is not in the pedigree.
        """
        met, all_found = self._followed((self._node_of[first], self._node_of[second]), most)
        if not all_found:
            return wright_paths(self._pedigree, first, second, Fraction(kinship), most=most)
        listed = tuple(sorted(map(self._path, met), key=_greatest_first))
        named = sum((path.kinship for path in listed), Fraction(0))
        left = Fraction(kinship) - named
        before = left if left > tolerance.PROBABILITY_SUM else Fraction(0)
        return Paths(listed=listed, before=before, others=Fraction(0))

    def _sets_of_forebears(self) -> list[int]:
        """Of each node the birds among itself and its possible ancestors, as bits."""
        sets = [0] * len(self._above)
        for node in sorted(range(len(sets)), key=self._rank.__getitem__):
            if node >= self._first_bird:
                own = 1 << node if node < self._first_mixture else 0
                for above, _ in self._above[node]:
                    own |= sets[above]
                sets[node] = own
        return sets

    def _followed(self, birds: tuple[int, int], most: int) -> tuple[list[_Trail], bool]:
        """Ways that meet, the likeliest first; and whether these are all there are."""
        order = count()
        waiting = [(-1.0, next(order), birds, _Trail(((birds[0],), (birds[1],)), 1.0, 1.0))]
        met: list[_Trail] = []
        for _ in range(STEPS_A_PATH * most):
            if not waiting:
                return met, True
            if len(met) >= most:
                break
            _, _, pair, trail = heapq.heappop(waiting)
            if pair[0] == pair[1] and pair[0] < self._first_mixture:
                met.append(trail)
                continue
            for at, on in self._onward(pair, trail):
                if self._forebears[at[0]] & self._forebears[at[1]]:
                    heapq.heappush(waiting, (-on.weight, next(order), at, on))
        return met, False

    def _onward(
        self, pair: tuple[int, int], trail: _Trail
    ) -> Iterator[tuple[tuple[int, int], _Trail]]:
        """Where two ways lead: the younger goes on, to each of its parents."""
        first, second = trail.ways
        if pair[0] == pair[1] and self._once[pair[0]]:
            for node, chance in self._above[pair[0]]:
                part = trail.weight * chance
                yield (
                    (node, node),
                    _Trail(((*first, node), (*second, node)), part, trail.chance * chance),
                )
            return
        side = 0 if self._rank[pair[0]] >= self._rank[pair[1]] else 1
        of_bird = pair[side] < self._first_mixture
        for node, chance in self._above[pair[side]]:
            at = (node, pair[1]) if side == 0 else (pair[0], node)
            ways = ((*first, node), second) if side == 0 else (first, (*second, node))
            certainty = trail.chance if of_bird else trail.chance * chance
            yield at, _Trail(ways, trail.weight * chance, certainty)

    def _path(self, trail: _Trail) -> Path:
        first, second = (self._bands(way) for way in trail.ways)
        alike = Fraction(self._alike[trail.ways[0][-1] - self._first_bird])
        return Path(
            first=first,
            second=second,
            kinship=Fraction(trail.weight) * alike,
            chance=Fraction(trail.chance),
        )

    def _bands(self, way: tuple[int, ...]) -> tuple[str, ...]:
        """The birds on a way; what stands for a parent that is not certain is none."""
        birds = range(self._first_bird, self._first_mixture)
        return tuple(self._pedigree.birds[node - self._first_bird] for node in way if node in birds)


def _parents(ancestry: Ancestry, node: int) -> Iterator[tuple[int, float]]:
    """Nodes right above a bird or mixture, and their probabilities."""
    if node >= ancestry.first_mixture:
        members, chances = members_of(ancestry, node - ancestry.first_mixture)
        yield from zip(members.tolist(), chances.tolist(), strict=True)
    elif node >= ancestry.first_bird:
        row = node - ancestry.first_bird
        yield int(ancestry.sires[row]), 0.5
        yield int(ancestry.dams[row]), 0.5


def _is_once(ancestry: Ancestry, node: int) -> bool:
    """Whether a node is the one parent of a clutch, drawn for all its chicks at once."""
    mixture = node - ancestry.first_mixture
    return mixture >= 0 and Drawn(int(ancestry.drawn[mixture])) is not Drawn.FOR_EACH


def _greatest_first(path: Path) -> tuple[Fraction, int, tuple[str, ...], tuple[str, ...]]:
    return (-path.kinship, len(path.first) + len(path.second), path.first, path.second)
