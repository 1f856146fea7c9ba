"""The frontier of plans, and one plan of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.cli.output import show
from matchmaker.errors import NoPlanError, UsageError
from matchmaker.plan.frontier import frontier
from matchmaker.plan.pedigree_terms import kinship_terms
from matchmaker.plan.season_plan import NO_PAIR, pose_season, season_plan_of
from matchmaker.report.frontier import frontier_document, frontier_sheet, print_frontier

if TYPE_CHECKING:
    from matchmaker.cli.choices import PlanChoice
    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.frontier import Frontier
    from matchmaker.plan.problem import PlanProblem
    from matchmaker.plan.season_plan import SeasonPlan


def run_frontier(table: PairTable, choice: PlanChoice) -> None:
    """Print the frontier.

    Raises
    ------
    NoPlanError
        If no plan satisfies the rules and wishes.
    """
    _, found = _frontier(table, choice)
    show(
        lambda console: print_frontier(console, found),
        document=(lambda: frontier_document(table, found)) if choice.json else None,
        sheet=(choice.csv, lambda: frontier_sheet(found)),
        force=choice.force,
    )


def plan_at(table: PairTable, choice: PlanChoice) -> SeasonPlan:
    """The plan of the frontier that is asked for by its number.

    Raises
    ------
    UsageError
        If the frontier has no such plan.
    NoPlanError
        If no plan satisfies the rules and wishes.
    """
    problem, found = _frontier(table, choice)
    chosen = [point for point in found.points if point.number == choice.at]
    if not chosen:
        raise UsageError(
            f"the frontier has plans 1 to {len(found.points)}; matchmaker plan --frontier lists "
            "them"
        )
    return season_plan_of(table, problem, chosen[0].solution)


def _frontier(table: PairTable, choice: PlanChoice) -> tuple[PlanProblem, Frontier]:
    problem = pose_season(table, matings=choice.matings)
    if not problem.candidates:
        raise NoPlanError((NO_PAIR,))
    birds = sorted({bird for one in problem.candidates for bird in (one.hen, one.cock)})
    return problem, frontier(problem, kinship_terms(table.study, birds))
