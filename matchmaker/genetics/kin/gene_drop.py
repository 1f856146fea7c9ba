"""Gene dropping: Mendel's coin tossed for every bird, many pedigrees of alleles side by side."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from matchmaker.flock.pedigree import Links, Pedigree

Vector = NDArray[np.float64]
Alleles = NDArray[np.integer[Any]]
Draws = NDArray[np.intp]

BLOCK_ALLELES = 2**24
"""Alleles held at once; more drops than fit are done one block after the other."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Kept:
    """Part of each founder's two alleles that is left: its mean over the drops, per founder.

    ``covariance`` is that of the means, shape (founders, founders).
    """

    rates: Vector
    covariance: Vector


def drop_genes(
    pedigree: Pedigree,
    birds: Sequence[str],
    alleles: Mapping[tuple[int, int], int],
    rng: np.random.Generator,
    drops: int,
) -> Kept:
    """Return what is left of each founder's two alleles in ``birds``.

    ``alleles`` names the founding gametes, in the order of their founders: (number of a bird, 0
    for the side of its sire or 1 for its dam's) → number of the founder that gave it. A gamete
    out of a pool that is not named there is dropped without being counted.

    Examples
    --------
    Of one parent a single chick keeps one allele, whichever:

    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> family = pedigree_of(
    ...     "A ? sussex sussex",
    ...     "B ? sussex sussex",
    ...     "C ? A B",
    ... )
    >>> founders = {(0, 0): 0, (0, 1): 0, (1, 0): 1, (1, 1): 1}
    >>> drop_genes(family, ["C"], founders, np.random.default_rng(1), 100).rates
    array([0.5, 0.5])
    """
    node_of = pedigree.node_of()
    nodes = pedigree.ancestors({node_of[bird] for bird in birds})[pedigree.first_bird :]
    owners = list(alleles.values())
    founders = max(owners, default=-1) + 1
    starts = [owners.index(founder) for founder in range(founders)]
    step = max(1, BLOCK_ALLELES // (2 * max(1, len(nodes))))
    sums, squares = np.zeros(founders), np.zeros((founders, founders))
    for done in range(0, drops, step):
        dropped = _Dropped(pedigree, alleles, rng, min(step, drops - done))
        dropped.fill(nodes)
        present = dropped.present([node_of[bird] for bird in birds])
        rates = (
            np.add.reduceat(present, starts, axis=0, dtype=np.float64) / 2 if starts else present
        )
        sums += rates.sum(axis=1)
        squares += rates @ rates.T
    means = sums / drops
    spread = squares / drops - np.outer(means, means)
    return Kept(rates=means, covariance=spread / max(drops - 1, 1))


@dataclass(slots=True)
class _Dropped:
    """Alleles of every ancestor in every drop of one block, shape (birds, 2, drops)."""

    pedigree: Pedigree
    founding: Mapping[tuple[int, int], int]
    rng: np.random.Generator
    drops: int
    number: dict[tuple[int, int], int] = field(init=False)
    row_of: dict[int, int] = field(default_factory=dict)
    alleles: Alleles = field(init=False)
    drawn: dict[tuple[int, int], Draws] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.number = {gamete: at for at, gamete in enumerate(self.founding)}

    def fill(self, nodes: Sequence[int]) -> None:
        small = len(self.founding) < np.iinfo(np.int16).max
        kind = np.int16 if small else np.int32
        self.alleles = np.empty((len(nodes), 2, self.drops), dtype=kind)
        for row, node in enumerate(nodes):
            self.row_of[node] = row
            at = node - self.pedigree.first_bird
            for side, links in enumerate((self.pedigree.sires[at], self.pedigree.dams[at])):
                self.alleles[row, side] = self._gamete(at, side, links)

    def present(self, birds: Sequence[int]) -> NDArray[np.bool_]:
        """Whether any of the birds has each founding allele, shape (alleles, drops)."""
        none = len(self.number)  # one more row takes what is not counted
        found = np.zeros((none + 1, self.drops), dtype=bool)
        columns = np.arange(self.drops)
        for node in birds:
            for side in (0, 1):
                found[self.alleles[self.row_of[node], side], columns] = True
        return found[:none]

    def _gamete(self, at: int, side: int, links: Links) -> Alleles:
        first = self.pedigree.first_bird
        new = self.number.get((at, side), len(self.number))
        rows = np.array([self.row_of.get(node, 0) for node, _ in links])
        pooled = np.array([node < first for node, _ in links])
        if pooled.all():
            return np.full(self.drops, new, dtype=self.alleles.dtype)
        strands = self.rng.integers(0, 2, self.drops, dtype=bool)
        if len(links) == 1:
            sire = self.alleles[rows[0]]
            return np.where(strands, sire[1], sire[0])
        chosen = self._chosen(at, side, links)
        given = self.alleles[rows[chosen], strands.astype(np.intp), np.arange(self.drops)]
        return np.where(pooled[chosen], np.asarray(new, dtype=given.dtype), given)

    def _chosen(self, at: int, side: int, links: Links) -> Draws:
        """Which of several possible parents it is in each drop: one for all chicks of a clutch."""
        clutch = self.pedigree.clutch_of(at)
        if clutch is not None and (clutch, side) in self.drawn:
            return self.drawn[clutch, side]
        bounds = np.cumsum([chance for _, chance in links])[:-1]
        chosen = np.searchsorted(bounds, self.rng.random(self.drops), side="right")
        if clutch is not None:
            self.drawn[clutch, side] = chosen
        return chosen
