"""The paths that join two birds, one by one: over which birds, and how much of the kinship each is.

Wright (1922, Am Nat 56:330, from memory): a path goes up from one bird to a common ancestor A and
down to the other, meeting no bird twice; with n birds on it, both ends counted, it adds
(1/2)^n (1 + F of A).
``paths`` sums such paths by ancestor, however many there are; here the greatest are listed, in
exact fractions.
"""

from __future__ import annotations

import heapq
from dataclasses import dataclass
from fractions import Fraction
from itertools import count
from typing import TYPE_CHECKING, Final

import numpy as np

from matchmaker.genetics.kin.ancestry import ancestry_of, with_ancestors
from matchmaker.genetics.kin.kinship import inbreeding_of
from matchmaker.genetics.kin.layers import layers_of
from matchmaker.genetics.kin.paths import Shared, common_ancestors, onward

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from matchmaker.flock.pedigree import Pedigree
    from matchmaker.genetics.kin.ancestry import Ancestry
    from matchmaker.genetics.kin.paths import Pair

MOST_PATHS: Final = 24
"""Paths listed at most; what others add is small, and told as one sum."""

STEPS_A_PATH: Final = 1_000
"""Pairs of forebears looked at for each path that is asked for, at most."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Path:
    """One path: from the first bird up to the ancestor, and from the second bird up to it.

    Both ways begin with the bird itself and end with the ancestor. ``chance`` is that of the
    parents along it being who they are taken for, 1 where all are certain; ``kinship`` is the
    path's part of the kinship of the two, that chance counted in.
    """

    first: tuple[str, ...]
    second: tuple[str, ...]
    kinship: Fraction
    chance: Fraction

    @property
    def ancestor(self) -> str:
        """The bird in which the two ways meet."""
        return self.first[-1]


@dataclass(frozen=True, slots=True)
class Paths:
    """The greatest paths, and what else there is: ``before`` the records, and over ``others``.

    ``before`` is what pools of founders have in common; all three sum to the kinship.
    """

    listed: tuple[Path, ...]
    before: Fraction
    others: Fraction


@dataclass(frozen=True, slots=True)
class _Trail:
    """Nodes met on the way up from each bird, and how likely a gene is to come this way."""

    ways: tuple[tuple[int, ...], tuple[int, ...]]
    weight: Fraction
    chance: Fraction

    def onward(self, chance: float, steps: tuple[int, int], *, certain: bool) -> _Trail:  # noqa: ARG002
        part = Fraction(chance)
        climbs = sum(steps) > 0
        return _Trail(self.ways, self.weight * part, self.chance * (1 if climbs else part))

    def reaching(self, pair: Pair) -> _Trail:
        """The trail with the nodes that it has come to."""
        ways = tuple(
            way if way[-1] == node else (*way, node)
            for way, node in zip(self.ways, pair, strict=True)
        )
        return _Trail((ways[0], ways[1]), self.weight, self.chance)


def wright_paths(
    pedigree: Pedigree, first: str, second: str, kinship: Fraction, *, most: int = MOST_PATHS
) -> Paths:
    """List the paths that join two birds whose kinship is known, the greatest part first.

    Raises
    ------
    KeyError
        If a bird is not in the pedigree.

    Examples
    --------
    Half sibs by the cock A:

    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> family = pedigree_of(
    ...     "A ? sussex sussex",
    ...     "B ? sussex sussex",
    ...     "C ? sussex sussex",
    ...     "D ? A B",
    ...     "E ? A C",
    ... )
    >>> found = wright_paths(family, "D", "E", Fraction(1, 8))
    >>> [(path.first, path.second, path.kinship) for path in found.listed], found.others
    ([(('D', 'A'), ('E', 'A'), Fraction(1, 8))], Fraction(0, 1))
    """
    ancestry, node_of = ancestry_of(pedigree), pedigree.node_of()
    met = _followed(ancestry, (node_of[first], node_of[second]), most)
    listed = tuple(sorted(_paths(pedigree, ancestry, met), key=_greatest_first))
    parts = common_ancestors(pedigree, first, second)
    before = sum((Fraction(part.kinship) for part in parts if not part.band), Fraction(0))
    named = sum((path.kinship for path in listed), Fraction(0))
    return Paths(listed=listed, before=before, others=kinship - named - before)


def _followed(ancestry: Ancestry, birds: Pair, most: int) -> list[_Trail]:
    """Follow the likeliest way first, so that those that meet are found the likeliest first.

    To the digits of a float, because comparing fractions took most of the time.
    """
    rank = layers_of(ancestry, with_ancestors(ancestry, np.array(birds))).place_of.tolist()
    order = count()
    start = _Trail(((birds[0],), (birds[1],)), Fraction(1), Fraction(1))
    waiting = [(-1.0, next(order), birds, start)]
    met: list[_Trail] = []
    for _ in range(STEPS_A_PATH * most):
        if not waiting or len(met) >= most:
            break
        _, _, pair, trail = heapq.heappop(waiting)
        for shared, at, part in onward(ancestry, pair, trail, rank):
            if shared is Shared.BIRD:
                met.append(part)
            elif shared is None:
                on = part.reaching(at)
                heapq.heappush(waiting, (-float(on.weight), next(order), at, on))
    return met


def _paths(pedigree: Pedigree, ancestry: Ancestry, met: Sequence[_Trail]) -> Iterator[Path]:
    ancestors = sorted({trail.ways[0][-1] for trail in met})
    inbreeding = dict(zip(ancestors, inbreeding_of(ancestry, ancestors).tolist(), strict=True))
    for trail in met:
        first, second = (_bands(pedigree, ancestry, way) for way in trail.ways)
        alike = (1 + Fraction(inbreeding[trail.ways[0][-1]])) / 2
        yield Path(first=first, second=second, kinship=trail.weight * alike, chance=trail.chance)


def _bands(pedigree: Pedigree, ancestry: Ancestry, way: tuple[int, ...]) -> tuple[str, ...]:
    """The birds on a way; what stands for a parent that is not certain is none."""
    birds = range(ancestry.first_bird, ancestry.first_mixture)
    return tuple(pedigree.birds[node - ancestry.first_bird] for node in way if node in birds)


def _greatest_first(path: Path) -> tuple[Fraction, int, tuple[str, ...], tuple[str, ...]]:
    return (-path.kinship, len(path.first) + len(path.second), path.first, path.second)
