"""The best plan of a problem, whichever way its limits ask for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.plan.searching.solve import solve_plan

if TYPE_CHECKING:
    from matchmaker.plan.arithmetic.result import Solution
    from matchmaker.plan.posing.problem import PlanProblem
    from matchmaker.plan.solvers.watch import Watch


def best_plan(
    problem: PlanProblem,
    *,
    time_limit: float | None = None,
    watch: Watch | None = None,
    stages: bool = True,
) -> Solution:
    """Return the best plan; with a limit or a price on the group's kinship, under that.

    Without ``stages`` any of several best plans, which takes less time.

    Raises
    ------
    NoPlanError
        If no plan satisfies the problem.
    SolverStoppedError
        If time ran out before any plan was found.
    """
    if problem.group is None:
        return solve_plan(problem, time_limit=time_limit, watch=watch, stages=stages)
    from matchmaker.plan.searching.kinship_plan import solve_group

    return solve_group(problem, time_limit=time_limit, watch=watch)
