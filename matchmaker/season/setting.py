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
from typing import TYPE_CHECKING, Final

from matchmaker.season.reaching import Survival, Tally, survival

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from matchmaker.season.goals import Goal
    from matchmaker.season.lots import Lot

ALIKE: Final = 1.1
"""Eggs whose chances differ by less than this factor count as alike: the earlier is set."""

MOST_MORE: Final = 3_000
"""Eggs beyond this number are not reckoned up where a line falls short."""

WantedKey = tuple[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """What can be set in a week and raised in the season; ``None`` where there is no limit."""

    incubator: int | None = None
    rearing: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """Eggs that are in the incubator or have hatched: how many, and how sure each is.

    ``chance`` is per egg or chick where it has hatched (``hatched``), else the part of the chance
    that all eggs share; one for each ask of the goal.
    """

    week: int
    eggs: int
    trials: int
    hatched: bool
    parts: tuple[float, ...]
    raised: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Reached:
    """What the eggs of one goal give.

    ``chances`` are those of each ask; ``expected`` wanted chicks. ``eggs`` are set from now on,
    ``done`` were set before. ``for_mean`` is how many of them would do for the expected number,
    ``if_sure`` how many if the rates were known for sure, ``fewest`` how many if only the likeliest
    were set with room for all; ``None`` where even all do not reach it. ``more`` eggs are missing
    of a line that falls short, ``None`` if no number helps. ``blocked`` says by what.
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


@dataclass(slots=True)
class _Counter:
    """One goal while eggs are being given to it."""

    goal: Goal
    shared: Survival
    tallies: tuple[Tally, ...]
    sure: tuple[Tally, ...]
    eggs: int = 0
    for_mean: int | None = None
    if_sure: int | None = None
    blocked: set[str] = field(default_factory=set)

    def enough(self, *, sure: bool = False) -> bool:
        tallies = self.sure if sure else self.tallies
        return all(
            tally.chance >= ask.certainty
            for tally, ask in zip(tallies, self.goal.asks, strict=True)
        )

    def add(self, lot: Lot) -> None:
        for ask, *tallies in zip(self.goal.asks, self.tallies, self.sure, strict=True):
            for tally in tallies:
                tally.add(ask.part(lot))
        self.eggs += 1
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


def _counter(goal: Goal, shared: Survival, known: Iterable[Known]) -> _Counter:
    certain = survival(shared.mean, 0.0)
    counter = _Counter(
        goal,
        shared,
        tuple(Tally(ask.count, shared) for ask in goal.asks),
        tuple(Tally(ask.count, certain) for ask in goal.asks),
    )
    for one in known:
        for part, *tallies in zip(one.parts, counter.tallies, counter.sure, strict=True):
            for tally in tallies:
                for _ in range(one.trials):
                    (tally.add_known if one.hatched else tally.add)(part)
    counter.note()
    return counter


def settle(
    lots: Sequence[Lot],
    goals: Sequence[Goal],
    shared: Survival,
    room: Room,
    known: Mapping[WantedKey, Sequence[Known]],
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
    """
    setting = _Setting(lots=tuple(lots), shared=shared, room=room)
    for ones in known.values():
        for one in ones:
            setting.week_eggs[one.week] += one.eggs
            setting.raised += one.raised
    counters = [_counter(goal, shared, known.get(goal.key, ())) for goal in goals]
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

    def give(self, counters: Sequence[_Counter]) -> None:
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

    def _next(self, counter: _Counter, places: Iterator[int]) -> Lot | None:
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

    def reached(self, counter: _Counter, known: Sequence[Known]) -> Reached:
        goal, enough = counter.goal, counter.enough()
        found = Reached(
            goal=goal,
            chances=tuple(tally.chance for tally in counter.tallies),
            expected=counter.tallies[0].expected,
            eggs=counter.eggs,
            done=sum(one.eggs for one in known),
            for_mean=counter.for_mean,
            if_sure=counter.if_sure,
            fewest=self._fewest(goal, known) if enough else None,
        )
        if enough:
            return found
        return replace(found, more=self._more(counter), blocked=_by_what(counter))

    def _more(self, counter: _Counter) -> int | None:
        """Eggs like those of the goal that are missing; ``counter`` is used up by it."""
        own = [lot for lot in self.lots if of_goal(lot, counter.goal) and lot.eggs]
        useful = [lot for lot in own if all(ask.part(lot) > 0 for ask in counter.goal.asks)]
        if not useful:
            return None
        before = counter.eggs
        best = max(useful, key=counter.goal.main.part)
        while counter.eggs - before < MOST_MORE:
            counter.add(best)
            if counter.enough():
                return counter.eggs - before
        return None

    def _fewest(self, goal: Goal, known: Sequence[Known]) -> int | None:
        counter = _counter(goal, self.shared, known)
        own = [lot for lot in self.lots if of_goal(lot, goal)]
        for lot in sorted(own, key=goal.main.part, reverse=True):
            for _ in range(lot.eggs):
                if counter.enough():
                    return counter.eggs
                counter.add(lot)
        return counter.eggs if counter.enough() else None


def _by_what(counter: _Counter) -> str:
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
