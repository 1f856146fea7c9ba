"""Rows of the integer program for lines: what a line counts, and its minimums."""

from __future__ import annotations

from collections import defaultdict
from itertools import accumulate, pairwise
from typing import TYPE_CHECKING

from matchmaker.plan.arithmetic.bounds import high, low
from matchmaker.plan.arithmetic.breaches import MINIMUMS
from matchmaker.plan.arithmetic.saturation import counted as line_counts
from matchmaker.plan.posing.layout import group_of
from matchmaker.plan.posing.problem import PAIR_COST, SECOND_HELPING

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from matchmaker.plan.posing.problem import Candidate, LineGoal
    from matchmaker.plan.program.model import Model
    from matchmaker.plan.program.program import Terms


def add_line(model: Model, goal: LineGoal) -> None:
    """Add what a line counts, in full to its need and at a quarter beyond, and its minimums."""
    candidates = model.layout.candidates
    places = [place for place, one in enumerate(candidates) if one.line == goal.line]
    lowest = min(0.0, sum(min(0.0, candidates[place].value) for place in places))
    first = model.column(lowest, goal.chicks_wanted, whole=False)
    second = model.column(0, goal.chicks_wanted, whole=False)
    worth: Terms = {model.x[place]: -candidates[place].value for place in places}
    model.at_most({first: 1.0, second: 1.0} | worth, goal.banked)
    pairs = model.count(model.taken(places), len(places))
    model.numbers.append(pairs)
    model.value |= {first: goal.importance, second: goal.importance * SECOND_HELPING}
    counted: Terms = {first: 1.0, second: SECOND_HELPING}
    if not model.lean:
        own = [candidates[place] for place in places]
        for slope, start in lines_over(most_by_pairs(own, goal, model.layout.stints)):
            model.at_most(counted | {pairs: -slope}, start)
    if goal.cocks_min or not model.lean:
        _add_serving(model, goal, places, counted)
    _add_minimums(model, goal, places)
    if goal.sire_share_max is not None:
        _add_sire_share(model, goal.sire_share_max, places, pairs)


def add_total(model: Model) -> None:
    """Count all pairs in one whole column that bears their cost.

    Where lines have all they need, the value depends on this number alone: a search that may
    branch on it proves its plan at once, one that may not tries thousands of equal plans.
    """
    total = model.count(dict.fromkeys(model.numbers, 1.0), len(model.x))
    if model.problem.moves is None:
        model.value |= {total: -PAIR_COST}
    model.total = total


def most_by_pairs(
    candidates: Sequence[Candidate], goal: LineGoal, stints: Mapping[str, int]
) -> list[float]:
    """What 0, 1, 2 … pairs can count at most: so many hens, each in her best pair of a stint."""
    best: dict[tuple[str, int], float] = {}
    for one in candidates:
        key = (one.hen, stints[one.turn])
        best[key] = max(one.value, best.get(key, one.value))
    worths = accumulate(sorted(best.values(), reverse=True), initial=0.0)
    return [line_counts(goal, worth) for worth in worths]


def lines_over(counted: Sequence[float]) -> Iterator[tuple[float, float]]:
    """Yield the lines (slope, value at 0) whose least value is a concave bound between its steps.

    They make a number count whole and spare the search most of its work.
    """
    last: float | None = None
    for number, (here, following) in enumerate(pairwise(counted)):
        slope = following - here
        if slope != last:
            yield slope, here - slope * number
        last = slope


def _add_serving(model: Model, goal: LineGoal, places: Sequence[int], counted: Terms) -> None:
    """Say which cocks serve the line; bound what it counts by their number; keep its minimum."""
    by_cock = model.layout.by_cock(places)
    if not by_cock:
        if goal.cocks_min:
            model.at_least({}, goal.cocks_min)
        return
    number = model.column(0, len(by_cock), whole=True)
    serving: Terms = {number: -1.0}
    for cock, own in by_cock.items():
        serves = model.column(0, 1, whole=True)
        serving[serves] = 1.0
        most = sum(_most_hens(model, cock, own).values())
        model.at_most(model.taken(own) | {serves: -float(most)}, 0)
        model.at_most({serves: 1.0} | _pens_of_line(model, cock, own), 0)
        if goal.cocks_min:
            model.at_most({serves: 1.0} | model.taken(own, -1.0), 0)
    model.exactly(serving, 0)
    if goal.cocks_min:
        model.at_least({number: 1.0}, goal.cocks_min)
    most_by_cocks = () if model.lean else _most_by_cocks(model, goal, by_cock)
    for slope, start in lines_over(most_by_cocks):
        model.at_most(counted | {number: -slope}, start)


