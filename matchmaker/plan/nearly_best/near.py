"""How many plans are as good as the best, or nearly: counted, or at least so many for certain.

A plan is a set of pairs, each of a hen with a cock in a row and a turn; in which of his pens a
cock has a hen makes no other plan.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker import tolerance
from matchmaker.plan.arithmetic.result import Outcome
from matchmaker.plan.nearly_best.near_count import count_at_least
from matchmaker.plan.nearly_best.near_model import as_solved, least_value, near_model, net_value
from matchmaker.plan.nearly_best.near_walk import Walk
from matchmaker.plan.program.decode import decode
from matchmaker.plan.solvers.engine import choose_solver

if TYPE_CHECKING:
    from collections.abc import Iterable

    from matchmaker.plan.arithmetic.result import Solution
    from matchmaker.plan.posing.problem import Candidate, PlanProblem
    from matchmaker.plan.program.model import Model

NEAR: Final = 0.01
"""A plan that loses no more of the best value than this is nearly as good: the figures it is
counted in (lay, fertility, hatch) are known far less well."""

MOST_LISTED: Final = 300
"""Up to so many plans are counted one by one."""

MOST_SEARCHES: Final = 3
"""So often a plan is searched that no small step reaches; each takes about as long as a plan."""

MOST_NODES: Final = 100
"""Nodes of such a search; if it ends there, the number is no longer exact."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NearEquals:
    """How many plans lose at most ``within`` (a part of 1) of the best value, the best among them.

    Where ``exact`` is not set there are at least ``count``, and there may be more. ``proved`` says
    that what they are measured against is proved to be the best value.
    """

    count: int
    exact: bool
    proved: bool
    within: float

    @property
    def only_one(self) -> bool:
        """Whether the best plan is the only one."""
        return self.exact and self.count == 1


def near_equals(
    problem: PlanProblem,
    solution: Solution,
    *,
    within: float = NEAR,
    most: int = MOST_LISTED,
) -> NearEquals:
    """Count the plans that lose at most ``within`` of the best value.

    Where so many can be reached by exchanging hens of the plan that listing them would never end,
    that number is given, a bound from below (see ``near_count``). Else up to ``most`` are listed:
    what small steps reach from the plan (see ``near_walk``), then what a search finds that may
    take none of the plans listed, and what small steps reach from there; if a search ends without
    a plan, all are listed.
    """
    problem = as_solved(problem, solution)
    least = least_value(problem, solution, within)
    spare = net_value(problem, solution.pens) - least
    count, exact = count_at_least(problem, solution.pens, spare), False
    if count < most:
        walk = Walk(problem=problem, least=least, most=most)
        if spare >= -tolerance.OBJECTIVE:
            walk.start_from(solution.pens)
        exact = _list_all(walk)
        count = len(walk.found) if exact else max(count, len(walk.found), 1)
    proved = solution.outcome is Outcome.OPTIMAL
    return NearEquals(count=count, exact=exact, proved=proved, within=within)


def bar(model: Model, pairs: Iterable[Candidate]) -> None:
    """Allow every plan but the one of these pairs."""
    taken = {pair.key for pair in pairs}
    terms = {
        column: 1.0 if one.key in taken else -1.0
        for one, column in zip(model.layout.candidates, model.x, strict=True)
    }
    model.at_most(terms, len(taken) - 1)


def _list_all(walk: Walk) -> bool:
    """Search for plans that small steps did not reach; say whether there are no more."""
    near = near_model(walk.problem, None, choose_solver(None))
    barred = 0
    for _ in range(MOST_SEARCHES):
        if walk.full:
            return False
        for pens in list(walk.found.values())[barred:]:
            bar(near.model, (pair for pen in pens for pair in pen.pairs))
        barred = len(walk.found)
        end = near.solve(near.net, nodes=MOST_NODES)
        if end is None:
            return False
        if end.outcome is Outcome.NONE or end.bound < walk.least - tolerance.OBJECTIVE:
            return True
        if end.value < walk.least - tolerance.OBJECTIVE:
            return False
        walk.start_from(decode(near.model))
    return False
