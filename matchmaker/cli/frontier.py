"""The frontier of plans, and one plan of it."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

from matchmaker import verbs
from matchmaker.cli.watching import watched_frontier
from matchmaker.report.frontier import frontier_document, frontier_sheet, print_frontier

if TYPE_CHECKING:
    from matchmaker.cli.choices import PlanChoice
    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.season.season_frontier import SeasonFrontier
    from matchmaker.plan.season.season_plan import SeasonPlan


def run_frontier(table: PairTable, choice: PlanChoice, to_take: str) -> None:
    """Print the frontier; ``to_take`` is the command that takes one of its plans.

    Raises
    ------
    NoPlanError
        If no plan satisfies the rules and wishes.
    """
    season = _found(table, choice)
    found = season.frontier
    choice.output.show(
        lambda console: print_frontier(console, found, season.problem.group, to_take),
        lambda: frontier_document(table, found),
        lambda: frontier_sheet(found),
    )


def plan_at(table: PairTable, choice: PlanChoice, number: int) -> SeasonPlan:
    """The plan of the frontier that is asked for by its number.

    Raises
    ------
    UsageError
        If the frontier has no such plan.
    NoPlanError
        If no plan satisfies the rules and wishes.
    """
    return _found(table, choice).plan(number)


def _found(table: PairTable, choice: PlanChoice) -> SeasonFrontier:
    with watched_frontier() as (watch, found):
        if choice.time_limit is not None:
            watch.until = time.perf_counter() + choice.time_limit
        return verbs.frontier(table, matings=choice.matings, watch=watch, found=found)
