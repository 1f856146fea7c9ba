"""What makes two birds kin: their common ancestors, each with its part of the kinship.

Wright's count of paths (Wright 1922, Am Nat 56:330, from memory) without listing them. Kinship of
two birds is the mean over the parents of the younger; where that leads to the same bird on both
sides, two paths have met in an ancestor, and all that arrives there belongs to it.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Protocol, Self, TypeAlias, TypeVar

import numpy as np

from matchmaker.genetics.kin.ancestry import (
    Ancestry,
    Drawn,
    above,
    ancestry_of,
    with_ancestors,
)
from matchmaker.genetics.kin.kinship import inbreeding_of
from matchmaker.genetics.kin.layers import layers_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from matchmaker.flock.pedigree import Pedigree, Pool


class Shared(StrEnum):
    """What two birds have in common."""

    BIRD = "bird"
    """A bird on record."""
    SIRE = "sire"
    """A clutch's one sire, of whom only the pool is known."""
    DAM = "dam"
    """A clutch's one dam, of whom only the pool is known."""
    POOL = "pool"
    """Forebears before the records: the base kinship of a breed or source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Contribution:
    """One thing two birds have in common, and its part of their kinship.

    ``band`` is set for a bird, ``pools`` (one, or two different ones of a breed) for the rest.
    ``generations`` is the shortest way up to it from the first and from the second bird (0: it is
    that bird itself); ``certain`` says whether a way leads there over parents known for certain.
    """

    shared: Shared
    kinship: float
    generations: tuple[int, int]
    certain: bool
    band: str = ""
    pools: tuple[Pool, ...] = ()


@dataclass(slots=True)
class _Ways:
    """All ways by which a pair of nodes is reached: how likely, how short, whether certain."""

    weight: float
    generations: tuple[int, int]
    certain: bool

    def onward(self, chance: float, steps: tuple[int, int], *, certain: bool) -> _Ways:
        """The same ways, gone on to one of the parents."""
        first, second = self.generations
        return _Ways(
            self.weight * chance,
            (first + steps[0], second + steps[1]),
            certain=self.certain and certain,
        )

    def join(self, other: _Ways) -> None:
        self.weight += other.weight
        self.generations = min(self.generations, other.generations, key=sum)
        self.certain |= other.certain


class Ascent(Protocol):
    """What is kept of a way up from two birds while it is followed."""

    def onward(self, chance: float, steps: tuple[int, int], *, certain: bool) -> Self:
        """The same, gone on to one of the parents with this chance."""
        ...


WaysT = TypeVar("WaysT", bound=Ascent)

UNWRITTEN = {Drawn.SIRE_OF_ALL: Shared.SIRE, Drawn.DAM_OF_ALL: Shared.DAM}

Pair: TypeAlias = tuple[int, int]
"""A node above the first bird and one above the second; where they have met, the bird twice, both
pools, or the pool and the mixture of a clutch's unwritten parent."""

Met: TypeAlias = dict[tuple[Shared, Pair], _Ways]
Key = TypeVar("Key", Pair, tuple[Shared, Pair])


def common_ancestors(pedigree: Pedigree, first: str, second: str) -> tuple[Contribution, ...]:
    """What two birds have in common, the greatest part first; the parts sum to their kinship.

    A bird that stands behind another common ancestor counts only for the ways on which the two
    meet in it and not sooner. Where parents are uncertain every possible one counts by its
    probability.

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
    >>> [(part.band, part.kinship, part.generations) for part in common_ancestors(family, "D", "E")]
    [('A', 0.125, (1, 1))]
    """
    ancestry = ancestry_of(pedigree)
    node_of = pedigree.node_of()
    met = _meetings(ancestry, (node_of[first], node_of[second]))
    selves = _self_kinship(ancestry, met)
    parts = (
        _contribution(pedigree, shared, pair, ways, selves[shared, pair])
        for (shared, pair), ways in met.items()
    )
    found = [part for part in parts if part.kinship > 0]
    return tuple(sorted(found, key=lambda part: (-part.kinship, part.band, part.pools)))


def _contribution(
    pedigree: Pedigree, shared: Shared, pair: Pair, ways: _Ways, alike: float
) -> Contribution:
    bird = shared is Shared.BIRD
    pools = () if bird else pair if shared is Shared.POOL else pair[:1]
    return Contribution(
        shared=shared,
        kinship=ways.weight * alike,
        generations=ways.generations,
        certain=ways.certain,
        band=pedigree.birds[pair[0] - pedigree.first_bird] if bird else "",
        pools=tuple(pedigree.pools[node] for node in sorted(set(pools))),
    )


