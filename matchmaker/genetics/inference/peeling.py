"""Summing out what is narrow, once and exactly, so that only a tangled core is left to sample."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.genetics.inference.arithmetic import Logs, drawn
from matchmaker.genetics.inference.blocks import strides_of
from matchmaker.genetics.inference.elimination import eliminated, neighbours, tree
from matchmaker.genetics.inference.exact import placed
from matchmaker.genetics.inference.factors import ContradictionError
from matchmaker.genetics.inference.logfactors import Factor, absorbed

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from matchmaker.genetics.inference.elimination import Clique
    from matchmaker.genetics.inference.factors import Opened

    Array = NDArray[np.float64]
    States = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Peeled:
    """The narrow part of a network, summed out, and the factors over the core that are left.

    ``chances[at]`` holds P(first variable of the clique | its others), axes as in its scope.
    """

    cliques: tuple[Clique, ...]
    chances: tuple[Array, ...]
    core: tuple[int, ...]
    factors: tuple[Factor, ...]

    def marginals(self, of_core: Callable[[tuple[int, ...]], Array]) -> dict[int, Array]:
        """Return the probabilities of the peeled variables, shape (states, columns).

        ``of_core`` gives the joint probabilities of some core variables, one column per group of
        chains (last axis); each column is carried down the tree exactly.
        """
        joints: dict[int, Array] = {}
        found: dict[int, Array] = {}
        for at in range(len(self.cliques) - 1, -1, -1):
            clique = self.cliques[at]
            if clique.parent >= 0:
                others = joints[clique.parent].sum(axis=clique.dropped)
            else:
                others = of_core(clique.scope[1:])
            joints[at] = self.chances[at][..., None] * others
            found[clique.scope[0]] = joints[at].sum(axis=tuple(range(1, joints[at].ndim - 1)))
        return found

    def draw(self, states: States, generator: np.random.Generator) -> None:
        """Fill in the peeled variables of ``states`` (variables, samples), given the core's."""
        for at in range(len(self.cliques) - 1, -1, -1):
            scope, shape = self.cliques[at].scope, self.cliques[at].shape
            given = strides_of(shape[1:]) @ states[list(scope[1:])]
            chances = self.chances[at].reshape(shape[0], -1)[:, given]
            states[scope[0]] = drawn(chances, generator.random(states.shape[1]))


def peeled(net: Opened, clique_max: int) -> Peeled:
    """Sum out, smallest clique first, what needs no clique of over ``clique_max`` cells.

    Raises
    ------
    ContradictionError
        If the narrow part alone is impossible.

    Examples
    --------
    >>> from matchmaker.genetics.inference.factors import Network, Table, opened
    >>> network = Network()
    >>> parent, chick = network.variable(2), network.variable(2)
    >>> network.add(Table.of(np.array([0.25, 0.75])), parent)
    >>> network.add(Table.of(np.array([[1.0, 0.0], [0.5, 0.5]])), parent, chick)
    >>> found = peeled(opened(network), 4).marginals(lambda core: np.ones(1))
    >>> found[chick].ravel().round(3).tolist()
    [0.625, 0.375]
    """
    sizes = net.open_sizes
    near = neighbours((scope for scope, _ in net.factors), sizes)
    cliques = tree(eliminated(near, sizes, clique_max)[0], sizes)
    place = {clique.scope[0]: at for at, clique in enumerate(cliques)}
    weights = [np.zeros((*clique.shape, 1)) for clique in cliques]
    left = []
    for scope, numbers in net.factors:
        if any(variable in place for variable in scope):
            at, (_, logs) = placed(scope, numbers, place, cliques)
            weights[at] = weights[at] + logs
        else:
            left.append(Factor.over(scope, numbers[1]))
    chances, messages = _summed(cliques, weights)
    return Peeled(
        tuple(cliques), tuple(chances), tuple(sorted(near)), tuple(absorbed(left + messages))
    )


def _summed(cliques: Sequence[Clique], weights: list[Array]) -> tuple[list[Array], list[Factor]]:
    """Return P(first variable | others) of each clique, and the messages that reach the core."""
    how = Logs()
    chances: list[Array] = []
    messages: list[Factor] = []
    for clique, logs in zip(cliques, weights, strict=True):
        message = how.summed(logs, (0,))
        peak = message.max()
        if not np.isfinite(peak):
            raise ContradictionError("the evidence cannot all be true")
        chances.append(np.exp(how.divided(logs, message))[..., 0])
        if clique.parent >= 0:
            shaped = (message - peak).reshape(*clique.message_shape, 1)
            weights[clique.parent] = weights[clique.parent] + shaped
        elif len(clique.scope) > 1:
            messages.append(Factor.over(clique.scope[1:], message[..., 0]))
    return chances, messages
