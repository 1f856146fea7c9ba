"""The plan again with one pair in it, or without it: what that costs, and the pens it leads to."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

from matchmaker import tolerance
from matchmaker.errors import NoPlanError, SolverStoppedError
from matchmaker.explain.patience import Patience
from matchmaker.explain.worth import Worth, known
from matchmaker.plan.each_pair.forced import plan_with, plan_without
from matchmaker.plan.each_pair.from_plan import Known, as_known, best_from
from matchmaker.plan.each_pair.regret import known_plan
from matchmaker.plan.nearly_best.near_model import minds_kinship
from matchmaker.plan.no_plan.repair import Act, Edit
from matchmaker.plan.posing.pose import pose_problem

if TYPE_CHECKING:
    from collections.abc import Callable

    from matchmaker.pairs.pair import Pair
    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.arithmetic.result import PlannedPen, Solution
    from matchmaker.plan.posing.problem import Candidate, PlanProblem
    from matchmaker.plan.season.season_plan import SeasonPlan

WHY = "your reason"
"""What stands for the reason of a wish that the keeper may add."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Forced:
    """The best plan with a pair in it, or without it.

    ``loss`` is by how much the best value is then less, in wanted chicks; below 0 where the pair
    is only rejected by a rule, and the plan would be better without that rule. Where no plan has
    the pair ``pens`` are empty and ``conflict`` names what stands against it; it names nothing
    where the search ended before it had a plan. Where the best such plan is not proved
    ``least_loss`` is what is sure to be lost against that plan, which ``best_proved`` says is the
    best.
    """

    value: float | None
    loss: float | None
    least_loss: float | None = None
    best_proved: bool = True
    pens: tuple[PlannedPen, ...] = ()
    conflict: tuple[str, ...] = ()

    @property
    def proved(self) -> bool:
        """Whether no such plan is better, nor any plan than the best; or that there is none."""
        if self.loss is None:
            return bool(self.conflict)
        return self.best_proved and self.loss == self.least_loss


@dataclass(frozen=True, slots=True, kw_only=True)
class Posed:
    """A flock judged, its problem, and its best plan: what a pair is forced into.

    ``bound`` is what no plan of the problem is worth more than, where that is known: with rules
    waived for a pair there may be better plans than the best. ``today`` is what the plan is worth
    that the keeper has: losses are counted from it.
    """

    table: PairTable
    problem: PlanProblem
    best: Solution
    today: Known
    bound: float | None = None


def posed(plan: SeasonPlan) -> Posed:
    """The season as it is planned."""
    best = plan.solution
    today = as_known(plan.problem, best)
    return Posed(
        table=plan.table, problem=plan.problem, best=best, today=today, bound=best.proof.bound
    )


def waived(plan: SeasonPlan, table: PairTable) -> Posed:
    """The season with the rules waived for one pair, judged so; the plan is as it is."""
    today = as_known(plan.problem, plan.solution)
    problem = posed_alike(table, plan.problem)
    return Posed(table=table, problem=problem, best=plan.solution, today=today)


def allowing_row(table: PairTable, hen: str, cock: str) -> Edit:
    """The row of wishes.csv that allows a pair in spite of the rules."""
    return Edit(
        act=Act.ADD,
        file=table.study.flock.tables.place("wishes")["file"],
        table="wishes",
        about=f"{hen} {cock}",
        cells=(("bird", hen), ("with", cock), ("wish", "allow"), ("why", WHY)),
    )


def is_wish_to_allow(edits: tuple[Edit, ...]) -> bool:
    """Whether edits are one row that allows a pair, and nothing else."""
    return len(edits) == 1 and ("wish", "allow") in edits[0].cells


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


def best_after(
    plan: SeasonPlan, table: PairTable, patience: Patience | None = None
) -> Posed | None:
    """The season of a table that is judged anew, with its best plan; ``None`` where it has none.

    Where patience ends before that is proved, the best known by then.
    """
    problem = posed_alike(table, plan.problem)
    if not problem.candidates:
        return None
    watch = (patience or Patience()).watch()
    try:
        best = best_from(problem, plan.solution.pens, watch=watch)
    except (NoPlanError, SolverStoppedError):
        return None
    today = as_known(plan.problem, plan.solution)
    return Posed(table=table, problem=problem, best=best, today=today, bound=best.proof.bound)


def gained(season: Posed) -> Worth:
    """By how much the best plan of a season is worth more than the one there is now."""
    best, today = as_known(season.problem, season.best), season.today
    low, high = best.value - today.bound, best.bound - today.value
    return known(exact(high)) if high - low < tolerance.OBJECTIVE else Worth(low=low, high=high)


