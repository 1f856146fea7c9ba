"""Discrete factors, and the trimming of states that no factor supports."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from matchmaker.errors import ExitCode, MatchmakerError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

Mask: TypeAlias = int
"""States still possible of one variable: bit i stands for state i."""

Numbers: TypeAlias = "tuple[NDArray[np.float64], NDArray[np.float64]]"
"""The same weights twice: plain, and as logarithms."""


class ContradictionError(MatchmakerError):
    """The evidence cannot all be true under the pedigree and the founders' frequencies."""

    exit_code = ExitCode.FAULTS


class Table:
    """Non-negative numbers over the states of some variables, shared by every factor of its kind.

    Kept as logarithms too where products of many chances would leave the range of a float.
    """

    __slots__ = ("_slices", "_supports", "logs", "values")

    def __init__(self, logs: NDArray[np.float64]) -> None:
        peak = logs.max()
        self.logs = logs - peak if np.isfinite(peak) else logs
        self.values = np.exp(self.logs)
        self._slices: dict[tuple[Mask, ...], Numbers] = {}
        self._supports: dict[tuple[Mask, ...], tuple[Mask, ...]] = {}

    @classmethod
    def of(cls, values: NDArray[np.float64]) -> Table:
        """Make a table from plain non-negative numbers, which it holds exactly."""
        with np.errstate(divide="ignore"):
            table = cls(np.log(values))
        table.logs = np.log(values, where=values > 0, out=np.full(values.shape, -np.inf))
        table.values = np.asarray(values, dtype=float)
        return table

    def supports(self, masks: tuple[Mask, ...]) -> tuple[Mask, ...]:
        """Return which states in ``masks`` have a positive entry with some states of the others."""
        known = self._supports.get(masks)
        if known is None:
            states = [states_of(mask) for mask in masks]
            positive = np.isfinite(self.logs[np.ix_(*states)])
            others = [
                tuple(o for o in range(len(masks)) if o != axis) for axis in range(len(masks))
            ]
            known = tuple(
                _mask_of(kept, np.asarray(positive.any(axis=rest)))
                for kept, rest in zip(states, others, strict=True)
            )
            self._supports[masks] = known
        return known

    def sliced(self, masks: tuple[Mask, ...]) -> Numbers:
        """Values and logs over the possible states; axes of settled variables are dropped."""
        known = self._slices.get(masks)
        if known is None:
            states = [states_of(mask) for mask in masks]
            settled = tuple(axis for axis, kept in enumerate(states) if len(kept) == 1)
            kept_states = np.ix_(*states)
            known = (
                self.values[kept_states].squeeze(settled),
                self.logs[kept_states].squeeze(settled),
            )
            self._slices[masks] = known
        return known


def states_of(mask: Mask) -> list[int]:
    """Return the states a mask holds, ascending.

    Examples
    --------
    >>> states_of(0b101)
    [0, 2]
    """
    return [state for state in range(mask.bit_length()) if mask >> state & 1]


def _mask_of(states: Sequence[int], kept: NDArray[np.bool_]) -> Mask:
    return sum(1 << state for state, keep in zip(states, kept.tolist(), strict=True) if keep)


@dataclass(slots=True)
class Network:
    """Variables (by number, with their count of states) and the factors over them."""

    sizes: list[int] = field(default_factory=list)
    factors: list[tuple[Table, tuple[int, ...]]] = field(default_factory=list)

    def variable(self, size: int) -> int:
        """Add a variable with ``size`` states and return its number."""
        self.sizes.append(size)
        return len(self.sizes) - 1

    def add(self, table: Table, *scope: int) -> None:
        """Add a factor over the variables ``scope``, one per axis of the table."""
        self.factors.append((table, scope))


def trimmed(network: Network) -> list[Mask]:
    """Return the states of each variable that no single factor rules out, taken to the end.

    Raises
    ------
    ContradictionError
        If a variable has no state left.

    Examples
    --------
    Of two states the only factor leaves the second (bit 1):

    >>> network = Network()
    >>> network.add(Table.of(np.array([0.0, 1.0])), network.variable(2))
    >>> trimmed(network)
    [2]
    """
    masks = [(1 << size) - 1 for size in network.sizes]
    touching: list[list[int]] = [[] for _ in network.sizes]
    for number, (_, scope) in enumerate(network.factors):
        for variable in scope:
            touching[variable].append(number)
    # What speaks of fewest variables comes first: it settles most for the least work.
    waiting = deque(sorted(range(len(network.factors)), key=lambda at: len(network.factors[at][1])))
    queued = set(waiting)
    while waiting:
        number = waiting.popleft()
        queued.discard(number)
        for variable in _narrowed(network.factors[number], masks):
            fresh = [other for other in touching[variable] if other not in queued]
            waiting.extend(fresh)
            queued.update(fresh)
    return masks


@dataclass(frozen=True, slots=True)
class Opened:
    """A network after trimming: its factors hold the open variables and possible states only."""

    sizes: tuple[int, ...]
    masks: tuple[Mask, ...]
    open_sizes: dict[int, int]
    """Count of possible states of every variable that has more than one."""
    factors: tuple[tuple[tuple[int, ...], Numbers], ...]
    """Scope of open variables and numbers (plain, logs) of each factor that has any."""


def opened(network: Network) -> Opened:
    """Trim a network and leave out what is settled.

    Raises
    ------
    ContradictionError
        If a variable has no state left.

    Examples
    --------
    >>> network = Network()
    >>> settled, free = network.variable(2), network.variable(2)
    >>> network.add(Table.of(np.array([0.0, 1.0])), settled)
    >>> network.add(Table.of(np.array([[1.0, 0.0], [0.5, 0.5]])), settled, free)
    >>> opened(network).open_sizes
    {1: 2}
    """
    masks = trimmed(network)
    sizes = {variable: mask.bit_count() for variable, mask in enumerate(masks) if mask & (mask - 1)}
    factors = tuple(
        (left, table.sliced(tuple([masks[variable] for variable in scope])))
        for table, scope in network.factors
        if (left := tuple([variable for variable in scope if variable in sizes]))
    )
    return Opened(tuple(network.sizes), tuple(masks), sizes, factors)


def _narrowed(factor: tuple[Table, tuple[int, ...]], masks: list[Mask]) -> list[int]:
    """Narrow ``masks`` by one factor and return the variables that changed."""
    table, scope = factor
    before = tuple(masks[variable] for variable in scope)
    after = table.supports(before)
    if after == before:
        return []
    if 0 in after:
        raise ContradictionError("no genotype is left that fits the evidence")
    changed = []
    for variable, old, new in zip(scope, before, after, strict=True):
        if old != new:
            masks[variable] = new
            changed.append(variable)
    return changed
