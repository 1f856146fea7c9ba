"""What each pair costs: the value of the best plan less that of the best plan with the pair."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker import tolerance
from matchmaker.errors import MatchmakerError
from matchmaker.plan.arithmetic.verify import evaluate
from matchmaker.plan.each_pair.from_plan import Known
from matchmaker.plan.each_pair.regret_search import MOST_DIVES, Table
from matchmaker.plan.nearly_best.near_model import minds_kinship
from matchmaker.plan.posing.layout import ProblemError
from matchmaker.plan.solvers.watch import Watch, listening

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.plan.arithmetic.result import Solution
    from matchmaker.plan.posing.problem import Candidate, PlanProblem


class KinshipPriceError(MatchmakerError):
    """Prices of pairs were asked for where the kinship of the parents counts in the plan."""

    def __init__(self) -> None:
        super().__init__(
            "with a limit or a price on the kinship of the parents the prices of all pairs are not "
            "worked out: ask for one pair at a time, or leave the kinship out"
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Price:
    """What it costs to hold a pair, in wanted chicks: proved bounds.

    No plan with the pair loses less than ``at_least`` against the best plan; one is known that
    loses ``at_most``, which is ``None`` where none is known. ``impossible`` says that it is proved
    that no plan holds the pair; ``at_least`` is then infinite.
    """

    candidate: Candidate
    at_least: float
    at_most: float | None
    impossible: bool = False

    @property
    def is_exact(self) -> bool:
        """Whether nothing is left open."""
        return self.impossible or self.at_least == self.at_most


def price_pairs(
    problem: PlanProblem,
    best: Solution,
    pairs: Sequence[Candidate] | None = None,
    *,
    exact: bool = False,
    dives: int = MOST_DIVES,
    watch: Watch | None = None,
) -> tuple[Price, ...]:
    """Return the price of each pair: of all candidates in order, or of ``pairs``.

    Parameters
    ----------
    problem
        The problem.
    best
        Its plan. Where it is not proved best the true best value lies between it and its bound;
        prices are then given against whichever of the two keeps them true.
    pairs
        Candidates of the problem.
    exact
        Whether to search until every price is known (if ``best`` is proved best).
    dives
        How many plans to look for at most besides those one step from ``best``: with more of them
        ``at_most`` is lower, and takes longer to find.
    watch
        May end it early: prices not yet known then stay open, and true.

    Raises
    ------
    ProblemError
        If a pair is not a candidate of the problem.
    KinshipPriceError
        If the kinship of the group of parents has a limit or a price.
    """
    if minds_kinship(problem):
        raise KinshipPriceError
    watch = watch or Watch()
    with listening(watch):
        table = Table(problem, best, watch)
        wanted = list(range(len(table.candidates))) if pairs is None else _places(table, pairs)
        table.bound_all(wanted, dives=dives)
        if exact:
            table.close_all(wanted)
    return tuple(_price(table, best, place) for place in wanted)


def known_plan(
    problem: PlanProblem, best: Solution, pair: Candidate, *, bound: float | None = None
) -> Known | None:
    """The best plan with a pair that is found in little time; ``None`` where none is found so.

    ``best`` may be that of the problem without the pair, ``bound`` is what no plan of the problem
    is worth more than, where that is known.

    Raises
    ------
    ProblemError
        If the pair is not a candidate of the problem.
    """
    table = Table(problem, best, Watch())
    table.bound[:] = math.inf if bound is None else bound
    (place,) = _places(table, [pair])
    table.bound_all([place])
    value = float(table.pool.value[place])
    for pens in reversed(table.pool.plans):
        holds = any(one == pair for pen in pens for one in pen.pairs)
        if holds and abs(evaluate(problem, pens).value - value) <= tolerance.OBJECTIVE:
            return Known(pens=pens, value=value, bound=max(value, float(table.bound[place])))
    return None


def _places(table: Table, pairs: Sequence[Candidate]) -> list[int]:
    found = []
    for one in pairs:
        place = table.pool.place(one)
        if place is None:
            msg = f"not a candidate: {one.hen} with {one.cock} ({one.row})"
            raise ProblemError(msg)
        found.append(place)
    return found


def _price(table: Table, best: Solution, place: int) -> Price:
    candidate = table.candidates[place]
    bound, value = float(table.bound[place]), float(table.pool.value[place])
    if bound == -math.inf:
        return Price(candidate=candidate, at_least=math.inf, at_most=None, impossible=True)
    if bound <= value + tolerance.OBJECTIVE:
        bound = value
    least = max(0.0, max(best.proof.best_value, table.pool.best) - bound)
    if value == -math.inf:
        return Price(candidate=candidate, at_least=_clean(least), at_most=None)
    most = max(least, best.proof.bound - value)
    if most == math.inf:
        return Price(candidate=candidate, at_least=_clean(least), at_most=None)
    if most <= least + tolerance.OBJECTIVE:
        most = least
    return Price(candidate=candidate, at_least=_clean(least), at_most=_clean(most))


def _clean(amount: float) -> float:
    """An amount without rounding noise."""
    return 0.0 if amount <= tolerance.OBJECTIVE else round(amount, 9)
