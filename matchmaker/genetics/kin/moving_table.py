"""Kinship by a table that moves down the pedigree: a bird leaves it when nobody needs it any more.

The tabular method (Emik & Terrill 1949; Henderson 1976, Biometrics 32:69) a layer at a time. The
table holds only birds with chicks still to come and those asked for, so that its size is that of
the breeding flock and not of the pedigree.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.genetics.kin.ancestry import Drawn, Matrix, Nodes

if TYPE_CHECKING:
    from matchmaker.genetics.kin.layers import Layers

ROWS_KEPT = 256
"""Rows that a table may always have: below that nothing is worth moving."""

ROWS_AT_ONCE = 64
"""Birds that enter together: their rows stay near the processor."""

SLACK = 1.1
"""Rows beyond those needed, so that the table need not be packed at every layer."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Question:
    """What is wanted of a pedigree in layers, all by place.

    ``kept``: birds whose kinship with each other is asked for, distinct. ``firsts`` and
    ``seconds`` (same shape): pairs whose kinship alone is asked for.
    """

    kept: Nodes
    firsts: Nodes
    seconds: Nodes


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Answer:
    """Kinship of the birds kept, shape (kept, kept), and of the pairs, shape (pairs,).

    ``sibs`` (shape (kept,)): the kinship that each bird kept would have with a full sib of its
    sex, or with another bird out of the same pool.
    """

    kinship: Matrix
    sibs: Matrix
    pairs: Matrix


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stays:
    """How long each place is needed: the last layer, by number, that asks for it."""

    last: Nodes
    asked: Nodes
    """Layer in which both birds of each pair have entered."""
    rows: int
    """Most rows needed at one time."""


def stays(layers: Layers, question: Question) -> Stays:
    """Last layer in which each place is needed, and the rows that takes.

    Examples
    --------
    >>> from matchmaker.genetics.kin.ancestry import ancestry_of_parents, with_ancestors
    >>> from matchmaker.genetics.kin.layers import layers_of
    >>> line = ancestry_of_parents([-1, -1, 0, 2, 3], [-1, -1, 1, 1, 1])
    >>> cut = layers_of(line, with_ancestors(line, np.array([5])))
    >>> none = np.array([], dtype=np.int64)
    >>> stays(cut, Question(kept=np.array([5]), firsts=none, seconds=none)).rows
    3
    """
    layer_of = np.repeat(np.arange(len(layers.edges) - 1), np.diff(layers.edges))
    last = layer_of.copy()
    for side in (layers.sires, layers.dams):
        np.maximum.at(last, side[layers.pools :], layer_of[layers.pools :])
    for at, mixture in layers.mixtures.items():
        np.maximum.at(last, mixture.members, layer_of[at])
    asked = np.maximum(layer_of[question.firsts], layer_of[question.seconds])
    for side in (question.firsts, question.seconds):
        np.maximum.at(last, side, asked)
    last[question.kept] = len(layers.edges)
    change = np.bincount(layer_of, minlength=len(layers.edges) + 2)
    change -= np.bincount(last + 1, minlength=len(layers.edges) + 2)
    return Stays(last=last, asked=asked, rows=int(np.cumsum(change).max()))


def answer_by_table(layers: Layers, question: Question, needed: Stays) -> Answer:
    """Answer a question by one pass of the moving table.

    Examples
    --------
    >>> from matchmaker.genetics.kin.ancestry import ancestry_of_parents, with_ancestors
    >>> from matchmaker.genetics.kin.layers import layers_of
    >>> sibs = ancestry_of_parents([-1, -1, 0, 0], [-1, -1, 1, 1])
    >>> cut = layers_of(sibs, with_ancestors(sibs, np.array([3, 4])))
    >>> asked = Question(kept=np.array([3, 4]), firsts=np.array([3]), seconds=np.array([4]))
    >>> answer = answer_by_table(cut, asked, stays(cut, asked))
    >>> answer.kinship.tolist(), answer.pairs.tolist()
    ([[0.5, 0.25], [0.25, 0.5]], [0.25])
    """
    table = _Table(layers, question, needed)
    for layer in range(1, len(layers.edges) - 1):
        table.enter(layer)
    table.answer_pairs(before=len(layers.edges))
    return Answer(
        kinship=table.among(question.kept),
        sibs=table.sibs[question.kept],
        pairs=table.pairs,
    )


