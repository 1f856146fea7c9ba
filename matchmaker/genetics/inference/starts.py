"""Possible joint states to start chains from, far apart."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from numpy.typing import NDArray

    from matchmaker.genetics.inference.logfactors import Factor

    Bools = NDArray[np.bool_]
    States = NDArray[np.intp]

TRIES = 40
"""How often chains that ran into a dead end start again, each time in another order."""


RARE_MAX = 128
"""Most starts in states that random starts did not come upon."""


class NoStartError(Exception):
    """No possible joint state was found for some chain, though there may be one."""


@dataclass(slots=True)
class _Search:
    """The states still open in every chain, shape (variables, states, chains)."""

    possible: list[tuple[tuple[int, ...], Bools]]
    touching: list[list[int]]
    open: Bools
    alive: Bools
    """Chains in which every variable has a state left."""
    before: dict[int, Bools] = field(default_factory=dict)
    """What was open of each variable before the last choice changed it."""

    def trim(self, waiting: Iterable[int]) -> Bools:
        """Drop what no factor supports, to the end; return which living chains live on."""
        queue = dict.fromkeys(waiting)
        alive = self.alive.copy()
        while queue and alive.any():
            number = next(iter(queue))
            del queue[number]
            for variable in self._narrow(*self.possible[number]):
                alive &= self.open[variable].any(axis=0)
                queue.update(dict.fromkeys(self.touching[variable]))
        return alive

    def _narrow(self, scope: tuple[int, ...], table: Bools) -> list[int]:
        both = table[..., None]
        for axis, variable in enumerate(scope):
            shape = [1] * len(scope)
            shape[axis] = table.shape[axis]
            both = both & self.open[variable, : table.shape[axis]].reshape(*shape, -1)
        changed = []
        for axis, variable in enumerate(scope):
            kept = both.any(axis=tuple(other for other in range(len(scope)) if other != axis))
            if not np.array_equal(kept, self.open[variable, : len(kept)]):
                self.before.setdefault(variable, self.open[variable].copy())
                self.open[variable, : len(kept)] = kept
                changed.append(variable)
        return changed

    def states(self, generator: np.random.Generator) -> States:
        """Settle all variables in a random order; return the states of the chains that lived."""
        self.alive = self.trim(range(len(self.possible)))
        for variable in generator.permutation(len(self.open)).tolist():
            self.settle(variable, generator)
            while self._unsettled(variable):  # where a choice was taken back
                self.settle(variable, generator)
        found: States = self.open.argmax(axis=1)[:, self.alive]
        return found

    def _unsettled(self, variable: int) -> bool:
        return bool((self.open[variable].sum(axis=0) > 1)[self.alive].any())

    def settle(self, variable: int, generator: np.random.Generator) -> None:
        """Give ``variable`` a random open state in every chain.

        A chain in which that leads nowhere takes the choice back and goes on without that state.
        """
        open_now = self.open[variable].copy()
        self.before = {variable: open_now}
        chosen = np.where(open_now, generator.random(open_now.shape), -1.0).argmax(axis=0)
        is_chosen = np.arange(len(open_now))[:, None] == chosen
        self.open[variable] = open_now & is_chosen
        alive = self.trim(self.touching[variable])
        dead = np.flatnonzero(self.alive & ~alive)
        if len(dead):
            for other, states in self.before.items():
                self.open[other][:, dead] = states[:, dead]
            self.open[variable][:, dead] &= ~is_chosen[:, dead]
            self.alive[dead] &= self.open[variable][:, dead].any(axis=0)
            alive = self.trim(self.touching[variable])
        self.alive &= alive


def starting_states(
    factors: Sequence[Factor],
    sizes: Mapping[int, int],
    chains: int,
    generator: np.random.Generator,
) -> States:
    """Return possible states of all variables to start from, shape (variables, starts).

    Of the first ``chains`` starts, variables are settled one by one at random among the states
    that trimming leaves, however likely these are, so that they lie far apart. Each state that
    none of them came upon is then looked for on its own, up to ``RARE_MAX`` of them, and what is
    found follows: a mode may be heavy and yet hard to come upon.

    Raises
    ------
    NoStartError
        If one of the first ``chains`` was not found.

    Examples
    --------
    Two variables that must be alike:

    >>> from matchmaker.genetics.inference.logfactors import Factor
    >>> with np.errstate(divide="ignore"):
    ...     alike = Factor((0, 1), np.log(np.eye(2)))
    >>> one, two = starting_states([alike], {0: 2, 1: 2}, 8, np.random.default_rng(1))
    >>> one.tolist() == two.tolist(), set(one.tolist())
    (True, {0, 1})
    """
    hard = _Hard.of(factors, sizes)
    found = np.zeros((len(sizes), 0), dtype=np.intp)
    for _ in range(TRIES):
        search = hard.search(chains - found.shape[1])
        found = np.hstack((found, search.states(generator)))
        if found.shape[1] == chains:
            return np.hstack((found, _rare(hard, found, generator)))
    raise NoStartError


@dataclass(frozen=True, slots=True)
class _Hard:
    """The factors that rule something out, and the states that exist, (variables, states)."""

    possible: list[tuple[tuple[int, ...], Bools]]
    touching: list[list[int]]
    every: Bools

    @classmethod
    def of(cls, factors: Sequence[Factor], sizes: Mapping[int, int]) -> _Hard:
        tables = [(factor.scope, np.isfinite(factor.logs)) for factor in factors]
        possible = [(scope, table) for scope, table in tables if not table.all()]
        touching: list[list[int]] = [[] for _ in sizes]
        for number, (scope, _) in enumerate(possible):
            for variable in scope:
                touching[variable].append(number)
        states = np.arange(max(sizes.values(), default=1))
        every = states < np.array(list(sizes.values()), dtype=np.intp).reshape(-1, 1)
        return cls(possible, touching, every)

    def search(self, chains: int) -> _Search:
        able = np.repeat(self.every[:, :, None], chains, axis=2)
        return _Search(self.possible, self.touching, able, np.ones(chains, dtype=bool))


def _rare(hard: _Hard, found: States, generator: np.random.Generator) -> States:
    """Return starts in states that none of those found so far is in."""
    trimmed = hard.search(1)
    trimmed.trim(range(len(hard.possible)))
    missing = trimmed.open[:, :, 0].copy()
    for column in found.T:
        missing[np.arange(len(column)), column] = False
    variables, states = np.nonzero(missing)
    chosen = generator.permutation(len(variables))[:RARE_MAX]
    search = hard.search(len(chosen))
    columns = np.arange(len(chosen))
    search.open[variables[chosen], :, columns] = False
    search.open[variables[chosen], states[chosen], columns] = True
    return search.states(generator) if len(chosen) else found[:, :0]
