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
    """Return a possible state of every variable in every chain, shape (variables, chains).

    Variables are settled one by one at random among the states that trimming leaves, however
    likely these are, so that chains start far apart.

    Raises
    ------
    NoStartError
        If some chain found none.

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
    tables = [(factor.scope, np.isfinite(factor.logs)) for factor in factors]
    possible = [(scope, table) for scope, table in tables if not table.all()]
    touching: list[list[int]] = [[] for _ in sizes]
    for number, (scope, _) in enumerate(possible):
        for variable in scope:
            touching[variable].append(number)
    found = np.zeros((len(sizes), chains), dtype=np.intp)
    missing = np.arange(chains)
    states = np.arange(max(sizes.values(), default=1))[None, :, None]
    every = states < np.array(list(sizes.values()), dtype=np.intp).reshape(-1, 1, 1)
    for _ in range(TRIES):
        able = np.repeat(every, len(missing), axis=2)
        search = _Search(possible, touching, able, np.ones(len(missing), dtype=bool))
        search.alive = search.trim(range(len(possible)))
        for variable in generator.permutation(len(sizes)).tolist():
            search.settle(variable, generator)
        found[:, missing[search.alive]] = search.open.argmax(axis=1)[:, search.alive]
        missing = missing[~search.alive]
        if not len(missing):
            return found
    raise NoStartError
