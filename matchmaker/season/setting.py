"""Which eggs are set when: as few as give each line what it wants, the early ones first.

Eggs are taken one by one. For a line they come in an order of their own (``queue``): those that
most likely give a wanted chick, and of those the early ones, each hen first up to the wanted chicks
that one hen shall give. Where lines share the incubator and the rearing room the one that is
furthest behind what it wants, weighed by its importance, takes the next egg. Each line stops with
the egg that makes its numbers as sure as is asked.
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass, field, replace
from itertools import chain
from typing import TYPE_CHECKING, Final

import numpy as np

from matchmaker.season.counting import Counter, Known, counter_of
from matchmaker.season.doubt import Doubts

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from matchmaker.season.goals import Goal
    from matchmaker.season.lots import Lot
    from matchmaker.season.reaching import Survival

ALIKE: Final = 1.1
"""Eggs whose chances differ by less than this factor count as alike: the earlier is set."""

MOST_MORE: Final = 1_000
"""Of so many eggs missing, or more, the number is not worked out."""

WantedKey = tuple[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """What can be set in a week and raised in the season; ``None`` where there is no limit."""

    incubator: int | None = None
    rearing: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """Eggs set that count for no goal, as their cock is not certain; they take room all the same.

    ``raised`` are the chicks to expect of them.
    """

    week: int
    eggs: int
    raised: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Reached:
    """What the eggs of one goal give.

    ``chances`` are those of each ask; ``expected`` wanted chicks. ``eggs`` are set from now on,
    ``done`` were set before. ``for_mean`` is how many of them would do for the expected number,
    ``if_sure`` how many if the rates were known for sure, ``fewest`` how many if only the likeliest
    were set with room for all; ``None`` where even all do not reach it. ``more`` eggs are missing
    of a line that falls short, ``None`` if no number helps. ``blocked`` says by what. ``ceiling``
    is the chance that all eggs of these pairs could give, where doubts about parents hold it below
    what is asked; ``ways`` are the least and the largest chance by what unproven parents may be.
    """

    goal: Goal
    chances: tuple[float, ...]
    expected: float
    eggs: int
    done: int
    for_mean: int | None
    if_sure: int | None
    fewest: int | None
    more: int | None = None
    blocked: str = ""
    ceiling: float | None = None
    ways: tuple[float, float] = (0.0, 1.0)

    @property
    def enough(self) -> bool:
        """Whether everything asked is reached."""
        asks = self.goal.asks
        return all(c >= ask.certainty for c, ask in zip(self.chances, asks, strict=True))


@dataclass(frozen=True, kw_only=True)
class Settled:
    """How many eggs of each lot are set, and what each goal reaches."""

    eggs: Mapping[int, int]
    goals: tuple[Reached, ...]
    lots: tuple[Lot, ...]

    @property
    def rows(self) -> tuple[tuple[Lot, int], ...]:
        """The lots of which eggs are set, with their number, in order of weeks and pens."""
        return tuple((self.lots[at], count) for at, count in sorted(self.eggs.items()) if count)


def settle(
    lots: Sequence[Lot],
    goals: Sequence[Goal],
    shared: Survival,
    room: Room,
    known: Mapping[WantedKey, Sequence[Known]],
    others: Sequence[Taken] = (),
) -> Settled:
    """Return how many eggs of each lot to set, and what that reaches.

    Parameters
    ----------
    lots
        What can still be set, by week.
    shared
        The chance of a raised chick that all eggs share.
    known
        What is set already, by goal.
    others
        What else is set already.
    """
    setting = _Setting(lots=tuple(lots), shared=shared, room=room)
    taken: list[Known | Taken] = [*chain.from_iterable(known.values()), *others]
    for one in taken:
        setting.week_eggs[one.week] += one.eggs
        setting.raised += one.raised
    counters = [setting.counter(goal, known.get(goal.key, ())) for goal in goals]
    setting.give(counters)
    return Settled(
        eggs=dict(setting.given),
        lots=setting.lots,
        goals=tuple(
            setting.reached(counter, known.get(counter.goal.key, ())) for counter in counters
        ),
    )


@dataclass(kw_only=True)
class _Setting:
    lots: tuple[Lot, ...]
    shared: Survival
    room: Room
    given: dict[int, int] = field(default_factory=lambda: defaultdict(int))
    week_eggs: dict[int, int] = field(default_factory=lambda: defaultdict(int))
    raised: float = 0.0
    ceilings: dict[WantedKey, float] = field(default_factory=dict)

    def counter(self, goal: Goal, known: Sequence[Known]) -> Counter:
        """A goal with what it has, aimed at what its unproven parents allow.

        Where all eggs would reach what is asked if chances were as they are on average, and do not
        because parents may be otherwise, further eggs help little: the aim is lowered by as much.
        """
        counter = counter_of(goal, self.shared, known)
        if len(goal.doubts.weights) == 1 or counter.enough():
            return counter
        plain = replace(goal, doubts=Doubts())
        whole = self._all_eggs(counter_of(goal, self.shared, known))
        average = self._all_eggs(counter_of(plain, self.shared, _averaged(goal, known)))
        if average.enough() and not whole.enough():
            counter.target = min(tally.chance for tally in whole.tallies)
            self.ceilings[goal.key] = whole.tallies[0].chance
        return counter

    def _all_eggs(self, counter: Counter) -> Counter:
        for lot in self.lots:
            if of_goal(lot, counter.goal):
                for _ in range(lot.eggs):
                    counter.add(lot)
        return counter

    def give(self, counters: Sequence[Counter]) -> None:
        """Egg by egg to the goal that is furthest behind, until none can or need take one."""
        queues = {id(one): self._queue(one.goal) for one in counters}
        open_ = [one for one in counters if not one.enough()]
        while open_:
            one = min(open_, key=lambda counter: (counter.lag, counter.goal.key))
            lot = self._next(one, queues[id(one)])
            if lot is None:
                open_.remove(one)
                continue
            one.add(lot)
            if one.enough():
                open_.remove(one)

    def _queue(self, goal: Goal) -> Iterator[int]:
        return iter(queue(self.lots, goal, self.shared.mean))

    def _next(self, counter: Counter, places: Iterator[int]) -> Lot | None:
        """The next egg of a goal for which there is room; what has none is passed over."""
        for at in places:
            lot = self.lots[at]
            week = lot.week.number
            if self.room.incubator is not None and self.week_eggs[week] >= self.room.incubator:
                counter.blocked.add("incubator")
                continue
            more = lot.lives * self.shared.mean
            if self.room.rearing is not None and self.raised + more > self.room.rearing + 1e-9:
                counter.blocked.add("rearing")
                continue
            self.week_eggs[week] += 1
            self.raised += more
            self.given[at] += 1
            return lot
        return None

    def reached(self, counter: Counter, known: Sequence[Known]) -> Reached:
        """What a goal has in the end."""
        goal, ways = counter.goal, counter.tallies[0].by_way
        found = Reached(
            goal=goal,
            chances=tuple(tally.chance for tally in counter.tallies),
            expected=counter.tallies[0].expected,
            eggs=counter.eggs,
            done=sum(one.eggs for one in known),
            for_mean=counter.for_mean,
            if_sure=counter.if_sure,
            fewest=None,
            ways=(float(ways.min()), float(ways.max())),
        )
        if goal.key in self.ceilings:
            return replace(found, blocked="doubt", ceiling=self.ceilings[goal.key])
        if counter.enough():
            return replace(found, fewest=self._fewest(goal, known))
        return replace(found, more=self._more(counter), blocked=_by_what(counter))

    def _more(self, counter: Counter) -> int | None:
        """Eggs like the best of the goal that are missing, ``MOST_MORE`` for so many or more.

        ``None`` if no number helps. ``counter`` is used up by it.
        """
        asks = counter.goal.asks
        own = [lot for lot in self.lots if of_goal(lot, counter.goal)]
        useful = [lot for lot in own if all(ask.part(lot) > 0 for ask in asks)]
        if not useful or self.shared.mean <= 0:
            return None
        best = max(useful, key=counter.goal.main.part)
        each = counter.goal.main.part(best) * self.shared.mean
        if (counter.goal.main.count - counter.tallies[0].expected) / each >= MOST_MORE:
            return MOST_MORE
        before = counter.eggs
        while counter.eggs - before < MOST_MORE:
            counter.add(best)
            if counter.enough():
                return counter.eggs - before
        return MOST_MORE if len(counter.goal.doubts.weights) == 1 else None

    def _fewest(self, goal: Goal, known: Sequence[Known]) -> int | None:
        counter = counter_of(goal, self.shared, known)
        own = [lot for lot in self.lots if of_goal(lot, goal)]
        for lot in sorted(own, key=goal.main.part, reverse=True):
            for _ in range(lot.eggs):
                if counter.enough():
                    return counter.eggs
                counter.add(lot)
        return counter.eggs if counter.enough() else None


def _averaged(goal: Goal, known: Sequence[Known]) -> list[Known]:
    """The same without any doubt about parents."""
    weights = goal.doubts.weights
    return [replace(one, parts=tuple(np.array([weights @ p]) for p in one.parts)) for one in known]


def _by_what(counter: Counter) -> str:
    return next((why for why in ("incubator", "rearing") if why in counter.blocked), "eggs")


def of_goal(lot: Lot, goal: Goal) -> bool:
    """Whether eggs of a lot are for a goal."""
    return (
        (lot.tested == goal.tested) if goal.tested else (not lot.tested and lot.line == goal.line)
    )


def queue(lots: Sequence[Lot], goal: Goal, shared: float) -> list[int]:
    """The order in which a goal takes eggs: places of their lots, one for each egg.

    First up to what one hen shall give, then beyond it; of each the likelier eggs, of those that
    are alike the earlier, of one week the likeliest.
    """
    if shared <= 0:
        return []
    own = [(at, lot) for at, lot in enumerate(lots) if of_goal(lot, goal) and goal.main.part(lot)]
    best = max((goal.main.part(lot) for _, lot in own), default=0.0)
    used: dict[tuple[str, ...], float] = defaultdict(float)
    ranked: list[tuple[tuple[object, ...], int, int]] = []
    for at, lot in own:
        part = goal.main.part(lot)
        worse = int(math.log(best / part) / math.log(ALIKE) + 1e-9)
        left = max(0.0, goal.most_per_hen * len(lot.hens) - used[lot.source])
        first = min(lot.eggs, math.ceil(left / (part * shared))) if left < math.inf else lot.eggs
        used[lot.source] += first * part * shared
        key = (worse, lot.week.number, -part, at)
        ranked.append(((False, *key), at, first))
        ranked.append(((True, *key), at, lot.eggs - first))
    return [at for _, at, count in sorted(ranked) for _ in range(count)]
