"""The plan that is worth most if one cock may be lost: the best of many good plans."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from matchmaker.errors import NoPlanError, SolverStoppedError
from matchmaker.plan.arithmetic.verify import evaluate
from matchmaker.plan.nearly_best.alternatives import alternatives
from matchmaker.plan.nearly_best.near import NEAR
from matchmaker.plan.searching.best import best_plan
from matchmaker.plan.season.season_plan import season_plan_of
from matchmaker.rebalance.chances import loss_chances
from matchmaker.rebalance.losses import closeness
from matchmaker.rebalance.spares import Precautions, precautions

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.plan.arithmetic.result import PlannedPen, Solution
    from matchmaker.plan.posing.problem import PlanProblem
    from matchmaker.plan.season.season_plan import SeasonPlan
    from matchmaker.plan.solvers.watch import Watch

ALTERNATIVES: Final = 3
"""Plans nearly as good as the best that are tried."""

PATIENCE: Final = 2.0
"""Seconds for each search of a plan to be tried: it only has to be a good one."""

WEIGHTS: Final = (1.0, 4.0)
"""Each cock's pairs are made to count less by so many times the chance that he is lost."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tried:
    """A plan that was tried: its value if nothing is lost, and that to be expected.

    ``largest`` is the greatest loss that one cock's death would bring, and ``cock`` that cock.
    """

    plan: SeasonPlan
    precautions: Precautions
    value: float
    expected: float
    largest: float
    cock: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class RobustChoice:
    """The plan chosen, the best plan it is measured against, and how many were tried.

    ``costs`` is what the chosen plan is worth less if nothing is lost, ``gains`` what it is to be
    expected worth more; ``at_most`` is by how much another plan could be expected to be worth more.
    """

    chosen: Tried
    best: Tried
    tried: int
    at_most: float

    @property
    def costs(self) -> float:
        """Wanted chicks given up if nothing is lost."""
        return self.best.value - self.chosen.value

    @property
    def gains(self) -> float:
        """Wanted chicks to be expected more."""
        return self.chosen.expected - self.best.expected


def robust_plan(best: SeasonPlan, *, watch: Watch | None = None) -> RobustChoice:
    """The plan of the highest value to be expected if one cock at most is lost, by his chance.

    Tried are the best plan, plans nearly as good and as different as can be, plans in which cocks
    that are likely to be lost count less, and plans with two cocks at least for each line. None can
    be expected to be worth more than the best plan is if nothing is lost: that bounds what is left.
    Where that is no more than losses are known to, no other plan is tried.
    """
    first = _tried(best, watch)
    found = [first]
    bound = max(best.solution.proof.bound, first.value)
    enough = closeness(first.value)
    for pens in _others(best, bound - first.expected) if bound - first.expected > enough else ():
        if watch is not None and watch.over:
            break
        score = evaluate(best.problem, pens)
        if score.broken or any(pens == one.plan.solution.pens for one in found):
            continue
        solution = replace(best.solution, pens=pens, lines=score.lines, value=score.value)
        plan = season_plan_of(best.table, best.problem, solution)
        if score.value <= max(one.expected for one in found):
            continue  # even without a loss it is worth less than another with losses
        tried = _tried(plan, watch)
        if tried.precautions.left_out:
            break  # losses that were not worked out are not none
        found.append(tried)
    chosen = max(found, key=lambda one: (one.expected, one.value))
    return RobustChoice(
        chosen=chosen, best=first, tried=len(found), at_most=max(0.0, bound - chosen.expected)
    )


def _tried(plan: SeasonPlan, watch: Watch | None) -> Tried:
    care = precautions(plan, watch=watch)
    worst = max(care.losses, key=lambda one: one.loss, default=None)
    return Tried(
        plan=plan,
        precautions=care,
        value=plan.solution.value,
        expected=plan.solution.value - care.expected,
        largest=0.0 if worst is None else worst.loss,
        cock=None if worst is None else worst.cock,
    )


def _others(best: SeasonPlan, loss: float) -> Iterator[tuple[PlannedPen, ...]]:
    """Plans that may bear a loss better; only those worth less by ``loss`` at most can."""
    problem = best.problem
    for weight in WEIGHTS:
        yield from _pens_of(problem, _weighed(best, weight))
    yield from _pens_of(problem, _two_cocks(problem))
    within = min(NEAR, loss / max(1.0, best.solution.value))
    near = alternatives(problem, best.solution, ALTERNATIVES, within=within)
    yield from (one.pens for one in near)


def _pens_of(problem: PlanProblem, changed: PlanProblem) -> Iterator[tuple[PlannedPen, ...]]:
    """The best plan of a changed problem, with the pairs as they truly count."""
    try:
        solution: Solution = best_plan(changed, stages=False, time_limit=PATIENCE)
    except (NoPlanError, SolverStoppedError):
        return
    true = {one.key: one for one in problem.candidates}
    yield tuple(
        replace(pen, pairs=tuple(true[pair.key] for pair in pen.pairs)) for pen in solution.pens
    )


def _weighed(best: SeasonPlan, weight: float) -> PlanProblem:
    """The problem with each cock's pairs counting less the likelier he is lost."""
    problem = best.problem
    cocks = {one.cock for one in problem.candidates}
    chances = loss_chances(best.table.study.flock, cocks)
    return replace(
        problem,
        candidates=tuple(
            replace(one, value=round(one.value * max(0.0, 1 - weight * chances[one.cock]), 3))
            for one in problem.candidates
        ),
    )


def _two_cocks(problem: PlanProblem) -> PlanProblem:
    """The problem with two cocks at least for each line that can have them."""
    cocks = Counter(line for line, _ in {(one.line, one.cock) for one in problem.candidates})
    return replace(
        problem,
        lines=tuple(
            replace(goal, cocks_min=max(goal.cocks_min, min(2, cocks[goal.line])))
            for goal in problem.lines
        ),
    )
