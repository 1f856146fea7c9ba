"""Exact marginals of a network: variable elimination, once up and once down the clique tree."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import numpy as np

from matchmaker.genetics.elimination import CELLS_MAX, Clique, clique_tree
from matchmaker.genetics.factors import ContradictionError, states_of, trimmed

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from matchmaker.genetics.factors import Mask, Network

    Array = NDArray[np.float64]


class _OutOfRangeError(Exception):
    """All weight of a message fell below the smallest float, or there was none."""


class _Arithmetic(Protocol):
    """How weights are held: as plain numbers, or as logarithms where those would vanish."""

    def chosen(self, pair: tuple[Array, Array]) -> Array: ...
    def times(self, one: Array, two: Array) -> Array: ...
    def summed(self, weights: Array, axes: tuple[int, ...]) -> Array: ...
    def scaled(self, message: Array) -> Array: ...
    def divided(self, whole: Array, part: Array) -> Array: ...
    def plain(self, weights: Array) -> Array: ...


class _Plain:
    """Weights as they are; every message is scaled to a largest entry of one."""

    def chosen(self, pair: tuple[Array, Array]) -> Array:
        return pair[0]

    def times(self, one: Array, two: Array) -> Array:
        return one * two

    def summed(self, weights: Array, axes: tuple[int, ...]) -> Array:
        found: Array = np.add.reduce(weights, axis=axes) if axes else weights
        return found

    def scaled(self, message: Array) -> Array:
        peak = np.maximum.reduce(message, axis=tuple(range(1, message.ndim)), keepdims=True)
        if not peak.all():
            raise _OutOfRangeError
        found: Array = message / peak
        return found

    def divided(self, whole: Array, part: Array) -> Array:
        return np.divide(whole, part, out=np.zeros(np.broadcast(whole, part).shape), where=part > 0)

    def plain(self, weights: Array) -> Array:
        return weights


class _Logs:
    """Weights as logarithms, -inf for the impossible."""

    def chosen(self, pair: tuple[Array, Array]) -> Array:
        return pair[1]

    def times(self, one: Array, two: Array) -> Array:
        return one + two

    def summed(self, weights: Array, axes: tuple[int, ...]) -> Array:
        found: Array = np.logaddexp.reduce(weights, axis=axes) if axes else weights
        return found

    def scaled(self, message: Array) -> Array:
        peak = message.max(axis=tuple(range(1, message.ndim)), keepdims=True)
        if not np.isfinite(peak).all():
            raise _OutOfRangeError
        found: Array = message - peak
        return found

    def divided(self, whole: Array, part: Array) -> Array:
        possible = np.isfinite(part)
        found: Array = np.where(possible, whole - np.where(possible, part, 0.0), -np.inf)
        return found

    def plain(self, weights: Array) -> Array:
        peak = weights.max(axis=tuple(range(1, weights.ndim)), keepdims=True)
        found: Array = np.exp(weights - peak)
        return found


class _Possible(_Plain):
    """One for what is possible, nought for what is not: nothing can vanish."""

    def chosen(self, pair: tuple[Array, Array]) -> Array:
        return np.isfinite(pair[1]).astype(float)


@dataclass(frozen=True, slots=True)
class Reduced:
    """A network after trimming: the open variables only, and the tree that sums them out."""

    sizes: tuple[int, ...]
    masks: tuple[Mask, ...]
    cliques: tuple[Clique, ...]
    factors: tuple[tuple[int, tuple[int, ...], tuple[Array, Array]], ...]
    """Of each factor: its clique, its shape there, and its numbers (plain, logs)."""

    @property
    def cells(self) -> int:
        """Table cells of all cliques together."""
        return sum(int(np.prod(clique.shape)) for clique in self.cliques)


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
    >>> from matchmaker.genetics.factors import Network, Table
    >>> network = Network()
    >>> settled, open_one = network.variable(2), network.variable(2)
    >>> network.add(Table.of(np.array([0.0, 1.0])), settled)
    >>> network.add(Table.of(np.array([[1.0, 0.0], [0.5, 0.5]])), settled, open_one)
    >>> reduced(network).cells
    2
    """
    masks = trimmed(network)
    sizes = {variable: mask.bit_count() for variable, mask in enumerate(masks) if mask & (mask - 1)}
    open_factors = [
        (table, tuple(masks[variable] for variable in scope), left)
        for table, scope in network.factors
        if (left := tuple(variable for variable in scope if variable in sizes))
    ]
    cliques = clique_tree((left for _, _, left in open_factors), sizes, cells_max)
    place = {clique.scope[0]: at for at, clique in enumerate(cliques)}
    factors = tuple(
        _placed(table.sliced(kept), left, place, cliques) for table, kept, left in open_factors
    )
    return Reduced(tuple(network.sizes), tuple(masks), tuple(cliques), factors)


