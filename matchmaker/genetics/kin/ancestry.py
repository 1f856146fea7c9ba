"""The pedigree as arrays: what kinship is worked out from, at any number of birds."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import IntEnum
from itertools import chain
from typing import TYPE_CHECKING, Any, TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterable

    from matchmaker.flock.pedigree import Links, Pedigree

Matrix: TypeAlias = NDArray[np.float64]
Nodes: TypeAlias = NDArray[np.int64]

UNKNOWN, COCK, HEN = 0, 1, 2
"""Sexes in ``Ancestry.sexes``."""

SEX_CODES = {None: UNKNOWN, Sex.COCK: COCK, Sex.HEN: HEN}

DAM_SHARES_ON_THE_Z = np.array([0.25, 0.5, 0.0])
"""Part of a bird's Z alleles that comes from its dam, by sex code.

A cock has one Z of each parent, a hen her only one of her sire; of a bird of unknown sex the mean.
"""


class Drawn(IntEnum):
    """How the parent behind a mixture is drawn."""

    FOR_EACH = 0
    """Anew for every chick."""
    SIRE_OF_ALL = 1
    """Once: all chicks of the clutch have the same sire."""
    DAM_OF_ALL = 2
    """Once: all chicks of the clutch have the same dam."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ancestry:
    """Who descends from whom, in arrays.

    Nodes 0 … P−1 are pools, P … P+n−1 birds, and behind them come mixtures: parents of whom only
    the probabilities are known. ``sires`` and ``dams`` (shape (n,)) give the parental node of each
    bird: a pool, an older bird or a mixture. Members of mixture m are
    ``members[starts[m]:starts[m + 1]]``, their probabilities stand at the same places of
    ``chances``, and ``drawn[m]`` is a ``Drawn``. ``bases[g, h]`` is the probability that one gamete
    of pool g and one of pool h are identical by descent. ``dam_shares`` (shape (n,)) is the part
    of a bird's alleles that comes from its dam; ``None`` means a half in every bird.
    """

    bases: Matrix
    sires: Nodes
    dams: Nodes
    sexes: NDArray[np.int8]
    starts: Nodes
    members: Nodes
    chances: Matrix
    drawn: NDArray[np.int8]
    dam_shares: Matrix | None = None

    @property
    def first_bird(self) -> int:
        """Node of the first bird (= number of pools)."""
        return len(self.bases)

    @property
    def first_mixture(self) -> int:
        """Node of the first mixture."""
        return len(self.bases) + len(self.sires)

    @property
    def size(self) -> int:
        """Number of nodes."""
        return self.first_mixture + len(self.drawn)

    @property
    def birds(self) -> Nodes:
        """Nodes of all birds."""
        return np.arange(self.first_bird, self.first_mixture)


def ancestry_of_parents(
    sires: ArrayLike, dams: ArrayLike, *, sexes: ArrayLike | None = None, base: float = 0.0
) -> Ancestry:
    """Ancestry of birds 0 … n−1 whose parents are known; −1 stands for a founder's gamete.

    ``sires`` and ``dams`` are numbers of older birds, shape (n,). All founders come from one pool,
    so that bird k is node k + 1. ``sexes`` holds 0 (unknown), 1 (cock) or 2 (hen).

    Raises
    ------
    ValueError
        If a bird does not come after its parents.

    Examples
    --------
    >>> family = ancestry_of_parents([-1, -1, 0, 0], [-1, -1, 1, 1])
    >>> family.sires, family.first_bird
    (array([0, 0, 1, 1]), 1)
    """
    columns = [np.asarray(side, dtype=np.int64) + 1 for side in (sires, dams)]
    own = np.arange(1, len(columns[0]) + 1)
    for side in columns:
        if ((side < 0) | (side >= own)).any():
            raise ValueError("every bird must come after its parents; −1 means founder")
    return Ancestry(
        bases=np.full((1, 1), base),
        sires=columns[0],
        dams=columns[1],
        sexes=np.zeros(len(own), np.int8) if sexes is None else np.asarray(sexes, np.int8),
        **_mixture_arrays([]),
    )


def ancestry_of(pedigree: Pedigree) -> Ancestry:
    """Arrays of a pedigree: its nodes keep their numbers, mixtures follow behind the birds.

    Birds with the same possible parents, drawn for each, share one mixture; so do chicks of one
    clutch, whose parent is drawn once.

    Examples
    --------
    Two chicks of one clutch, hatched from one hen by one of two cocks:

    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> pen = pedigree_of(
    ...     "A ? sussex sussex",
    ...     "B ? sussex sussex",
    ...     "H ? sussex sussex",
    ...     "X ? A|B H 0",
    ...     "Y ? A|B H 0",
    ... )
    >>> arrays = ancestry_of(pen)
    >>> arrays.sires, arrays.members, arrays.drawn
    (array([0, 0, 0, 6, 6]), array([1, 2]), array([1], dtype=int8))
    """
    mixtures = _Mixtures(first=pedigree.first_bird + len(pedigree.birds), pools=len(pedigree.pools))
    clutches = pedigree.clutches or (None,) * len(pedigree.birds)
    sires = [
        mixtures.node(links, Drawn.SIRE_OF_ALL, clutch)
        for links, clutch in zip(pedigree.sires, clutches, strict=True)
    ]
    dams = [
        mixtures.node(links, Drawn.DAM_OF_ALL, clutch)
        for links, clutch in zip(pedigree.dams, clutches, strict=True)
    ]
    return Ancestry(
        bases=np.array(pedigree.bases, dtype=np.float64),
        sires=np.array(sires, dtype=np.int64),
        dams=np.array(dams, dtype=np.int64),
        sexes=np.array([SEX_CODES[sex] for sex in pedigree.sexes], dtype=np.int8),
        **_mixture_arrays(mixtures.found),
    )