def _self_kinship(ancestry: Ancestry, met: Met) -> Mapping[tuple[Shared, Pair], float]:
    """Chance that two alleles are alike where two ways have met."""
    birds = [pair[0] for shared, pair in met if shared is Shared.BIRD]
    inbreeding = dict(zip(birds, inbreeding_of(ancestry, birds).tolist(), strict=True))
    alike: dict[tuple[Shared, Pair], float] = {}
    for shared, pair in met:
        if shared is Shared.BIRD:
            alike[shared, pair] = (1 + inbreeding[pair[0]]) / 2
        elif shared is Shared.POOL:
            alike[shared, pair] = float(ancestry.bases[pair])
        else:
            alike[shared, pair] = float(1 + ancestry.bases[pair[0], pair[0]]) / 2
    return alike


def _meetings(ancestry: Ancestry, birds: Pair) -> Met:
    """Where the ways up from two birds meet, going from the youngest pair to the oldest."""
    rank = layers_of(ancestry, with_ancestors(ancestry, np.array(birds))).place_of.tolist()
    waiting: dict[int, dict[Pair, _Ways]] = defaultdict(dict)
    met: Met = {}
    waiting[max(rank[birds[0]], rank[birds[1]])][birds] = _Ways(1.0, (0, 0), certain=True)
    for level in range(max(waiting), -1, -1):
        while level in waiting:  # of a mixture met with itself one side goes up at a time
            for pair, ways in waiting.pop(level).items():
                for shared, at, part in onward(ancestry, pair, ways, rank):
                    if shared is None:
                        _join(waiting[max(rank[at[0]], rank[at[1]])], at, part)
                    else:
                        _join(met, (shared, at), part)
    return met


def onward(
    ancestry: Ancestry, pair: Pair, ways: WaysT, rank: list[int]
) -> Iterator[tuple[Shared | None, Pair, WaysT]]:
    """Where a pair leads: it has met, or its parts go up further (``None``).

    ``rank`` puts every node above those that descend from it: the younger of the two goes on.

    Examples
    --------
    From a chick D of A and C beside its sire A: half of the ways meet in him, half go up the dam.

    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> family = pedigree_of(
    ...     "A ? sussex sussex",
    ...     "C ? sussex sussex",
    ...     "D ? A C",
    ... )
    >>> ancestry = ancestry_of(family)
    >>> start = _Ways(1.0, (0, 0), certain=True)
    >>> [(pair, ways.weight) for _, pair, ways in onward(ancestry, (3, 1), start, [0, 1, 1, 2])]
    [((1, 1), 0.5), ((2, 1), 0.5)]
    """
    if max(pair) < ancestry.first_bird:
        yield Shared.POOL, (min(pair), max(pair)), ways
    elif pair[0] == pair[1] < ancestry.first_mixture:
        yield Shared.BIRD, pair, ways
    elif (drawn := _drawn(ancestry, pair)) is Drawn.FOR_EACH:
        for reached, part in _upward(ancestry, pair, ways, rank):
            yield None, reached, part
    else:
        certain = _is_certain(ancestry, pair[0])
        for node, chance in above(ancestry, pair[0]):
            part = ways.onward(chance, (0, 0), certain=certain)
            if node < ancestry.first_bird:  # one bird out of the pool, not two of its gametes
                yield UNWRITTEN[drawn], (node, pair[0]), part
            else:
                yield None, (node, node), part


def _join(into: dict[Key, _Ways], key: Key, ways: _Ways) -> None:
    if key in into:
        into[key].join(ways)
    else:
        into[key] = ways


def _drawn(ancestry: Ancestry, pair: Pair) -> Drawn:
    """Whether both nodes are the one parent of a clutch, which is drawn for all at once."""
    mixture = pair[0] - ancestry.first_mixture
    if pair[0] != pair[1] or mixture < 0:
        return Drawn.FOR_EACH
    return Drawn(int(ancestry.drawn[mixture]))


def _upward(
    ancestry: Ancestry, pair: Pair, ways: WaysT, rank: list[int]
) -> Iterator[tuple[Pair, WaysT]]:
    """Pairs that the younger of two nodes leads to, with the part of the ways that goes there."""
    side = 0 if rank[pair[0]] >= rank[pair[1]] else 1
    step = 1 if pair[side] < ancestry.first_mixture else 0
    steps = (step, 0) if side == 0 else (0, step)
    certain = _is_certain(ancestry, pair[side])
    for node, chance in above(ancestry, pair[side]):
        reached = (node, pair[1]) if side == 0 else (pair[0], node)
        yield reached, ways.onward(chance, steps, certain=certain)


def _is_certain(ancestry: Ancestry, node: int) -> bool:
    """Whether it is known who stands above a node: always above a bird, seldom above a mixture."""
    return node < ancestry.first_mixture or len(above(ancestry, node)) == 1