def _placed(
    numbers: tuple[Array, Array],
    scope: tuple[int, ...],
    place: Mapping[int, int],
    cliques: Sequence[Clique],
) -> tuple[int, tuple[int, ...], tuple[Array, Array]]:
    """Turn a factor's axes into the order of the clique that first sums one of them out."""
    turn = sorted(range(len(scope)), key=lambda axis: place[scope[axis]])
    at = place[scope[turn[0]]]
    clique = cliques[at]
    held = set(scope)
    pairs = zip(clique.scope, clique.shape, strict=True)
    shape = tuple(size if variable in held else 1 for variable, size in pairs)
    plain, logs = numbers
    if turn != list(range(len(turn))):
        plain, logs = plain.transpose(turn), logs.transpose(turn)
    return at, shape, (plain.reshape(1, *shape), logs.reshape(1, *shape))


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
    >>> from matchmaker.genetics.factors import Network, Table
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
    try:
        found = _two_passes(net, fixed, _Plain())
    except _OutOfRangeError:
        try:
            found = _two_passes(net, fixed, _Logs())
        except _OutOfRangeError:
            raise ContradictionError("the evidence cannot all be true") from None
    return _spread(net, found, max(1, len(fixed)))


def consistent(net: Reduced) -> bool:
    """Whether any joint state of all variables is possible; how likely it is does not matter.

    Examples
    --------
    Two variables that must be alike and must differ, though either may be in either state:

    >>> from matchmaker.genetics.factors import Network, Table
    >>> network = Network()
    >>> one, two = network.variable(2), network.variable(2)
    >>> network.add(Table.of(np.array([[1.0, 0.0], [0.0, 1.0]])), one, two)
    >>> network.add(Table.of(np.array([[0.0, 1.0], [1.0, 0.0]])), one, two)
    >>> consistent(reduced(network))
    False
    """
    try:
        weights = _initial(net, (), _Possible())
        _upward(net, weights, _Possible())
    except _OutOfRangeError:
        return False
    return True


def _two_passes(
    net: Reduced, fixed: Sequence[tuple[int, int]], how: _Arithmetic
) -> dict[int, Array]:
    weights = _initial(net, fixed, how)
    messages = _upward(net, weights, how)
    found: dict[int, Array] = {}
    for at in range(len(net.cliques) - 1, -1, -1):
        clique = net.cliques[at]
        if clique.parent >= 0:
            above = how.summed(weights[clique.parent], clique.dropped)
            ratio = how.divided(above.reshape(len(above), *messages[at].shape[1:]), messages[at])
            weights[at] = how.times(weights[at], ratio[:, None])
        alone = how.plain(how.summed(weights[at], tuple(range(2, weights[at].ndim))))
        found[clique.scope[0]] = alone / alone.sum(axis=1, keepdims=True)
    return found


def _upward(net: Reduced, weights: list[Array], how: _Arithmetic) -> list[Array]:
    """Sum out variable by variable; fill ``weights`` with each clique's product before its sum."""
    messages = []
    for at, clique in enumerate(net.cliques):
        message = how.scaled(how.summed(weights[at], (1,)))
        messages.append(message)
        if clique.parent >= 0:
            shaped = message.reshape(len(message), *clique.message_shape)
            weights[clique.parent] = how.times(weights[clique.parent], shaped)
    return messages


def _initial(net: Reduced, fixed: Sequence[tuple[int, int]], how: _Arithmetic) -> list[Array]:
    unit = how.chosen((np.ones(1), np.zeros(1)))
    weights: list[Array] = [
        np.broadcast_to(unit.reshape((1,) * (1 + len(clique.shape))), (1, *clique.shape))
        for clique in net.cliques
    ]
    for at, _, numbers in net.factors:
        weights[at] = how.times(weights[at], how.chosen(numbers))
    place = {clique.scope[0]: at for at, clique in enumerate(net.cliques)}
    for variable in dict.fromkeys(variable for variable, _ in fixed if variable in place):
        at = place[variable]
        chosen = _choice(fixed, variable, net.masks[variable])
        with np.errstate(divide="ignore"):
            pair = (chosen, np.log(chosen))
        shape = (len(fixed), chosen.shape[1], *(1,) * (len(net.cliques[at].shape) - 1))
        weights[at] = how.times(weights[at], how.chosen(pair).reshape(shape))
    return weights


def _choice(fixed: Sequence[tuple[int, int]], variable: int, mask: Mask) -> Array:
    """Weights (batch, states): one state in the rows that fix ``variable``, all in the others."""
    states = states_of(mask)
    chosen = np.ones((len(fixed), len(states)))
    for row, (which, state) in enumerate(fixed):
        if which == variable:
            chosen[row] = [float(other == state) for other in states]
    return chosen


def _spread(net: Reduced, found: Mapping[int, Array], batch: int) -> list[Array]:
    """Put the probabilities of the possible states back among all states."""
    full = []
    for variable, (size, mask) in enumerate(zip(net.sizes, net.masks, strict=True)):
        spread = np.zeros((batch, size))
        spread[:, states_of(mask)] = found.get(variable, 1.0)
        full.append(spread)
    return full
