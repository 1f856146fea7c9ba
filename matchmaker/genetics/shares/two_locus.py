"""Where a breed's genes lie together: two places at once, in every bird of a pedigree.

The tabular method of kinship with another question. Let one allele be drawn from bird i at one
place and one from bird j at a second place; M(i, j) is the chance that both come from the breed.
It depends on how near the places are, λ = e⁻²ᵘ (see ``genome_map``), and on nothing else of them.
For a chick k of sire s and dam d

    M(k, j) = ½ M(s, j) + ½ M(d, j)
    M(k, k) = ¼ g(s) + ¼ g(d) + ½ M(s, d)

where g(s) is the chance that a single gamete of s carries the breed at both places: with
(1 + λ) / 2 both places of the gamete come from one of the bird's two strands, else one from each,

    g(k) = (1 + λ) / 4 · [g(s) + g(d)] + (1 − λ) / 2 · M(s, d).

Own derivation; along a plain backcross it gives the variances of Hill 1993 (J Hered 84:212). M(k,
k), averaged over all pairs of places, is the mean square of the bird's share.

Uncertain parents are averages over the candidates; a clutch has one sire and one dam of its own,
whoever they are. A gamete out of pools of several breeds (a crossbred founder) is taken as one
meiosis old: its mean is what is written of the founder, its pieces as long as a first cross's. On
the Z, a hen has her sire's gamete alone and hands it on whole.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.flock.pedigree import Links, Pedigree

Array = NDArray[np.float64]

BLOCK_BYTES = 2**26
"""Largest table worked on at once: more values of λ are done one block after the other."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Strand:
    """The side of a bird that one parent gave, or may have given.

    ``tracked`` are rows of the table with their chances, ``pure`` the chance of a parent that has
    nothing but the breed, ``founding`` that of a gamete out of pools, ``purity`` the breed's part
    of such gametes; ``share`` is the expected share of the whole.
    """

    tracked: tuple[int, ...]
    chances: Array
    pure: float
    founding: float
    purity: float
    share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Descent:
    """A pedigree seen from some birds: their ancestors, and the share of a breed in each node."""

    pedigree: Pedigree
    nodes: tuple[int, ...]
    shares: Array
    on_z: bool
    generations: int

    def sexes(self, node: int) -> tuple[tuple[Sex, float], ...]:
        """Sexes that matter for a bird, with their chances; off the Z none does."""
        sex = self.pedigree.sexes[node - self.pedigree.first_bird]
        if not self.on_z:
            return ((Sex.COCK, 1.0),)
        return ((sex, 1.0),) if sex else ((Sex.COCK, 0.5), (Sex.HEN, 0.5))

    def links(self, node: int) -> tuple[Links, Links]:
        """Possible sires and possible dams of a bird."""
        at = node - self.pedigree.first_bird
        return self.pedigree.sires[at], self.pedigree.dams[at]


def trace(
    pedigree: Pedigree, pure: Sequence[float], birds: Sequence[str], *, on_z: bool
) -> Descent:
    """Return the descent of ``birds`` with the expected share of the breed in every ancestor.

    ``pure`` is the breed's share in each pool, 0 or 1 (or the frequency of an allele there);
    ``on_z`` asks for the share of the Z. The share of a bird is that of the gametes it gives.

    Examples
    --------
    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> pure = pedigree_of("R ? sussex sussex")
    >>> trace(pure, [1.0], ["R"], on_z=False).shares
    array([1., 1.])
    """
    node_of = pedigree.node_of()
    first = pedigree.first_bird
    nodes = pedigree.ancestors({node_of[bird] for bird in birds})
    shares = np.zeros(first + len(pedigree.birds))
    shares[:first] = pure
    depth = dict.fromkeys(range(first), 0)
    descent = Descent(
        pedigree=pedigree, nodes=tuple(nodes[first:]), shares=shares, on_z=on_z, generations=0
    )
    for node in descent.nodes:
        sires, dams = descent.links(node)
        sire, dam = (sum(chance * shares[one] for one, chance in side) for side in (sires, dams))
        shares[node] = sum(
            chance * (sire if on_z and sex is Sex.HEN else (sire + dam) / 2)
            for sex, chance in descent.sexes(node)
        )
        depth[node] = 1 + max(depth[one] for one, _ in (*sires, *dams))
    return Descent(
        pedigree=pedigree,
        nodes=descent.nodes,
        shares=shares,
        on_z=on_z,
        generations=max(depth.values(), default=0),
    )


