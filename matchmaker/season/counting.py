"""One goal while eggs are being given to it: how likely it is reached by those it has."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.season.goals import Ask
from matchmaker.season.reaching import Survival, Tally, survival
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from matchmaker.season.goals import Goal, TestAsk
    from matchmaker.season.lots import Lot

    Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Known:
    """Eggs that are in the incubator or have hatched: how many, and how sure each is.

    ``parts`` are, for each ask of the goal and each way that unproven parents may be, chances per
    chick where it has hatched (``hatched``), else parts of the chance that all eggs share.
    """

    week: int
    eggs: int
    trials: int
    hatched: bool
    parts: tuple[Array, ...]
    raised: float


def parts_of(goal: Goal, lot: Lot) -> tuple[Array, ...]:
    """For each ask the part of the shared chance that an egg of a lot has, in each way."""
    return tuple(_part(goal, ask, lot) for ask in goal.asks)


def _part(goal: Goal, ask: Ask | TestAsk, lot: Lot) -> Array:
    ways = len(goal.doubts.weights)
    if not isinstance(ask, Ask):
        return np.full(ways, ask.part(lot))
    sexes = tuple(Sex) if ask.sex is None else (ask.sex,)
    whole = sum(one.eggs for one in lot.portions)
    found = np.zeros(ways)
    for one in lot.portions:
        for sex in sexes:
            found += one.eggs / whole * one.lives * goal.doubts.of(one.pair, sex)
    return found


@dataclass(slots=True, eq=False)
class Counter:
    """A goal with its eggs; ``target`` is the part of its certainty that can be aimed at.

    ``for_mean`` and ``if_sure`` are the eggs with which its expected number, and its certainty if
    the rates were known, were reached. ``blocked`` are the rooms that were full.
    """

    goal: Goal
    shared: Survival
    tallies: tuple[Tally, ...]
    sure: tuple[Tally, ...]
    target: float = 1.0
    eggs: int = 0
    for_mean: int | None = None
    if_sure: int | None = None
    blocked: set[str] = field(default_factory=set)
    _parts: dict[int, tuple[Array, ...]] = field(default_factory=dict)

    def enough(self, *, sure: bool = False) -> bool:
        """Whether what is aimed at is reached (if the rates were known for sure)."""
        return all(
            tally.chance >= ask.certainty * self.target
            for tally, ask in zip(self.sure if sure else self.tallies, self.goal.asks, strict=True)
        )

    def add(self, lot: Lot) -> None:
        """One more egg of a lot."""
        if id(lot) not in self._parts:
            self._parts[id(lot)] = parts_of(self.goal, lot)
        for part, *tallies in zip(self._parts[id(lot)], self.tallies, self.sure, strict=True):
            for tally in tallies:
                tally.add(part)
        self.eggs += 1
        self.note()

    def know(self, one: Known) -> None:
        """Count what is set already."""
        for part, *tallies in zip(one.parts, self.tallies, self.sure, strict=True):
            for tally in tallies:
                for _ in range(one.trials):
                    (tally.add_known if one.hatched else tally.add)(part)
        self.note()

    def note(self) -> None:
        """Note the number of eggs at which the weaker aims are reached."""
        if self.for_mean is None and self.tallies[0].expected >= self.goal.mean - 1e-9:
            self.for_mean = self.eggs
        if self.if_sure is None and self.enough(sure=True):
            self.if_sure = self.eggs

    @property
    def lag(self) -> float:
        """How much of what it wants a goal has, weighed by its importance."""
        wanted = self.goal.mean * self.goal.importance
        return self.tallies[0].expected / wanted if wanted > 0 else math.inf


def counter_of(goal: Goal, shared: Survival, known: Iterable[Known]) -> Counter:
    """A goal with what is set for it already."""
    certain, ways = survival(shared.mean, 0.0), goal.doubts.weights
    counter = Counter(
        goal,
        shared,
        tuple(Tally(ask.count, shared, ways) for ask in goal.asks),
        tuple(Tally(ask.count, certain, ways) for ask in goal.asks),
    )
    counter.note()
    for one in known:
        counter.know(one)
    return counter