class _Table:
    """Square table of kinship; ``row_of`` leads from places to rows, ``holders`` back."""

    def __init__(self, layers: Layers, question: Question, needed: Stays) -> None:
        room = min(layers.size, max(ROWS_KEPT, int(SLACK * needed.rows)))
        self.values = np.empty((room, room))
        self.row_of = np.full(layers.size, -1)
        self.sibs = np.zeros(layers.size)
        self.pairs = np.empty(len(question.firsts))
        self._layers, self._question, self._needed = layers, question, needed
        self._holders = np.empty(room, dtype=np.int64)
        self._order = None if room == layers.size else np.argsort(needed.asked, kind="stable")
        self._answered = 0
        self._used = 0
        self._write(0, np.empty((layers.pools, 0)), layers.bases)
        self.sibs[: layers.pools] = layers.bases.diagonal()

    def enter(self, layer: int) -> None:
        start, stop = self._layers.edges[layer : layer + 2]
        mixed = start in self._layers.mixtures
        for first in range(start, stop, ROWS_AT_ONCE):
            last = min(first + ROWS_AT_ONCE, stop)
            if self._used + last - first > len(self.values):
                self._pack(layer)
            if mixed:
                self._enter_mixtures(first, last)
            else:
                self._enter_birds(first, last)

    def _enter_birds(self, first: int, last: int) -> None:
        values, old = self.values, self._used
        sires = self.row_of[self._layers.sires[first:last]]
        dams = self.row_of[self._layers.dams[first:last]]
        shares = self._layers.dam_shares
        dam = np.float64(0.5) if shares is None else shares[first:last, np.newaxis]
        rows = _weighted(values[sires, :old], values[dams, :old], dam)
        block = _weighted(rows.T[sires], rows.T[dams], dam)
        block = (block + block.T) / 2  # alike but for rounding
        self.sibs[first:last] = block.diagonal()
        np.fill_diagonal(block, 1 - dam.ravel() + dam.ravel() * values[sires, dams])
        self._write(first, rows, block)

    def _enter_mixtures(self, first: int, last: int) -> None:
        for at in range(first, last):
            mixture = self._layers.mixtures[at]
            members = self.row_of[mixture.members]
            row = mixture.chances @ self.values[members, : self._used]
            apart = row[members] @ mixture.chances
            own = (
                apart
                if mixture.drawn is Drawn.FOR_EACH
                else self._layers.one_parent(mixture, self.values[members, members])
            )
            self._write(at, row[np.newaxis], np.array([[own]]))

    def _write(self, first: int, rows: Matrix, block: Matrix) -> None:
        old, new = self._used, self._used + len(rows)
        self.values[old:new, :old] = rows
        self.values[:old, old:new] = rows.T
        self.values[old:new, old:new] = block
        self.row_of[first : first + len(rows)] = np.arange(old, new)
        self._holders[old:new] = np.arange(first, first + len(rows))
        self._used = new

    def _pack(self, layer: int) -> None:
        """Drop the rows of birds that are not needed from ``layer`` on."""
        self.answer_pairs(before=layer)
        holders = self._holders[: self._used]
        keep = np.flatnonzero(self._needed.last[holders] >= layer)
        for start in range(0, len(keep), ROWS_AT_ONCE):
            some = keep[start : start + ROWS_AT_ONCE]  # never above the rows written to
            moved = self.values.take(some, axis=0).take(keep, axis=1)
            self.values[start : start + len(some), : len(keep)] = moved
        self._holders[: len(keep)] = holders[keep]
        self.row_of[self._holders[: len(keep)]] = np.arange(len(keep))
        self._used = len(keep)

    def among(self, places: Nodes) -> Matrix:
        """Kinship of places that are in the table."""
        rows = self.row_of[places]
        values = np.empty((len(rows), len(rows)))
        for start in range(0, len(rows), ROWS_AT_ONCE):
            some = slice(start, start + ROWS_AT_ONCE)
            values[some] = self.values.take(rows[some], axis=0).take(rows, axis=1)
        return values

    def answer_pairs(self, *, before: int) -> None:
        """Read the pairs whose birds had both entered before a layer, while they are there."""
        question, asked = self._question, self._needed.asked
        if self._order is None:
            now: Nodes | slice = slice(None)
        else:
            upto = int(np.searchsorted(asked, before, sorter=self._order))
            now = self._order[self._answered : upto]
            self._answered = upto
        rows = self.row_of[question.firsts[now]], self.row_of[question.seconds[now]]
        self.pairs[now] = self.values[rows]


def _weighted(sires: Matrix, dams: Matrix, dam_shares: Matrix | np.float64) -> Matrix:
    """Mean of the parents' kinship by what comes from each; the arguments are used up."""
    sires *= 1 - dam_shares
    dams *= dam_shares
    sires += dams
    return sires
