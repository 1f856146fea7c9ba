"""Drawing many variables of a network at once, exactly, given the others: a block."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.sparse import csr_array, lil_array

from matchmaker.genetics.inference.arithmetic import Logs, OutOfRangeError, Plain, drawn
from matchmaker.genetics.inference.elimination import tree
from matchmaker.genetics.inference.exact import upward
from matchmaker.genetics.inference.logfactors import Factor, joined

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from numpy.typing import NDArray

    from matchmaker.genetics.inference.arithmetic import Arithmetic
    from matchmaker.genetics.inference.cutset import CutSet
    from matchmaker.genetics.inference.elimination import Clique
    from matchmaker.genetics.inference.factors import Numbers

    Array = NDArray[np.float64]
    States = NDArray[np.intp]

JOINED_CELLS = 30_000
"""Factors that meet in one clique are multiplied beforehand up to a table of so many cells."""


@dataclass(frozen=True, slots=True)
class Block:
    """All variables but a cut set: how to draw them jointly given the cut set.

    ``pieces`` hold the weights of each factor as one clique sees them: the clique's axes, then one
    for the states of the fixed variables; ``given`` turns the states of all variables into the
    places on that last axis, a row for each piece.
    """

    cliques: tuple[Clique, ...]
    pieces: tuple[tuple[int, Numbers], ...]
    given: csr_array
    others: tuple[States, ...]
    """Of each clique, the variables that are drawn before the one it sums out."""
    strides: tuple[States, ...]

    @property
    def free(self) -> States:
        """The variables this block draws, one a clique."""
        return np.array([clique.scope[0] for clique in self.cliques], dtype=np.intp)

    def draw(self, states: States, generator: np.random.Generator) -> list[Array]:
        """Draw the block's variables anew in every chain; ``states`` (variables, chains) changes.

        Returns, per clique, the probabilities (states, chains) from which its first variable was
        drawn: given the cut set and what was drawn before it.

        Raises
        ------
        OutOfRangeError
            If the cut set's states are impossible in some chain.
        """
        places = self.given @ states
        try:
            how: Arithmetic = Plain()
            weights = self._weights(places, how)
        except OutOfRangeError:
            how = Logs()
            weights = self._weights(places, how)
        uniform = generator.random((len(self.cliques), states.shape[1]))
        return self._backward(weights, states, uniform, how)

    def _weights(self, places: States, how: Arithmetic) -> list[Array]:
        unit = how.chosen((np.ones(1), np.zeros(1)))
        weights: list[Array] = [unit] * len(self.cliques)
        for (at, numbers), place in zip(self.pieces, places, strict=True):
            table = how.chosen(numbers)
            chosen = table.take(place, axis=-1) if table.shape[-1] > 1 else table
            weights[at] = chosen if weights[at] is unit else how.times(weights[at], chosen)
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

    Examples
    --------
    >>> weights = np.array([[1.0, 2.0], [3.0, 2.0]])[..., None]
    >>> conditional(Plain().plain, weights, np.array([0, 1])).tolist()
    [[0.25, 0.5], [0.75, 0.5]]
    """
    size, batch = weights.shape[0], weights.shape[-1]
    places = given * batch + np.arange(batch) if batch > 1 else given
    chosen = plain(weights.reshape(size, -1).take(places, axis=1))
    found: Array = chosen / np.add.reduce(chosen, axis=0)
    return found


def block(cut: CutSet, factors: Sequence[Factor], sizes: Mapping[int, int]) -> Block:
    """Prepare the drawing of all variables outside a cut set.

    Examples
    --------
    Of two variables that must be alike the second is fixed, in another state in each chain:

    >>> from matchmaker.genetics.inference.cutset import CutSet
    >>> with np.errstate(divide="ignore"):
    ...     alike = Factor((0, 1), np.log(np.eye(2)))
    >>> states = np.array([[0, 0], [0, 1]])
    >>> chances = block(CutSet((1,), ((0, []),)), [alike], {0: 2, 1: 2}).draw(
    ...     states, np.random.default_rng(1)
    ... )
    >>> states[0].tolist(), chances[0].tolist()
    ([0, 1], [[1.0, 0.0], [0.0, 1.0]])
    """
    cliques = tree(cut.steps, sizes)
    place = {clique.scope[0]: at for at, clique in enumerate(cliques)}
    gathered: list[list[Factor]] = [[] for _ in cliques]
    for factor in factors:
        free = [place[variable] for variable in factor.scope if variable in place]
        if free:
            gathered[min(free)].append(factor)
    pieces: list[tuple[int, Numbers]] = []
    given = lil_array((len(factors), len(sizes)), dtype=np.intp)
    for at, some in enumerate(gathered):
        for factor in joined(some, JOINED_CELLS):
            fixed = [variable for variable in factor.scope if variable not in cliques[at].scope]
            given[len(pieces), fixed] = strides_of([sizes[variable] for variable in fixed])
            pieces.append((at, _turned(factor, cliques[at], fixed)))
    others = tuple(np.array(clique.scope[1:], dtype=np.intp) for clique in cliques)
    strides = tuple(strides_of(clique.shape[1:]) for clique in cliques)
    return Block(tuple(cliques), tuple(pieces), given[: len(pieces)].tocsr(), others, strides)


def _turned(factor: Factor, clique: Clique, fixed: Sequence[int]) -> Numbers:
    """Return a factor (plain, logs) with a clique's axes, then one of all fixed states."""
    held = [variable for variable in clique.scope if variable in factor.scope]
    turned = factor.logs.transpose([factor.scope.index(variable) for variable in (*held, *fixed)])
    pairs = zip(clique.scope, clique.shape, strict=True)
    shape = [size if variable in factor.scope else 1 for variable, size in pairs]
    logs = np.ascontiguousarray(turned).reshape(*shape, -1)
    return np.exp(logs), logs


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
