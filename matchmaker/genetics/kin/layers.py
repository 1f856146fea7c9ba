"""The ancestors a question needs, cut into layers: each node stands above all it descends from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from matchmaker.genetics.kin.ancestry import Drawn, Matrix, members_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from matchmaker.genetics.kin.ancestry import Ancestry, Nodes

Number = TypeVar("Number", np.int64, np.float64)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Mixture:
    """A mixture in layered places: who it may be, how likely, how drawn."""

    members: Nodes
    chances: Matrix
    drawn: Drawn


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Layers:
    """Part of an ancestry in places 0 … m−1: pools first, then layer by layer.

    ``edges`` are the places where layers begin, and m; the first layer are the pools, every other
    holds either birds or mixtures. ``place_of`` leads from the ancestry's nodes to places (−1: not
    needed). ``sires``, ``dams`` and ``dam_shares`` are by place, and mean nothing but for birds.
    """

    bases: Matrix
    edges: tuple[int, ...]
    sires: Nodes
    dams: Nodes
    dam_shares: Matrix | None
    mixtures: dict[int, Mixture]
    place_of: Nodes

    @property
    def size(self) -> int:
        """Number of places."""
        return self.edges[-1]

    @property
    def pools(self) -> int:
        """Number of pools."""
        return len(self.bases)

    def one_parent(self, mixture: Mixture, selves: Matrix) -> float:
        """Chance that two gametes of the one bird behind a clutch are identical by descent.

        ``selves`` is the self-kinship of the mixture's members, the base for a pool. An unknown
        bird out of a pool is like any of its birds; a hen has a single Z.
        """
        if self.dam_shares is not None and mixture.drawn is Drawn.DAM_OF_ALL:
            out_of_pool = np.ones_like(selves)
        else:
            out_of_pool = (1 + selves) / 2
        return float(mixture.chances @ np.where(mixture.members < self.pools, out_of_pool, selves))


def layers_of(ancestry: Ancestry, needed: NDArray[np.bool_]) -> Layers:
    """Cut the nodes of ``needed``, which holds all their ancestors, into layers.

    A node's layer is its longest way up to a pool; a founder is put off until just before its
    first chick, so that birds bought late do not lie about from the start.

    Examples
    --------
    >>> from matchmaker.genetics.kin.ancestry import ancestry_of_parents, with_ancestors
    >>> family = ancestry_of_parents([-1, -1, 0, 0, 2], [-1, -1, 1, 1, 3])
    >>> layers_of(family, with_ancestors(family, np.array([5]))).edges
    (0, 1, 3, 5, 6)
    """
    nodes = np.flatnonzero(needed)
    pools, mixed = np.searchsorted(nodes, (ancestry.first_bird, ancestry.first_mixture)).tolist()
    position = np.full(ancestry.size, -1)
    position[nodes] = np.arange(len(nodes))
    rows = nodes[pools:mixed] - ancestry.first_bird
    sires, dams = position[ancestry.sires[rows]], position[ancestry.dams[rows]]
    numbers = (nodes[mixed:] - ancestry.first_mixture).tolist()
    members = [position[members_of(ancestry, number)[0]] for number in numbers]
    key = 2 * _depths(pools, sires, dams, members)
    key[mixed:] += 1
    order = np.argsort(key, kind="stable")
    place = np.empty_like(order)
    place[order] = np.arange(len(order))
    position[nodes] = place
    birds, shares = place[pools:mixed], ancestry.dam_shares
    return Layers(
        bases=ancestry.bases[np.ix_(nodes[:pools], nodes[:pools])],
        edges=(0, *(np.flatnonzero(np.diff(key[order])) + 1).tolist(), len(nodes)),
        sires=_by_place(birds, place[sires], len(nodes)),
        dams=_by_place(birds, place[dams], len(nodes)),
        dam_shares=None if shares is None else _by_place(birds, shares[rows], len(nodes)),
        mixtures={
            int(place[mixed + at]): Mixture(
                members=place[members[at]],
                chances=members_of(ancestry, number)[1],
                drawn=Drawn(int(ancestry.drawn[number])),
            )
            for at, number in enumerate(numbers)
        },
        place_of=position,
    )


def _by_place(places: Nodes, values: NDArray[Number], size: int) -> NDArray[Number]:
    spread = np.zeros(size, dtype=values.dtype)
    spread[places] = values
    return spread


def _depths(pools: int, sires: Nodes, dams: Nodes, members: Sequence[Nodes]) -> Nodes:
    """Longest way up to a pool: a chick stands one above its parents, a mixture level with them."""
    first = pools + len(sires)
    depths = [0] * pools + [-1] * (len(sires) + len(members))

    def depth_of(node: int) -> int:
        if depths[node] < 0:
            depths[node] = max(depths[member] for member in members[node - first])
        return depths[node]

    for at, (sire, dam) in enumerate(zip(sires.tolist(), dams.tolist(), strict=True), pools):
        depths[at] = 1 + max(depth_of(sire), depth_of(dam))
    for mixture in range(first, len(depths)):
        depth_of(mixture)
    return _founders_put_off(np.array(depths), pools, sires, dams, members)


def _founders_put_off(
    depths: Nodes, pools: int, sires: Nodes, dams: Nodes, members: Sequence[Nodes]
) -> Nodes:
    birds = slice(pools, pools + len(sires))
    latest = np.full(len(depths), depths.max(initial=0))
    for side in (sires, dams):
        np.minimum.at(latest, side, depths[birds] - 1)
    for at, mixed in enumerate(members, birds.stop):
        np.minimum.at(latest, mixed, depths[at])
    founders = pools + np.flatnonzero((sires < pools) & (dams < pools))
    depths[founders] = latest[founders]
    return depths