def _pens_of_line(model: Model, cock: str, own: Sequence[int]) -> Terms:
    """Less the pens of a cock in which hens of these candidates may live, as terms."""
    groups = dict.fromkeys(group_of(model.layout.candidates[place]) for place in own)
    terms: Terms = {}
    for group in groups:
        terms |= model.pens_for(cock, group)
    return terms


def _most_hens(model: Model, cock: str, own: Sequence[int]) -> dict[int, int]:
    """Most hens of these candidates that one cock can have in each stint."""
    layout = model.layout
    limit = layout.limits[cock]
    hens: dict[int, set[str]] = defaultdict(set)
    for place in own:
        one = layout.candidates[place]
        hens[layout.stints[one.turn]].add(one.hen)
    most: dict[int, int] = {}
    for stint, ladies in hens.items():
        sizes = sorted(
            (
                slot.hens_max
                for slot in layout.slots[cock]
                if layout.stints[slot.turn] == stint
                for _ in range(slot.pens_max)
            ),
            reverse=True,
        )
        most[stint] = min(limit.hens_max, sum(sizes[: limit.pens_max]), len(ladies))
    return most


def _most_by_cocks(
    model: Model, goal: LineGoal, by_cock: Mapping[str, Sequence[int]]
) -> list[float]:
    """What 0, 1, 2 … cocks can count for a line at most: the best cocks, each with his best hens.

    Nor can so many cocks beat the best hens of the line, as many as they can serve.
    """
    best: dict[tuple[str, int], float] = {}
    worths, sizes = [], []
    for cock, own in by_cock.items():
        values: dict[int, dict[str, float]] = defaultdict(dict)
        for place in own:
            one = model.layout.candidates[place]
            stint = model.layout.stints[one.turn]
            values[stint][one.hen] = max(one.value, values[stint].get(one.hen, 0.0))
            best[one.hen, stint] = max(one.value, best.get((one.hen, stint), 0.0))
        most = _most_hens(model, cock, own)
        sizes.append(sum(most.values()))
        worths.append(
            sum(sum(sorted(values[at].values(), reverse=True)[:size]) for at, size in most.items())
        )
    by_hens = list(accumulate(sorted(best.values(), reverse=True), initial=0.0))
    by_worth = accumulate(sorted(worths, reverse=True), initial=0.0)
    served = accumulate(sorted(sizes, reverse=True), initial=0)
    return [
        line_counts(goal, min(worth, by_hens[min(hens, len(best))]))
        for worth, hens in zip(by_worth, served, strict=True)
    ]


def _add_minimums(model: Model, goal: LineGoal, places: list[int]) -> None:
    if goal.hens_min:
        model.at_least(different_hens(model, places), goal.hens_min)
    for field in MINIMUMS:
        least = getattr(goal, f"{field}_min")
        if least:
            candidates = model.layout.candidates
            chicks: Terms = {model.x[at]: getattr(candidates[at], field) for at in places}
            model.at_least(chicks, low(least))


def different_hens(model: Model, places: Sequence[int]) -> Terms:
    """Return the number of hens among these pairs as terms: one in several turns counts once."""
    terms: Terms = {}
    for own in model.layout.by_hen(places).values():
        if len(model.layout.at_once(own)) == 1:
            terms |= model.taken(own)
            continue
        used = model.column(0, 1, whole=False)
        model.at_most({used: 1.0} | model.taken(own, -1.0), 0)
        terms[used] = 1.0
    return terms


def _add_sire_share(model: Model, share: float, places: list[int], pairs: int) -> None:
    """Each cock's pairs of a line are at most his share of the line's."""
    for own in model.layout.by_cock(places).values():
        model.at_most(model.taken(own) | {pairs: -share}, high(0.0))
