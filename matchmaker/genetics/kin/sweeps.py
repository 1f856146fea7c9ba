"""Kinship by sparse sweeps up and down the pedigree, for breeding flocks too wide for a table.

With W the parental weights, T = (I − W)⁻¹ and D what Mendelian sampling adds within each node
(Henderson 1976, Biometrics 32:69; Quaas 1976, Biometrics 32:949), kinship is T D Tᵀ. Columns of it
come in blocks: one sweep from the chosen birds up to their ancestors multiplies by Tᵀ, one back
down by T (Colleau 2002, Genet Sel Evol 34:409, from memory). D needs inbreeding, which is read
from the columns of sires, oldest first.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from scipy import sparse

from matchmaker.genetics.kin.ancestry import Drawn, Matrix, Nodes
from matchmaker.genetics.kin.moving_table import Answer, Question

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.genetics.kin.layers import Layers

COLUMNS_AT_ONCE = 64


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Links:
    """One layer's parental links: ``weights`` (layer, parents) to the places ``parents``."""

    start: int
    stop: int
    parents: Nodes
    weights: sparse.csr_array
    upward: sparse.csr_array
    """The transpose of ``weights``."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Decomposition:
    """Kinship as T D Tᵀ, by place.

    T is the inverse of I − W; ``links`` holds W layer by layer. ``within`` (shape (size,)) is the
    diagonal of D, zero for the pools, which have ``bases`` for their block of D. ``selves`` is
    self-kinship, that of a pool its base.
    """

    links: tuple[Links, ...]
    bases: Matrix
    within: Matrix
    selves: Matrix

    def weights(self) -> sparse.csr_array:
        """Parental weights W of all places, shape (size, size)."""
        size = len(self.within)
        parts = [(layer, layer.weights.tocoo()) for layer in self.links]
        rows = np.concatenate([np.empty(0, int), *(part.row + at.start for at, part in parts)])
        columns = np.concatenate([np.empty(0, int), *(at.parents[part.col] for at, part in parts)])
        values = np.concatenate([np.empty(0), *(part.data for _, part in parts)])
        return sparse.csr_array((values, (rows, columns)), shape=(size, size))

    def columns(self, places: Nodes, stop: int) -> Matrix:
        """Kinship of the places before ``stop`` with ``places``, shape (stop, places).

        ``stop`` is the end of a layer, and ``places`` lie before it.
        """
        values = np.zeros((stop, len(places)))
        values[places, np.arange(len(places))] = 1.0
        needed = [layer for layer in self.links if layer.start < stop]
        top = int(places.max(initial=0))
        for layer in reversed(needed):
            if layer.start <= top:
                values[layer.parents] += layer.upward @ values[layer.start : layer.stop]
        pools = len(self.bases)
        values[pools:] *= self.within[pools:stop, np.newaxis]
        values[:pools] = self.bases @ values[:pools]
        for layer in needed:
            values[layer.start : layer.stop] += layer.weights @ values[layer.parents]
        return values


def answer_by_sweeps(layers: Layers, question: Question) -> Answer:
    """Answer a question by columns, in memory that grows with the pedigree alone.

    Examples
    --------
    >>> from matchmaker.genetics.kin.ancestry import ancestry_of_parents, with_ancestors
    >>> from matchmaker.genetics.kin.layers import layers_of
    >>> from matchmaker.genetics.kin.moving_table import Question
    >>> sibs = ancestry_of_parents([-1, -1, 0, 0], [-1, -1, 1, 1])
    >>> cut = layers_of(sibs, with_ancestors(sibs, np.array([3, 4])))
    >>> asked = Question(kept=np.array([3, 4]), firsts=np.array([3]), seconds=np.array([4]))
    >>> answer = answer_by_sweeps(cut, asked)
    >>> answer.kinship.tolist(), answer.pairs.tolist()
    ([[0.5, 0.25], [0.25, 0.5]], [0.25])
    """
    growing = _Growing(layers, question)
    grown = growing.decomposition
    kinship = np.empty((len(question.kept), len(question.kept)))
    for start in range(0, len(question.kept), COLUMNS_AT_ONCE):
        some = question.kept[start : start + COLUMNS_AT_ONCE]
        kinship[:, start : start + len(some)] = grown.columns(some, layers.size)[question.kept]
    return Answer(
        kinship=(kinship + kinship.T) / 2,  # alike but for rounding
        sibs=(grown.selves - grown.within)[question.kept],
        pairs=growing.pairs[layers.size - layers.pools :],
    )


def decomposition_of(layers: Layers) -> Decomposition:
    """Kinship of all places of a pedigree in layers, taken apart.

    Examples
    --------
    A chick of full sibs: less is left to Mendelian sampling than the half of other chicks.

    >>> from matchmaker.genetics.kin.ancestry import ancestry_of_parents, with_ancestors
    >>> from matchmaker.genetics.kin.layers import layers_of
    >>> line = ancestry_of_parents([-1, -1, 0, 0, 2, 4], [-1, -1, 1, 1, 3, 3])
    >>> decomposition_of(layers_of(line, with_ancestors(line, np.array([6])))).within.tolist()
    [0.0, 0.5, 0.5, 0.25, 0.25, 0.25, 0.21875]
    """
    none = np.empty(0, dtype=np.int64)
    return _Growing(layers, Question(kept=none, firsts=none, seconds=none)).decomposition


class _Growing:
    """The decomposition, filled in a layer at a time, and the pairs read on the way.

    First come the pairs of each bird's parents, in the order of places (nothing for mixtures),
    then those of the question.
    """

    def __init__(self, layers: Layers, question: Question) -> None:
        self._layers = layers
        self.decomposition = Decomposition(
            links=tuple(_links(layers)),
            bases=layers.bases,
            within=np.zeros(layers.size),
            selves=np.zeros(layers.size),
        )
        self._firsts = np.concatenate((layers.sires[layers.pools :], question.firsts))
        self._seconds = np.concatenate((layers.dams[layers.pools :], question.seconds))
        self._order = np.argsort(self._firsts, kind="stable")
        self.pairs = np.zeros(len(self._firsts))
        for start, stop in pairwise(layers.edges):
            self._fill(start, stop)
            self._read_columns(start, stop)

    def _fill(self, start: int, stop: int) -> None:
        if start == 0:
            self.decomposition.selves[:stop] = self._layers.bases.diagonal()
        elif start in self._layers.mixtures:
            self._fill_mixtures(start, stop)
        else:
            self._fill_birds(start, stop)

    def _fill_birds(self, start: int, stop: int) -> None:
        layers, selves = self._layers, self.decomposition.selves
        dam = np.float64(0.5) if layers.dam_shares is None else layers.dam_shares[start:stop]
        kin = self.pairs[start - layers.pools : stop - layers.pools]
        sires, dams = selves[layers.sires[start:stop]], selves[layers.dams[start:stop]]
        known = (1 - dam) ** 2 * sires + dam**2 * dams + 2 * dam * (1 - dam) * kin
        selves[start:stop] = 1 - dam + dam * kin
        self.decomposition.within[start:stop] = selves[start:stop] - known

    def _fill_mixtures(self, start: int, stop: int) -> None:
        selves, within = self.decomposition.selves, self.decomposition.within
        for at in range(start, stop):
            mixture = self._layers.mixtures[at]
            apart = self.decomposition.columns(np.array([at]), stop)[at, 0]
            selves[at] = apart
            if mixture.drawn is not Drawn.FOR_EACH:
                selves[at] = self._layers.one_parent(mixture, selves[mixture.members])
                within[at] = selves[at] - apart

    def _read_columns(self, start: int, stop: int) -> None:
        """Read the pairs whose first bird is in a layer that has just been filled."""
        span = np.searchsorted(self._firsts, (start, stop), sorter=self._order)
        rows = self._order[slice(*span)]
        distinct, column = np.unique(self._firsts[rows], return_inverse=True)
        for first in range(0, len(distinct), COLUMNS_AT_ONCE):
            block = slice(*np.searchsorted(column, (first, first + COLUMNS_AT_ONCE)))
            some, seconds = rows[block], self._seconds[rows[block]]
            edges = np.asarray(self._layers.edges)
            end = int(edges[np.searchsorted(edges, max(stop, int(seconds.max()) + 1))])
            values = self.decomposition.columns(distinct[first : first + COLUMNS_AT_ONCE], end)
            self.pairs[some] = values[seconds, column[block] - first]


def _links(layers: Layers) -> Iterator[Links]:
    for start, stop in pairwise(layers.edges[1:]):
        if start in layers.mixtures:
            inside = [layers.mixtures[at] for at in range(start, stop)]
            members = np.concatenate([mixture.members for mixture in inside])
            chances = np.concatenate([mixture.chances for mixture in inside])
            ends = np.cumsum([0, *(len(mixture.members) for mixture in inside)])
        else:
            dam = 0.5 if layers.dam_shares is None else layers.dam_shares[start:stop]
            dams = np.broadcast_to(dam, stop - start)
            sides = (layers.sires[start:stop], layers.dams[start:stop])
            members = np.stack(sides, axis=1).ravel()
            chances = np.stack((1 - dams, dams), axis=1).ravel()
            ends = np.arange(0, 2 * (stop - start) + 1, 2)
        parents, column = np.unique(members, return_inverse=True)
        weights = sparse.csr_array((chances, column, ends), shape=(stop - start, len(parents)))
        yield Links(
            start=start, stop=stop, parents=parents, weights=weights, upward=weights.T.tocsr()
        )
