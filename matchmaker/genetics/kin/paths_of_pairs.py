"""The greatest paths of kinship of many pairs at once: what they have in common is followed once.

The same paths as ``wright_paths`` lists one pair at a time. The paths of two birds are those of
each parent of the younger with the older, one bird longer: so the greatest of them follow from the
greatest of the parents, and full sibs, and cocks that many hens descend from, share all the work.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final, TypeAlias

import numpy as np

from matchmaker.genetics.kin.ancestry import Drawn, above, ancestry_of, with_ancestors
from matchmaker.genetics.kin.before_records import before_records
from matchmaker.genetics.kin.kinship import inbreeding_of
from matchmaker.genetics.kin.layers import layers_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from matchmaker.flock.pedigree import Pedigree
    from matchmaker.genetics.kin.ancestry import Ancestry, Matrix

Way: TypeAlias = "tuple[()] | tuple[str, Way]"
"""A way up as a chain: its first bird, and the way on from there; shared between paths."""

_Found: TypeAlias = tuple[float, int, Way, Way, float]
"""A path: minus its part of the kinship, birds on both ways, the ways, chance of the parents."""

MOST_OF_A_PAIR: Final = 6
"""Paths listed of each pair; what others add is told as one sum."""

DUST: Final = 1e-12
"""Smaller than this is what sums of floating-point numbers leave over."""


@dataclass(frozen=True, slots=True)
class PathOfPair:
    """One path: the ways from the hen and from the cock up to the bird in which they meet.

    ``kinship`` is its part of the kinship of the two, and ``chance`` that of the parents along it
    being who they are taken for, which is counted in.
    """

    first: Way
    second: Way
    kinship: float
    chance: float


@dataclass(frozen=True, slots=True)
class PathsOfPair:
    """The greatest paths of a pair, the greatest first, and what else there is.

    ``before`` is what pools of founders have in common; all three sum to the kinship.
    """

    listed: tuple[PathOfPair, ...]
    before: float
    others: float


def bands_of(way: Way) -> tuple[str, ...]:
    """The birds of a way in order.

    Examples
    --------
    >>> bands_of(("D", ("A", ())))
    ('D', 'A')
    """
    found = []
    while way:
        band, way = way
        found.append(band)
    return tuple(found)


def paths_of_pairs(
    pedigree: Pedigree,
    firsts: Sequence[str],
    seconds: Sequence[str],
    kinship: Matrix,
    *,
    most: int = MOST_OF_A_PAIR,
) -> list[list[PathsOfPair]]:
    """Return the paths of each of ``firsts`` (rows) with each of ``seconds``, the greatest first.

    ``kinship`` (firsts, seconds) is that of the pairs. Of equal paths the shorter comes first, then
    that whose bands come first.

    Raises
    ------
    KeyError
        If a bird is not in the pedigree.

    Examples
    --------
    Full sibs by one path over either parent:

    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> family = pedigree_of(
    ...     "A ? sussex sussex",
    ...     "B ? sussex sussex",
    ...     "D ? A B",
    ...     "E ? A B",
    ... )
    >>> [[found]] = paths_of_pairs(family, ["D"], ["E"], np.array([[0.25]]))
    >>> [(bands_of(one.first), bands_of(one.second), one.kinship) for one in found.listed]
    [(('D', 'A'), ('E', 'A'), 0.125), (('D', 'B'), ('E', 'B'), 0.125)]
    >>> found.before, found.others
    (0.0, 0.0)
    """
    if not firsts or not seconds:
        return [[] for _ in firsts]
    node_of = pedigree.node_of()
    rows, columns = [node_of[band] for band in firsts], [node_of[band] for band in seconds]
    ancestry = ancestry_of(pedigree)
    search = _Search.of(pedigree, ancestry, {*rows, *columns}, most)
    before = before_records(ancestry, rows, columns)
    return [
        [
            _told(search.paths(row, column), before[at, beside], kinship[at, beside])
            for beside, column in enumerate(columns)
        ]
        for at, row in enumerate(rows)
    ]


def _told(found: Sequence[_Found], before: float, total: float) -> PathsOfPair:
    listed = tuple(
        PathOfPair(first, second, -part, chance) for part, _, first, second, chance in found
    )
    others = float(total - before - sum(path.kinship for path in listed))
    return PathsOfPair(listed, float(before), others if abs(others) > DUST else 0.0)


@dataclass(slots=True, kw_only=True)
class _Search:
    """Follows pairs of nodes upward and remembers the greatest paths of each.

    ``above`` are the nodes right above each node with their chances (a half for a bird's sides),
    ``blood`` the birds among its forebears and itself, as bits: two nodes without one in common
    have no path.
    """

    rank: list[int]
    name: list[str]
    """Band of a bird, "" of a mixture or pool."""
    alike: list[float]
    once: set[int]
    """Mixtures whose bird is drawn once for a whole clutch."""
    above: list[tuple[tuple[int, float], ...]]
    blood: list[int]
    most: int
    _known: dict[tuple[int, int], list[_Found]] = field(default_factory=dict)

    @classmethod
    def of(cls, pedigree: Pedigree, ancestry: Ancestry, birds: set[int], most: int) -> _Search:
        needed = with_ancestors(ancestry, np.array(sorted(birds)))
        rank: list[int] = layers_of(ancestry, needed).place_of.tolist()
        nodes = sorted(np.flatnonzero(needed).tolist(), key=rank.__getitem__)
        first, last = ancestry.first_bird, ancestry.first_mixture
        own = [node for node in nodes if first <= node < last]
        alike, name = [0.0] * ancestry.size, [""] * ancestry.size
        for node, inbreeding in zip(own, inbreeding_of(ancestry, own).tolist(), strict=True):
            alike[node], name[node] = (1.0 + inbreeding) / 2.0, pedigree.birds[node - first]
        up: list[tuple[tuple[int, float], ...]] = [()] * ancestry.size
        blood = [0] * ancestry.size
        for node in nodes:
            up[node] = above(ancestry, node)
            for parent, _ in up[node]:
                blood[node] |= blood[parent]
            if first <= node < last:
                blood[node] |= 1 << node
        drawn = enumerate(ancestry.drawn.tolist(), last)
        once = {node for node, how in drawn if how != Drawn.FOR_EACH}
        return cls(rank=rank, name=name, alike=alike, once=once, above=up, blood=blood, most=most)

    def paths(self, one: int, two: int) -> list[_Found]:
        """The greatest paths of two nodes; with a stack of our own, since ways may be long."""
        waiting = [(one, two)]
        while waiting:
            pair = waiting[-1]
            if pair in self._known:
                waiting.pop()
                continue
            onward = self._onward(*pair)
            open_ones = [on for on, _, _ in onward if on not in self._known]
            if open_ones:
                waiting += open_ones
            else:
                waiting.pop()
                self._known[pair] = self._greatest(pair, onward)
        return self._known[one, two]

    def _onward(self, one: int, two: int) -> list[tuple[tuple[int, int], int, float]]:
        """The pairs that a pair leads to, which of the two went up (2: both), with what chance."""
        if (one == two and self.name[one]) or not self.blood[one] & self.blood[two]:
            return []
        if one == two and one in self.once:
            return [((node, node), 2, chance) for node, chance in self.above[one]]
        if self.rank[one] >= self.rank[two]:
            return [((node, two), 0, chance) for node, chance in self.above[one]]
        return [((one, node), 1, chance) for node, chance in self.above[two]]

    def _greatest(
        self, pair: tuple[int, int], onward: Iterable[tuple[tuple[int, int], int, float]]
    ) -> list[_Found]:
        one, two = pair
        if one == two and self.name[one]:
            band: Way = (self.name[one], ())
            return [(-self.alike[one], 2, band, band, 1.0)]
        names = (self.name[one], self.name[two], "")
        found = [
            _longer(path, names[side], side, chance)
            for on, side, chance in onward
            for path in self._known[on]
        ]
        found.sort()
        return found[: self.most]


def _longer(path: _Found, band: str, side: int, chance: float) -> _Found:
    """A path begun one bird sooner; a mixture is no bird, but its chance counts."""
    part, birds, first, second, sure = path
    if not band:
        return (part * chance, birds, first, second, sure * chance)
    if side == 0:
        return (part * chance, birds + 1, (band, first), second, sure)
    return (part * chance, birds + 1, first, (band, second), sure)
