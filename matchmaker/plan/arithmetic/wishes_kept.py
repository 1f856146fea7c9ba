"""Whether a plan does what a demand asks."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.plan.posing.problem import (
    BirdInPen,
    BirdNotInPen,
    BirdUsed,
    HensApart,
    HensTogether,
    PairTogether,
)

if TYPE_CHECKING:
    from collections.abc import Iterable

    from matchmaker.plan.arithmetic.result import PlannedPen
    from matchmaker.plan.posing.problem import Demand


def is_met(
    demand: Demand,
    pens: tuple[PlannedPen, ...],
    turns: Iterable[Iterable[str]] = (("",),),
) -> bool:
    """Return whether a plan does what a demand asks, given which turns overlap.

    A pair, a pen and a use are asked for in any turn, a pen not wanted in none. Two hens together
    share their pen in every turn; two hens apart are never with the same cock at once.
    """
    match demand:
        case PairTogether():
            return demand.cock in _cocks_of(demand.hen, pens)
        case BirdInPen() | BirdNotInPen():
            inside = any(pen == demand.pen for pen, _ in _pens_of(demand.bird, pens))
            return inside is isinstance(demand, BirdInPen)
        case HensTogether():
            return _pens_of(demand.first, pens) == _pens_of(demand.second, pens)
        case HensApart():
            return all(_are_apart(demand, pens, frozenset(together)) for together in turns)
        case BirdUsed():
            return bool(_pens_of(demand.bird, pens))


def _are_apart(demand: HensApart, pens: tuple[PlannedPen, ...], together: frozenset[str]) -> bool:
    at_once = tuple(pen for pen in pens if pen.turn in together)
    return not _cocks_of(demand.first, at_once) & _cocks_of(demand.second, at_once)


def _hens(pen: PlannedPen) -> set[str]:
    return {pair.hen for pair in pen.pairs}


def _pens_of(bird: str, pens: tuple[PlannedPen, ...]) -> set[tuple[str, str]]:
    """Each pen with its turn."""
    return {(pen.pen, pen.turn) for pen in pens if bird == pen.cock or bird in _hens(pen)}


def _cocks_of(hen: str, pens: tuple[PlannedPen, ...]) -> set[str]:
    return {pen.cock for pen in pens if hen in _hens(pen)}