def with_pair(season: Posed, pair: Pair, patience: Patience | None = None) -> Forced:
    """The best plan that holds a pair, of those the one most like the best plan.

    A pair of several turns may stand in any of them. Where patience ends before the proof, the
    best plan known by then stands for it.
    """
    patience = patience or Patience()
    quick = partial(known_plan, season.problem, season.best, bound=season.bound)

    def solve(candidate: Candidate) -> Known | None:
        known = quick(candidate) if patience.over and not minds_kinship(season.problem) else None
        if known is not None:
            return known
        try:
            found = as_known(
                season.problem,
                plan_with(
                    season.problem,
                    season.best,
                    candidate,
                    bound=season.bound,
                    watch=patience.watch(),
                ),
            )
        except SolverStoppedError:
            return None if minds_kinship(season.problem) else quick(candidate)
        if found.value == found.bound or minds_kinship(season.problem):
            return found
        other = quick(candidate)
        if other is None:
            return found
        better = max(found, other, key=lambda one: one.value)
        return replace(better, bound=max(better.value, min(found.bound, other.bound)))

    return _best_of(season, pair, solve)


def without_pair(
    season: Posed, pair: Pair, patience: Patience | None = None, *, parts: int = 1
) -> Forced:
    """The best plan that does not hold a pair, in whatever turn it could.

    Where the pair has one turn only, of equal plans the one most like the best plan. The search may
    take one of so many ``parts`` of the time that is left.
    """
    watch = (patience or Patience()).watch(parts)
    own = _own(season.problem, pair)
    rest = replace(
        season.problem,
        candidates=tuple(one for one in season.problem.candidates if one not in own),
    )
    try:
        if len(own) == 1:
            solution = plan_without(season.problem, season.best, own[0], watch=watch)
        else:
            solution = best_from(rest, season.best.pens, watch=watch)
    except NoPlanError as error:
        return Forced(value=None, loss=None, conflict=error.conflict)
    except SolverStoppedError:
        return Forced(value=None, loss=None)
    return _forced(season, as_known(rest, solution))


def carried(season: Posed, forced: Forced, after: Posed) -> Forced | None:
    """What a plan found in one season says of another that allows all it allows, and more.

    The plan is one of the other season too, and what no plan there is worth more than bounds it;
    ``None`` where the other season counts otherwise or forbids anything new. It takes no search.
    """
    problem = season.problem
    alike = replace(after.problem, candidates=problem.candidates, demands=problem.demands)
    widened = (
        alike == problem
        and set(problem.candidates) <= set(after.problem.candidates)
        and set(after.problem.demands) <= set(problem.demands)
    )
    if forced.value is None or after.bound is None or not widened:
        return None
    best = Known(value=forced.value, bound=max(forced.value, after.bound), pens=forced.pens)
    return _forced(after, best)


def _own(problem: PlanProblem, pair: Pair) -> list[Candidate]:
    """The pair in each turn that it could mate in."""
    return [one for one in problem.candidates if (one.hen, one.cock, one.row) == pair.key]


def _best_of(season: Posed, pair: Pair, solve: Callable[[Candidate], Known | None]) -> Forced:
    """The best over the turns of a pair; a turn whose search was ended may hold a better plan."""
    found: list[Known | None] = []
    conflict: tuple[str, ...] = ()
    for candidate in _own(season.problem, pair):
        try:
            found.append(solve(candidate))
        except NoPlanError as error:
            conflict = error.conflict
    known = [one for one in found if one is not None]
    if not known:
        return Forced(value=None, loss=None, conflict=() if found else conflict)
    best = max(known, key=lambda one: one.value)
    open_ = float("inf") if season.bound is None else season.bound
    bound = max(open_ if one is None else one.bound for one in found)
    return _forced(season, replace(best, bound=max(best.value, bound)))


def _forced(season: Posed, known: Known) -> Forced:
    """A plan with a pair, or without it, against the plan there is now."""
    today = season.today
    loss, least = exact(today.value - known.value), exact(today.value - known.bound)
    return Forced(
        value=known.value,
        loss=loss,
        least_loss=loss if loss - least < tolerance.OBJECTIVE else least,
        best_proved=today.proved,
        pens=known.pens,
    )


def exact(amount: float) -> float:
    """An amount without what sums leave over of nothing."""
    return 0.0 if abs(amount) < tolerance.OBJECTIVE else amount
