"""Exact marginals of a network: variable elimination, once up and once down the clique tree."""

from __future__ import annotations

from dataclasses import dataclass
from math import prod
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from matchmaker.genetics.inference.arithmetic import Logs, OutOfRangeError, Plain, Possible, drawn
from matchmaker.genetics.inference.elimination import CELLS_MAX, Clique, clique_tree
from matchmaker.genetics.inference.factors import ContradictionError, opened, states_of

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from numpy.typing import NDArray

    from matchmaker.genetics.inference.arithmetic import Arithmetic
    from matchmaker.genetics.inference.factors import Mask, Network, Numbers

    Array = NDArray[np.float64]

Answer = TypeVar("Answer")


@dataclass(frozen=True, slots=True)
class Reduced:
    """A network after trimming: the open variables only, and the tree that sums them out."""

    sizes: tuple[int, ...]
    masks: tuple[Mask, ...]
    cliques: tuple[Clique, ...]
    factors: tuple[tuple[int, Numbers], ...]
    """Of each factor: its clique, and its numbers shaped for it, with a batch axis at the end."""

    @property
    def cells(self) -> int:
        """Table cells of all cliques together."""
        return sum(prod(clique.shape) for clique in self.cliques)


def reduced(network: Network, cells_max: int = CELLS_MAX) -> Reduced:
    """Trim a network, settle what is settled and plan the elimination of the rest.

    Raises
    ------
    ContradictionError
        If trimming alone shows that the evidence is impossible.
    TooTangledError
        If the cliques would need more than ``cells_max`` cells.

    Examples
    --------
    >>> from matchmaker.genetics.inference.factors import Network, Table
    >>> network = Network()
    >>> settled, open_one = network.variable(2), network.variable(2)
    >>> network.add(Table.of(np.array([0.0, 1.0])), settled)
    >>> network.add(Table.of(np.array([[1.0, 0.0], [0.5, 0.5]])), settled, open_one)
    >>> reduced(network).cells
    2
    """
    net = opened(network)
    scopes = (scope for scope, _ in net.factors)
    cliques = clique_tree(scopes, net.open_sizes, cells_max)
    place = {clique.scope[0]: at for at, clique in enumerate(cliques)}
    factors = tuple([placed(scope, numbers, place, cliques) for scope, numbers in net.factors])
    return Reduced(net.sizes, net.masks, tuple(cliques), factors)


def placed(
    scope: tuple[int, ...],
    numbers: Numbers,
    place: Mapping[int, int],
    cliques: Sequence[Clique],
) -> tuple[int, Numbers]:
    """Turn a factor's axes into the order of the clique that first sums one of them out.

    Examples
    --------
    >>> from matchmaker.genetics.inference.elimination import tree
    >>> values = np.arange(6.0).reshape(3, 2)
    >>> cliques = tree([(1, [0]), (0, [])], {0: 3, 1: 2})
    >>> at, (plain, _) = placed((0, 1), (values, values), {1: 0, 0: 1}, cliques)
    >>> at, plain.shape
    (0, (2, 3, 1))
    """
    at = min([place.get(variable, len(place)) for variable in scope])
    clique = cliques[at]
    plain, logs = numbers
    held = [variable for variable in clique.scope if variable in scope]
    if tuple(held) != scope:
        turn = [scope.index(variable) for variable in held]
        plain, logs = plain.transpose(turn), logs.transpose(turn)
    pairs = zip(clique.scope, clique.shape, strict=True)
    shape = (*[size if variable in scope else 1 for variable, size in pairs], 1)
    return at, (plain.reshape(shape), logs.reshape(shape))


