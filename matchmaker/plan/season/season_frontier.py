"""The frontier of a season: its plans from the best value to the least kinship of the parents."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.errors import UsageError
from matchmaker.plan.posing.pedigree_terms import kinship_terms
from matchmaker.plan.searching.frontier import frontier
from matchmaker.plan.season.season_plan import pose_allowed, season_plan_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.posing.problem import PlanProblem
    from matchmaker.plan.searching.frontier import Frontier, FrontierPoint
    from matchmaker.plan.season.season_plan import SeasonPlan
    from matchmaker.plan.solvers.watch import Watch


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonFrontier:
    """The frontier with the pairs and the problem it was found for."""

    table: PairTable
    problem: PlanProblem
    frontier: Frontier

    @property
    def points(self) -> tuple[FrontierPoint, ...]:
        """The plans in short, the best value first."""
        return self.frontier.points

    def plan(self, number: int) -> SeasonPlan:
        """Return the plan of this number, with everything people ask of a plan.

        Raises
        ------
        UsageError
            If the frontier has no plan of that number.
        """
        for point in self.points:
            if point.number == number:
                return season_plan_of(self.table, self.problem, point.solution)
        raise UsageError(
            f"the frontier has plans 1 to {len(self.points)}, none numbered {number}; "
            "matchmaker plan --frontier lists them"
        )


def season_frontier(
    table: PairTable,
    *,
    matings: int | None = None,
    watch: Watch | None = None,
    found: Callable[[int], None] | None = None,
) -> SeasonFrontier:
    """Find the frontier of a season.

    Parameters
    ----------
    table
        All pairs, judged.
    matings
        The exact number of pairs, if it is given; else that of the best plan.
    watch, found
        As in ``frontier``.

    Raises
    ------
    NoPlanError
        If no plan satisfies the rules and wishes.
    SolverStoppedError
        If time ran out before the first plan was found.
    """
    problem = pose_allowed(table, matings=matings)
    birds = sorted({bird for one in problem.candidates for bird in (one.hen, one.cock)})
    terms = kinship_terms(table.study, birds)
    plans = frontier(problem, terms, watch=watch, found=found)
    return SeasonFrontier(table=table, problem=problem, frontier=plans)