def both_from_breed(descent: Descent, birds: Sequence[str], nearness: Array) -> Array:
    """M(k, k) of the birds named, shape (birds, values of λ).

    Examples
    --------
    A first cross has the breed at both places of one strand, so two draws meet it with ¼; its
    backcross keeps more or less of the other breed together, by how near the places are:

    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> cross = pedigree_of(
    ...     "D ? araucana araucana",
    ...     "R ? sussex sussex",
    ...     "F1 ? R D",
    ...     "BC1 ? R F1",
    ... )
    >>> descent = trace(cross, [True, False], ["F1", "BC1"], on_z=False)
    >>> both_from_breed(descent, ["F1", "BC1"], np.array([0.0, 1.0]))
    array([[0.25  , 0.25  ],
           [0.0625, 0.125 ]])
    """
    node_of = descent.pedigree.node_of()
    wanted = [node_of[bird] for bird in birds]
    step = max(1, BLOCK_BYTES // (8 * max(1, _rows_needed(descent)) ** 2))
    blocks = [
        _Table(descent, nearness[at : at + step]).joint(wanted)
        for at in range(0, len(nearness), step)
    ]
    return np.concatenate(blocks, axis=1)


def _mixed_parents(descent: Descent) -> set[int]:
    """Birds that are possible parents here and have neither all of the breed nor nothing of it."""
    parents = {one for node in descent.nodes for side in descent.links(node) for one, _ in side}
    return {
        node
        for node in parents
        if node >= descent.pedigree.first_bird and 0.0 < descent.shares[node] < 1.0
    }


def _clutches(descent: Descent) -> Counter[int]:
    first = descent.pedigree.first_bird
    found = (descent.pedigree.clutch_of(node - first) for node in descent.nodes)
    return Counter(clutch for clutch in found if clutch is not None)


def _rows_needed(descent: Descent) -> int:
    shared = sum(2 for chicks in _clutches(descent).values() if chicks > 1)
    return len(_mixed_parents(descent)) + shared


@dataclass(slots=True)
class _Table:
    """M of all birds that must be remembered, filled parents first for some values of λ."""

    descent: Descent
    nearness: Array
    values: Array = field(init=False)
    gametes: Array = field(init=False)
    shares: Array = field(init=False)
    row_of: dict[int, int] = field(default_factory=dict)
    shared: dict[tuple[int, int], Strand] = field(default_factory=dict)
    filled: int = 0

    def __post_init__(self) -> None:
        rows, points = _rows_needed(self.descent), len(self.nearness)
        self.values = np.zeros((rows, rows, points))
        self.gametes = np.zeros((rows, points))
        self.shares = np.zeros(rows)

    def joint(self, wanted: Sequence[int]) -> Array:
        """Fill the table and return M(k, k) of the birds ``wanted``."""
        kept, asked, clutches = _mixed_parents(self.descent), set(wanted), _clutches(self.descent)
        found: dict[int, Array] = {}
        for node in self.descent.nodes:
            sire, dam = (self._strand(node, side, clutches) for side in (0, 1))
            row, own, gamete = self._chick(node, sire, dam)
            if node in kept:
                self.row_of[node] = self._remember(row, own, gamete, self.descent.shares[node])
            if node in asked:
                found[node] = own
        return np.array([found[node] for node in wanted]).reshape(len(wanted), len(self.nearness))

    def _strand(self, node: int, side: int, clutches: Counter[int]) -> Strand:
        pedigree = self.descent.pedigree
        clutch = pedigree.clutch_of(node - pedigree.first_bird)
        links = self.descent.links(node)[side]
        if clutch is None or clutches[clutch] < 2 or len(links) < 2:
            return self._of_links(links)
        if (clutch, side) not in self.shared:
            self.shared[clutch, side] = self._common_parent(self._of_links(links))
        return self.shared[clutch, side]

    def _of_links(self, links: Links) -> Strand:
        shares, first = self.descent.shares, self.descent.pedigree.first_bird
        tracked = [(self.row_of[node], chance) for node, chance in links if node in self.row_of]
        founding = [(node, chance) for node, chance in links if node < first]
        chance = sum(chance for _, chance in founding)
        return Strand(
            tracked=tuple(row for row, _ in tracked),
            chances=np.array([chance for _, chance in tracked]),
            pure=sum(p for node, p in links if node >= first and shares[node] >= 1.0),
            founding=chance,
            purity=sum(p * float(shares[node]) for node, p in founding) / chance if chance else 0.0,
            share=float(sum(p * shares[node] for node, p in links)),
        )

    def _common_parent(self, strand: Strand) -> Strand:
        """One row for the unknown parent that the chicks of a clutch share."""
        rows = list(strand.tracked)
        own = strand.chances @ self.values[rows, rows]
        own = own + strand.pure + strand.founding * strand.purity**2
        row = self._remember(self._row(strand), own, self._gamete(strand), strand.share)
        return Strand(
            tracked=(row,),
            chances=np.ones(1),
            pure=0.0,
            founding=0.0,
            purity=0.0,
            share=strand.share,
        )

    def _chick(self, node: int, sire: Strand, dam: Strand) -> tuple[Array, Array, Array]:
        """Row, M(k, k) and g(k) of a chick, averaged over the sexes it may have."""
        rows = (self._row(sire), self._row(dam))
        gametes = (self._gamete(sire), self._gamete(dam))
        across = self._across(rows[0], sire, dam)
        single = (gametes[0] + gametes[1]) / 2
        cock = (
            (rows[0] + rows[1]) / 2,
            (single + across) / 2,
            (1 + self.nearness) / 2 * single + (1 - self.nearness) / 2 * across,
        )
        hen = (rows[0], gametes[0], gametes[0])
        by_sex = [
            (hen if self.descent.on_z and sex is Sex.HEN else cock, chance)
            for sex, chance in self.descent.sexes(node)
        ]
        row, own, gamete = (sum(p * part[at] for part, p in by_sex) for at in range(3))
        return np.asarray(row), np.asarray(own), np.asarray(gamete)

    def _row(self, strand: Strand) -> Array:
        """Chance of the breed on the strand here and in each remembered bird there."""
        known = self.values[: self.filled, : self.filled]
        row = np.zeros((self.filled, len(self.nearness)))
        for at, chance in zip(strand.tracked, strand.chances, strict=True):
            row += chance * known[at]
        certain = strand.pure + strand.founding * strand.purity
        return row + certain * self.shares[: self.filled, None]

    def _gamete(self, strand: Strand) -> Array:
        purity = strand.purity
        founding = purity**2 + purity * (1 - purity) * self.nearness
        tracked = strand.chances @ self.gametes[list(strand.tracked)]
        return np.asarray(tracked + strand.pure + strand.founding * founding)

    def _across(self, row: Array, sire: Strand, dam: Strand) -> Array:
        """Chance of the breed on the sire's strand at one place and on the dam's at the other."""
        certain = dam.pure + dam.founding * dam.purity
        return np.asarray(dam.chances @ row[list(dam.tracked)] + certain * sire.share)

    def _remember(self, row: Array, own: Array, gamete: Array, share: float) -> int:
        at = self.filled
        self.values[at, :at] = row[:at]
        self.values[:at, at] = row[:at]
        self.values[at, at] = own
        self.gametes[at] = gamete
        self.shares[at] = share
        self.filled = at + 1
        return at