def marginals(net: Reduced, fixed: Sequence[tuple[int, int]] = ()) -> list[Array]:
    """Return each variable's probabilities, shape (batch, states), settled variables included.

    Without ``fixed`` the batch is 1. With it, row b is conditional on the variable ``fixed[b][0]``
    being in the state ``fixed[b][1]``, which must be possible.

    Raises
    ------
    ContradictionError
        If the evidence is impossible.

    Examples
    --------
    >>> from matchmaker.genetics.inference.factors import Network, Table
    >>> network = Network()
    >>> parent, chick = network.variable(2), network.variable(2)
    >>> network.add(Table.of(np.array([0.25, 0.75])), parent)
    >>> network.add(Table.of(np.array([[1.0, 0.0], [0.5, 0.5]])), parent, chick)
    >>> marginals(reduced(network))[chick].round(3).tolist()
    [[0.625, 0.375]]
    """
    room = max(1, CELLS_MAX // max(1, net.cells))
    if len(fixed) > room:
        parts = [marginals(net, fixed[at : at + room]) for at in range(0, len(fixed), room)]
        return [np.concatenate(rows) for rows in zip(*parts, strict=True)]
    found = _in_range(lambda how: _two_passes(net, fixed, how))
    return _spread(net, found, max(1, len(fixed)))


def drawn_states(net: Reduced, chances: Array) -> NDArray[np.uint8]:
    """Return joint states of all variables drawn exactly, shape (variables, draws).

    ``chances`` (variables, draws) are uniform numbers from 0 to 1: the same give the same states,
    whatever the other draws are.

    Raises
    ------
    ContradictionError
        If the evidence is impossible.

    Notes
    -----
    Once up the clique tree; then down it each variable is drawn given those of its clique that are
    drawn already (Dawid 1992, Stat Comput 2:25, from memory).

    Examples
    --------
    >>> from matchmaker.genetics.inference.factors import Network, Table
    >>> network = Network()
    >>> parent, chick = network.variable(2), network.variable(2)
    >>> network.add(Table.of(np.array([0.25, 0.75])), parent)
    >>> network.add(Table.of(np.array([[1.0, 0.0], [0.0, 1.0]])), parent, chick)
    >>> drawn_states(reduced(network), np.array([[0.2, 0.3], [0.2, 0.3]])).tolist()
    [[0, 1], [0, 1]]
    """
    weights = _in_range(lambda how: _summed_up(net, how))
    found = np.zeros(chances.shape, dtype=np.uint8)
    for clique, table in zip(reversed(net.cliques), reversed(weights), strict=True):
        variable, *others = clique.scope
        given = table[(slice(None), *(found[other] for other in others))]
        found[variable] = drawn(given.reshape(len(table), -1), chances[variable])
    for variable, mask in enumerate(net.masks):
        found[variable] = np.array(states_of(mask), dtype=np.uint8)[found[variable]]
    return found


def _in_range(work: Callable[[Arithmetic], Answer]) -> Answer:
    """The answer in plain numbers, or in logarithms where these would vanish."""
    try:
        return work(Plain())
    except OutOfRangeError:
        pass
    try:
        return work(Logs())
    except OutOfRangeError:
        raise ContradictionError("the evidence cannot all be true") from None


def _summed_up(net: Reduced, how: Arithmetic) -> list[Array]:
    """Plain weights of each clique's joint states once all below it are summed out."""
    weights = _initial(net, (), how)
    upward(net.cliques, weights, how)
    return [how.plain(each)[..., 0] for each in weights]


def consistent(net: Reduced) -> bool:
    """Whether any joint state of all variables is possible; how likely it is does not matter.

    Examples
    --------
    Two variables that must be alike and must differ, though either may be in either state:

    >>> from matchmaker.genetics.inference.factors import Network, Table
    >>> network = Network()
    >>> one, two = network.variable(2), network.variable(2)
    >>> network.add(Table.of(np.array([[1.0, 0.0], [0.0, 1.0]])), one, two)
    >>> network.add(Table.of(np.array([[0.0, 1.0], [1.0, 0.0]])), one, two)
    >>> consistent(reduced(network))
    False
    """
    how = Possible()
    try:
        upward(net.cliques, _initial(net, (), how), how)
    except OutOfRangeError:
        return False
    return True


def _two_passes(
    net: Reduced, fixed: Sequence[tuple[int, int]], how: Arithmetic
) -> dict[int, Array]:
    """Return the probabilities of the open variables, shape (states, batch)."""
    weights = _initial(net, fixed, how)
    messages = upward(net.cliques, weights, how)
    found: dict[int, Array] = {}
    for at in range(len(net.cliques) - 1, -1, -1):
        clique = net.cliques[at]
        if clique.parent >= 0:
            above = how.summed(weights[clique.parent], clique.dropped)
            ratio = how.divided(above, messages[at])
            weights[at] = how.times(weights[at], ratio)
        alone = how.plain(how.summed(weights[at], tuple(range(1, weights[at].ndim - 1))))
        found[clique.scope[0]] = alone / np.add.reduce(alone, axis=0)
    return found


def upward(cliques: Sequence[Clique], weights: list[Array], how: Arithmetic) -> list[Array]:
    """Sum out variable by variable and return the messages.

    ``weights`` (clique axes, then batch) are filled with each clique's product before its sum.

    Raises
    ------
    OutOfRangeError
        If all weight of a message is too small for the arithmetic.

    Examples
    --------
    >>> from matchmaker.genetics.inference.elimination import tree
    >>> weights = [np.array([[1.0, 2.0], [3.0, 2.0]])[..., None], np.ones((2, 1))]
    >>> cliques = tree([(0, [1]), (1, [])], {0: 2, 1: 2})
    >>> [message.ravel().tolist() for message in upward(cliques, weights, Plain())]
    [[1.0, 1.0], [1.0]]
    """
    messages = []
    for at, clique in enumerate(cliques):
        message = how.scaled(how.summed(weights[at], (0,)))
        messages.append(message)
        if clique.parent >= 0:
            shaped = message.reshape(*clique.message_shape, message.shape[-1])
            weights[clique.parent] = how.times(weights[clique.parent], shaped)
    return messages


def _initial(net: Reduced, fixed: Sequence[tuple[int, int]], how: Arithmetic) -> list[Array]:
    unit = float(how.chosen((np.ones(1), np.zeros(1)))[0])
    weights: list[Array] = [np.full((*clique.shape, 1), unit) for clique in net.cliques]
    for at, numbers in net.factors:
        weights[at] = how.times(weights[at], how.chosen(numbers))
    place = {clique.scope[0]: at for at, clique in enumerate(net.cliques)}
    for variable in dict.fromkeys(variable for variable, _ in fixed if variable in place):
        at = place[variable]
        chosen = _choice(fixed, variable, net.masks[variable])
        with np.errstate(divide="ignore"):
            pair = (chosen, np.log(chosen))
        shape = (len(chosen), *(1,) * (len(net.cliques[at].shape) - 1), len(fixed))
        weights[at] = how.times(weights[at], how.chosen(pair).reshape(shape))
    return weights


def _choice(fixed: Sequence[tuple[int, int]], variable: int, mask: Mask) -> Array:
    """Weights (states, batch): one state in the rows that fix ``variable``, all in the others."""
    states = states_of(mask)
    chosen = np.ones((len(states), len(fixed)))
    for row, (which, state) in enumerate(fixed):
        if which == variable:
            chosen[:, row] = [float(other == state) for other in states]
    return chosen


def _spread(net: Reduced, found: Mapping[int, Array], batch: int) -> list[Array]:
    """Put the probabilities of the possible states back among all states, batch first."""
    full = []
    for variable, (size, mask) in enumerate(zip(net.sizes, net.masks, strict=True)):
        known = found.get(variable)
        if known is not None and len(known) == size:
            alike = known.shape[1] != batch
            whole = np.broadcast_to(known, (size, batch)) if alike else known
            full.append(np.ascontiguousarray(whole.T))
            continue
        spread = np.zeros((batch, size))
        spread[:, states_of(mask)] = 1.0 if known is None else known.T
        full.append(spread)
    return full
