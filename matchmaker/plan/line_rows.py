"""Rows of the integer program for lines: what a line counts, and its minimums."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from matchmaker.plan.problem import PAIR_COST, SECOND_HELPING
from matchmaker.plan.saturation import saturate

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.plan.model import Model, Terms
    from matchmaker.plan.problem import Candidate, LineGoal


def add_line(model: Model, goal: LineGoal) -> None:
    """Add what a line counts, in full to its need and at a quarter beyond, and its minimums."""
    candidates = model.layout.candidates
    places = [place for place, one in enumerate(candidates) if one.line == goal.line]
    lowest = min(0.0, sum(min(0.0, candidates[place].value) for place in places))
    first = model.column("first", lowest, goal.chicks_wanted, whole=False)
    second = model.column("second", 0, goal.chicks_wanted, whole=False)
    worth: Terms = {model.x[place]: -candidates[place].value for place in places}
    model.at_most({first: 1.0, second: 1.0} | worth, 0)
    pairs = model.column("n", 0, len(places), whole=True)
    model.exactly({pairs: -1.0} | model.taken(places), 0)
    model.value |= {
        first: goal.importance,
        second: goal.importance * SECOND_HELPING,
        pairs: -PAIR_COST,
    }
    for slope, start in envelope([candidates[place] for place in places], goal):
        model.at_most({first: 1.0, second: SECOND_HELPING, pairs: -slope}, start)
    _add_minimums(model, goal, places)


def envelope(candidates: list[Candidate], goal: LineGoal) -> Iterator[tuple[float, float]]:
    """Yield the most a number of pairs can count, as lines (slope, value at no pairs).

    So many pairs are worth at most what as many hens are worth each in her best pair. That bound
    is concave in the number, so it is the least of these lines; it makes the number of pairs
    count whole and spares the search most of its work where lines have all they need.
    """
    best: dict[str, float] = {}
    for one in candidates:
        best[one.hen] = max(one.value, best.get(one.hen, one.value))
    reached, worth = saturate(0.0, goal.chicks_wanted), 0.0
    last: float | None = None
    for pairs, value in enumerate(sorted(best.values(), reverse=True)):
        worth += value
        counted = saturate(worth, goal.chicks_wanted)
        slope = counted - reached
        if slope != last:
            yield slope, reached - slope * pairs
        reached, last = counted, slope


def _add_minimums(model: Model, goal: LineGoal, places: list[int]) -> None:
    if goal.hens_min:
        model.at_least(model.taken(places), goal.hens_min)
    if goal.wanted_min:
        candidates = model.layout.candidates
        chicks: Terms = {model.x[place]: candidates[place].wanted for place in places}
        model.at_least(chicks, goal.wanted_min)
    if goal.cocks_min:
        _add_cocks_min(model, goal, places)


def _add_cocks_min(model: Model, goal: LineGoal, places: list[int]) -> None:
    by_cock: dict[str, list[int]] = defaultdict(list)
    for place in places:
        by_cock[model.layout.candidates[place].cock].append(place)
    serving: Terms = {}
    for own in by_cock.values():
        serves = model.column("serves", 0, 1, whole=False)
        model.at_most({serves: 1.0} | model.taken(own, -1.0), 0)
        serving[serves] = 1.0
    model.at_least(serving, goal.cocks_min)