_Key: TypeAlias = "tuple[Links, Drawn, int | None]"


class _Mixtures:
    """Numbers the mixtures as they are met."""

    def __init__(self, first: int, pools: int) -> None:
        self._first = first
        self._pools = pools
        self._nodes: dict[_Key, int] = {}

    @property
    def found(self) -> Iterable[_Key]:
        return self._nodes

    def node(self, links: Links, once: Drawn, clutch: int | None) -> int:
        """Node of a side: its only parent, else the mixture of its possible parents.

        A clutch out of a pool has one unknown parent between them, and so needs a mixture too.
        """
        if len(links) == 1 and (clutch is None or links[0][0] >= self._pools):
            return links[0][0]
        key = (links, Drawn.FOR_EACH if clutch is None else once, clutch)
        return self._nodes.setdefault(key, self._first + len(self._nodes))


def _mixture_arrays(keys: Iterable[_Key]) -> dict[str, Any]:
    links = [key[0] for key in keys]
    flat = list(chain.from_iterable(links))
    return {
        "starts": np.cumsum([0, *map(len, links)], dtype=np.int64),
        "members": np.array([node for node, _ in flat], dtype=np.int64),
        "chances": np.array([chance for _, chance in flat], dtype=np.float64),
        "drawn": np.array([key[1] for key in keys], dtype=np.int8),
    }


def on_the_z(ancestry: Ancestry) -> Ancestry:
    """Descent of Z-linked alleles: a hen has hers from her sire alone.

    Examples
    --------
    >>> family = ancestry_of_parents([-1, -1, 0, 0], [-1, -1, 1, 1], sexes=[1, 2, 1, 2])
    >>> on_the_z(family).dams, on_the_z(family).dam_shares
    (array([0, 0, 2, 1]), array([0.5, 0. , 0.5, 0. ]))
    """
    return replace(
        ancestry,
        dams=np.where(ancestry.sexes == HEN, ancestry.sires, ancestry.dams),
        dam_shares=DAM_SHARES_ON_THE_Z[ancestry.sexes],
    )


def with_ancestors(ancestry: Ancestry, nodes: Nodes) -> NDArray[np.bool_]:
    """Which nodes are among ``nodes`` or their possible ancestors, shape (size,).

    Examples
    --------
    >>> family = ancestry_of_parents([-1, -1, 0, -1], [-1, -1, 1, -1])
    >>> with_ancestors(family, np.array([3]))
    array([ True,  True,  True,  True, False])
    """
    needed = np.zeros(ancestry.size, dtype=np.bool_)
    needed[nodes] = True
    fresh = np.flatnonzero(needed)
    while fresh.size:
        parents = parents_of(ancestry, fresh)
        fresh = np.unique(parents[~needed[parents]])
        needed[fresh] = True
    return needed


def parents_of(ancestry: Ancestry, nodes: Nodes) -> Nodes:
    """Nodes that ``nodes`` descend from directly, with repeats; pools have none.

    Examples
    --------
    >>> family = ancestry_of_parents([-1, -1, 0, 0], [-1, -1, 1, 1])
    >>> parents_of(family, np.array([0, 3, 4]))
    array([1, 1, 2, 2])
    """
    birds = nodes[(nodes >= ancestry.first_bird) & (nodes < ancestry.first_mixture)]
    rows = birds - ancestry.first_bird
    parts = [ancestry.sires[rows], ancestry.dams[rows]]
    if len(ancestry.drawn):
        mixtures = nodes[nodes >= ancestry.first_mixture] - ancestry.first_mixture
        parts += [members_of(ancestry, int(mixture))[0] for mixture in mixtures]
    return np.concatenate(parts)


def above(ancestry: Ancestry, node: int) -> tuple[tuple[int, float], ...]:
    """Nodes right above one, each with the chance that a gene of it comes from there.

    Examples
    --------
    >>> family = ancestry_of_parents([-1, -1, 0, 0], [-1, -1, 1, 1])
    >>> above(family, 0), above(family, 4)
    ((), ((1, 0.5), (2, 0.5)))
    """
    if node < ancestry.first_bird:
        return ()
    if node < ancestry.first_mixture:
        row = node - ancestry.first_bird
        return ((int(ancestry.sires[row]), 0.5), (int(ancestry.dams[row]), 0.5))
    members, chances = members_of(ancestry, node - ancestry.first_mixture)
    return tuple(zip(members.tolist(), chances.tolist(), strict=True))


def members_of(ancestry: Ancestry, mixture: int) -> tuple[Nodes, Matrix]:
    """Nodes that mixture number ``mixture`` may be, and their probabilities.

    Examples
    --------
    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> crossbred = pedigree_of("X ? araucana|sussex araucana|sussex")
    >>> members_of(ancestry_of(crossbred), 0)
    (array([0, 1]), array([0.5, 0.5]))
    """
    span = slice(ancestry.starts[mixture], ancestry.starts[mixture + 1])
    return ancestry.members[span], ancestry.chances[span]
