"""The plan again with one pair in it, or without it: what that costs, and the pens it leads to."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from matchmaker import tolerance
from matchmaker.errors import NoPlanError, SolverStoppedError
from matchmaker.explain.patience import Patience
from matchmaker.explain.worth import best_worth
from matchmaker.plan.best import best_plan
from matchmaker.plan.forced import plan_with, plan_without
from matchmaker.plan.pose import pose_problem
from matchmaker.plan.repair import Act, Edit, repaired
from matchmaker.plan.result import Outcome

if TYPE_CHECKING:
    from collections.abc import Callable

    from matchmaker.pairs.pair import Pair
    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.problem import Candidate, PlanProblem
    from matchmaker.plan.result import PlannedPen, Solution
    from matchmaker.plan.season_plan import SeasonPlan

WHY = "your reason"
"""What stands for the reason of a wish that the keeper may add."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Forced:
    """The best plan with a pair in it, or without it.

    ``loss`` is by how much the best value is then less, in wanted chicks; below 0 where the pair
    is only rejected by a rule, and the plan would be better without that rule. Where no plan has
    the pair ``pens`` are empty and ``conflict`` names what stands against it; it names nothing
    where the search ended before it had a plan. Where the best such plan is not proved
    ``least_loss`` is what is sure to be lost.
    """

    value: float | None
    loss: float | None
    least_loss: float | None = None
    pens: tuple[PlannedPen, ...] = ()
    conflict: tuple[str, ...] = ()

    @property
    def proved(self) -> bool:
        """Whether no such plan is better."""
        return self.loss == self.least_loss

    @property
    def possible(self) -> bool:
        """Whether there is such a plan at all."""
        return self.value is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class Posed:
    """A flock judged, its problem, and its best plan: what a pair is forced into.

    ``bound`` is what no plan of the problem is worth more than, where that is known: with rules
    waived for a pair there may be better plans than the best.
    """

    table: PairTable
    problem: PlanProblem
    best: Solution
    bound: float | None = None


def posed(plan: SeasonPlan) -> Posed:
    """The season as it is planned."""
    best = plan.solution
    return Posed(table=plan.table, problem=plan.problem, best=best, bound=best.proof.bound)


def waived(plan: SeasonPlan, hen: str, cock: str) -> Posed:
    """The season with the rules waived for one pair, as a written wish would; the plan is as it is.

    The pair may still be rejected there: no wish waives that a bird is gone, or that both parents
    carry a lethal.
    """
    table = repaired(plan.table, [allowing_row(plan.table, hen, cock)])
    return Posed(table=table, problem=posed_alike(table, plan.problem), best=plan.solution)


def allowing_row(table: PairTable, hen: str, cock: str) -> Edit:
    """The row of wishes.csv that allows a pair in spite of the rules."""
    return Edit(
        act=Act.ADD,
        file=table.study.flock.tables.place("wishes")["file"],
        table="wishes",
        about=f"{hen} {cock}",
        cells=(("bird", hen), ("with", cock), ("wish", "allow"), ("why", WHY)),
    )


def posed_alike(table: PairTable, like: PlanProblem) -> PlanProblem:
    """The problem of a table, with the standing plan and number of pairs of another problem."""
    stands = {one.key for one in like.candidates if one.kept}
    problem = pose_problem(table)
    return replace(
        problem,
        candidates=tuple(replace(one, kept=one.key in stands) for one in problem.candidates),
        standing_pens=like.standing_pens,
        limits=replace(problem.limits, pairs=like.limits.pairs),
    )


def best_after(plan: SeasonPlan, table: PairTable) -> Posed | None:
    """The season of a table that is judged anew, with its best plan; ``None`` where it has none."""
    problem = posed_alike(table, plan.problem)
    try:
        best = best_plan(problem, stages=False)
    except NoPlanError:
        return None
    return Posed(table=table, problem=problem, best=best, bound=best.proof.bound)


def with_pair(season: Posed, pair: Pair, patience: Patience | None = None) -> Forced:
    """The best plan that holds a pair, of those the one most like the best plan.

    A pair of several turns may stand in any of them.
    """
    patience = patience or Patience()
    bound = season.bound

    def solve(candidate: Candidate) -> Solution:
        return plan_with(
            season.problem, season.best, candidate, bound=bound, watch=patience.watch()
        )

    return _best_of(season, pair, solve)


def without_pair(season: Posed, pair: Pair, patience: Patience | None = None) -> Forced:
    """The best plan that does not hold a pair, of those the one most like the best plan."""
    patience = patience or Patience()

    def solve(candidate: Candidate) -> Solution:
        return plan_without(season.problem, season.best, candidate, watch=patience.watch())

    return _best_of(season, pair, solve)


def _best_of(
    season: Posed,
    pair: Pair,
    solve: Callable[[Candidate], Solution],
) -> Forced:
    found: list[Solution] = []
    conflict: tuple[str, ...] = ()
    unknown = False
    for candidate in season.problem.candidates:
        if (candidate.hen, candidate.cock, candidate.row) != pair.key:
            continue
        try:
            found.append(solve(candidate))
        except NoPlanError as error:
            conflict = error.conflict
        except SolverStoppedError:
            unknown = True
    if not found:
        return Forced(value=None, loss=None, conflict=() if unknown else conflict)
    best = max(found, key=lambda one: best_worth(season.problem, one))
    value = best_worth(season.problem, best)
    loss = exact(best_worth(season.problem, season.best) - value)
    proved = best.outcome is Outcome.OPTIMAL and season.best.outcome is Outcome.OPTIMAL
    most = max(one.proof.bound - one.proof.best_value for one in found)
    return Forced(
        value=value,
        loss=loss,
        least_loss=loss if proved else exact(loss - most),
        pens=best.pens,
    )


def exact(amount: float) -> float:
    """An amount without what sums leave over of nothing."""
    return 0.0 if abs(amount) < tolerance.OBJECTIVE else amount
