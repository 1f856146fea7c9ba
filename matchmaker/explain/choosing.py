"""What it would take for a pair to be chosen: the least change of one number, tried by solving.

With a number changed, each plan is worth something else. The plan with the pair and the best plan
without it are compared by arithmetic first; where the first comes out ahead, the best plan without
the pair is found anew under the changed number, and so on, until nothing without it is as good.
Then one step less is tried, to be sure that it is not enough.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final, TypeAlias

from matchmaker import tolerance
from matchmaker.errors import NoPlanError
from matchmaker.explain.levers import Rivals, value_levers
from matchmaker.explain.room_levers import room_levers
from matchmaker.plan.best import best_plan
from matchmaker.plan.forced import plan_with
from matchmaker.plan.verify import evaluate, line_total

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.explain.forced import Forced, Posed
    from matchmaker.explain.levers import Lever
    from matchmaker.pairs.pair import Pair
    from matchmaker.plan.problem import PlanProblem
    from matchmaker.plan.result import PlannedPen, Solution

MOST_ROUNDS: Final = 6
"""Rivals that are found for a pair before a lever is given up."""

LOST: Final = float("-inf")

EDGE: Final = tolerance.OBJECTIVE
"""Values closer than this are equal."""


Plan: TypeAlias = "tuple[PlannedPen, ...]"


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """A number changed by the least that makes every best plan hold the pair."""

    lever: Lever
    steps: int

    @property
    def number(self) -> float:
        """The number it takes."""
        return self.lever.number(self.steps)


@dataclass(frozen=True, slots=True, kw_only=True)
class Choosing:
    """How a pair that is not chosen might be.

    ``tie`` says that a plan with it is as good as the best. ``changes`` are those of one number
    after which no plan without the pair is as good, each the least of its kind; ``tried`` are all
    numbers that were tried.
    """

    tie: bool
    changes: tuple[Change, ...] = ()
    tried: tuple[Lever, ...] = ()


def what_would_choose(season: Posed, pair: Pair, forced: Forced) -> Choosing:
    """Find for each number that bears on a pair the least change that has the pair chosen."""
    if forced.loss is None:
        return Choosing(tie=False)
    if abs(forced.loss) < tolerance.OBJECTIVE:
        return Choosing(tie=True)
    if forced.loss < 0:
        return Choosing(tie=False)
    levers: tuple[Lever, ...] = (
        *room_levers(season, pair),
        *value_levers(season.table, pair, _rivals(season, forced)),
    )
    contest = Contest(season=season, pair=pair, with_it=forced.pens)
    changes = (_least_change(contest, lever) for lever in levers)
    return Choosing(tie=False, changes=tuple(one for one in changes if one), tried=levers)


def _rivals(season: Posed, forced: Forced) -> Rivals:
    """Hens of the best plan who are not in the one with the pair, and lines with less in it."""
    stays = {pair.hen for pen in forced.pens for pair in pen.pairs}
    pairs = [pair for pen in season.best.pens for pair in pen.pairs]
    had = {total.line: total.counted for total in season.best.lines}
    goals = season.problem.lines
    then = [pair for pen in forced.pens for pair in pen.pairs]
    has = {goal.line: line_total(goal, then).counted for goal in goals}
    return Rivals(
        hens=tuple(sorted({pair.hen for pair in pairs} - stays)),
        lines=tuple(line for line in sorted(had) if has[line] < had[line] - EDGE),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Contest:
    """A pair against all plans without it; ``with_it`` is the best plan that holds it now."""

    season: Posed
    pair: Pair
    with_it: Plan

    def worth_at(self, lever: Lever, step: int, plans: Sequence[Plan]) -> list[float]:
        """What plans are worth with a number changed; one that breaks a rule then is lost."""
        only = {(p.hen, p.cock, p.row) for plan in plans for pen in plan for p in pen.pairs}
        problem = lever.problem_at(self.season, step, only)
        return [value_of_plan(problem, plan) for plan in plans]


def value_of_plan(problem: PlanProblem, plan: Plan) -> float:
    """The value of the same pairs in the same pens under another problem."""
    by_key = {one.key: one for one in problem.candidates}
    pens = tuple(replace(pen, pairs=tuple(by_key[pair.key] for pair in pen.pairs)) for pen in plan)
    score = evaluate(problem, pens)
    return LOST if score.broken else score.value


def _least_change(contest: Contest, lever: Lever) -> Change | None:
    if not lever.moves_values:
        return Change(lever=lever, steps=1) if _enough(contest, lever, 1) else None
    with_it, rival = contest.with_it, contest.season.best.pens
    low = 0
    for _ in range(MOST_ROUNDS):
        step = _first_ahead(contest, lever, (with_it, rival), low)
        if step is None:
            return None
        problem = lever.problem_at(contest.season, step)
        best = _best_without(contest, problem)
        if best is None or value_of_plan(problem, with_it) > best.proof.bound + EDGE:
            return Change(lever=lever, steps=_less(contest, lever, step))
        with_it, rival, low = _best_with(contest, problem, best), best.pens, step - 1
    return None


def _first_ahead(contest: Contest, lever: Lever, plans: tuple[Plan, Plan], low: int) -> int | None:
    """The first step above ``low`` at which the first plan is worth more, found by halving."""

    def ahead(step: int) -> bool:
        first, second = contest.worth_at(lever, step, plans)
        return first > second + EDGE

    high = lever.steps
    if high <= low or not ahead(high):
        return None
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if ahead(middle) else (middle, high)
    return high


def _less(contest: Contest, lever: Lever, step: int) -> int:
    """The least number of steps that is enough, going down from one that is."""
    while step > 1 and _enough(contest, lever, step - 1):
        step -= 1
    return step


def _enough(contest: Contest, lever: Lever, step: int) -> bool:
    problem = lever.problem_at(contest.season, step)
    best = _best_without(contest, problem)
    if best is None:
        return True
    with_it = _best_with(contest, problem, best)
    return value_of_plan(problem, with_it) > best.proof.bound + EDGE


def _best_without(contest: Contest, problem: PlanProblem) -> Solution | None:
    """The best plan without the pair, in whatever turn."""
    key = contest.pair.key
    others = tuple(one for one in problem.candidates if (one.hen, one.cock, one.row) != key)
    try:
        return best_plan(replace(problem, candidates=others), stages=False)
    except NoPlanError:
        return None


def _best_with(contest: Contest, problem: PlanProblem, rival: Solution) -> Plan:
    """The best plan with the pair, in the turn in which it is worth most."""
    key = contest.pair.key
    own = [one for one in problem.candidates if (one.hen, one.cock, one.row) == key]
    found = [plan_with(problem, rival, one) for one in own]
    return max(found, key=lambda one: one.proof.best_value).pens
