"""Drawing many variables of a network at once, exactly, given the others: a block."""

from __future__ import annotations

from dataclasses import dataclass
from math import prod
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.genetics.arithmetic import Logs, OutOfRangeError, Plain
from matchmaker.genetics.elimination import tree
from matchmaker.genetics.inference import upward
from matchmaker.genetics.logfactors import Factor, joined

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from numpy.typing import NDArray

    from matchmaker.genetics.arithmetic import Arithmetic
    from matchmaker.genetics.cutset import CutSet
    from matchmaker.genetics.elimination import Clique
    from matchmaker.genetics.factors import Numbers

    Array = NDArray[np.float64]
    States = NDArray[np.intp]

JOINED_CELLS = 30_000
"""Factors that meet in one clique are multiplied beforehand up to a table of so many cells."""


@dataclass(frozen=True, slots=True)
class _Piece:
    """A factor as one clique sees it: clique axes, then one axis for the states that are given."""

    at: int
    given: States
    strides: States
    numbers: Numbers

    def weights(self, states: States, how: Arithmetic) -> Array:
        table = how.chosen(self.numbers)
        if not len(self.given):
            return table
        found: Array = table.take(self.strides @ states[self.given], axis=-1)
        return found


@dataclass(frozen=True, slots=True)
class Block:
    """All variables but the cut set: how to draw them jointly given the cut set."""

    cliques: tuple[Clique, ...]
    pieces: tuple[_Piece, ...]
    others: tuple[States, ...]
    """Of each clique, the variables that are drawn before the one it sums out."""
    strides: tuple[States, ...]

    @property
    def free(self) -> tuple[int, ...]:
        """The variables this block draws."""
        return tuple(clique.scope[0] for clique in self.cliques)

    @property
    def cells(self) -> int:
        """Table cells of all cliques together, for one chain."""
        return sum(prod(clique.shape) for clique in self.cliques)

    def draw(self, states: States, generator: np.random.Generator) -> list[Array]:
        """Draw the block's variables anew in every chain; ``states`` (variables, chains) changes.

        Returns, per clique, the probabilities (states, chains) from which its first variable was
        drawn: given the cut set and what was drawn before it.

        Raises
        ------
        OutOfRangeError
            If the cut set's states are impossible in some chain.
        """
        try:
            how: Arithmetic = Plain()
            weights = self._weights(states, how)
        except OutOfRangeError:
            how = Logs()
            weights = self._weights(states, how)
        uniform = generator.random((len(self.cliques), states.shape[1]))
        return self._backward(weights, states, uniform, how)

    def _weights(self, states: States, how: Arithmetic) -> list[Array]:
        unit = how.chosen((np.ones(1), np.zeros(1)))
        weights: list[Array] = [unit] * len(self.cliques)
        for piece in self.pieces:
            weights[piece.at] = how.times(weights[piece.at], piece.weights(states, how))
        for at, clique in enumerate(self.cliques):
            if weights[at].shape[:-1] != clique.shape:
                weights[at] = np.broadcast_to(weights[at], (*clique.shape, weights[at].shape[-1]))
        upward(self.cliques, weights, how)
        return weights

    def _backward(
        self, weights: list[Array], states: States, uniform: Array, how: Arithmetic
    ) -> list[Array]:
        chances: list[Array] = [uniform] * len(self.cliques)
        for at in range(len(self.cliques) - 1, -1, -1):
            given = self.strides[at] @ states[self.others[at]]
            chance = conditional(how.plain, weights[at], given)
            states[self.cliques[at].scope[0]] = drawn(chance, uniform[at])
            chances[at] = chance
        return chances


def conditional(plain: Callable[[Array], Array], weights: Array, given: States) -> Array:
    """Return the chances (states, batch) of a clique's first variable given all its others.

    ``given`` is, per row of the batch, the flat place of the others' states.
    """
    rows = weights.reshape(weights.shape[0], -1, weights.shape[-1])
    batch = np.arange(len(given)) if rows.shape[-1] > 1 else 0
    chosen = plain(rows[:, given, batch])
    found: Array = chosen / np.add.reduce(chosen, axis=0)
    return found


def drawn(chances: Array, uniform: Array) -> States:
    """Return a state for every column of chances (states, batch), never one of no chance.

    Examples
    --------
    >>> drawn(np.array([[0.0, 0.5], [1.0, 0.5]]), np.array([0.0, 0.4])).tolist()
    [1, 0]
    """
    sums = np.cumsum(chances, axis=0)
    found: States = np.add.reduce(sums[:-1] <= uniform * sums[-1], axis=0)
    return found


def block(cut: CutSet, factors: Sequence[Factor], sizes: Mapping[int, int]) -> Block:
    """Prepare the drawing of all variables outside a cut set."""
    cliques = tree(cut.steps, sizes)
    place = {clique.scope[0]: at for at, clique in enumerate(cliques)}
    gathered: list[list[Factor]] = [[] for _ in cliques]
    for factor in factors:
        free = [place[variable] for variable in factor.scope if variable in place]
        if free:
            gathered[min(free)].append(factor)
    pieces = [
        _piece(at, factor, cliques[at], sizes)
        for at, some in enumerate(gathered)
        for factor in joined(some, JOINED_CELLS)
    ]
    others = tuple(np.array(clique.scope[1:], dtype=np.intp) for clique in cliques)
    strides = tuple(strides_of(clique.shape[1:]) for clique in cliques)
    return Block(tuple(cliques), tuple(pieces), others, strides)


def _piece(at: int, factor: Factor, clique: Clique, sizes: Mapping[int, int]) -> _Piece:
    given = [variable for variable in factor.scope if variable not in clique.scope]
    held = [variable for variable in clique.scope if variable in factor.scope]
    turned = factor.logs.transpose([factor.scope.index(variable) for variable in (*held, *given)])
    shape = [sizes[variable] if variable in held else 1 for variable in clique.scope]
    logs = np.ascontiguousarray(turned).reshape(*shape, -1)
    strides = strides_of(tuple(sizes[variable] for variable in given))
    return _Piece(at, np.array(given, dtype=np.intp), strides, (np.exp(logs), logs))


def strides_of(shape: Sequence[int]) -> States:
    """Return how far one more of each state moves along the flattened axes.

    Examples
    --------
    >>> strides_of((3, 2, 5)).tolist()
    [10, 5, 1]
    """
    found = np.ones(len(shape), dtype=np.intp)
    found[:-1] = np.cumprod(shape[:0:-1])[::-1]
    return found
