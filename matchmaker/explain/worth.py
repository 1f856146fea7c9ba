"""What a solved plan is worth, whichever way its limits ask for, and plans that lack something."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from matchmaker import tolerance
from matchmaker.errors import NoPlanError, SolverStoppedError
from matchmaker.explain.patience import Patience
from matchmaker.plan.each_pair.from_plan import as_known, best_from
from matchmaker.plan.posing.problem import (
    BirdInPen,
    BirdUsed,
    HensApart,
    HensTogether,
    PairTogether,
)

if TYPE_CHECKING:
    from collections.abc import Iterable

    from matchmaker.plan.arithmetic.result import Solution
    from matchmaker.plan.posing.problem import Candidate, Demand, PlanProblem


@dataclass(frozen=True, slots=True, kw_only=True)
class Worth:
    """A difference between two best plans, in wanted chicks: not less than ``low``, nor more.

    ``high`` is ``None`` where no second plan was found in the time there was; ``impossible`` says
    that there is none.
    """

    low: float
    high: float | None
    impossible: bool = False

    @property
    def amount(self) -> float | None:
        """The difference, as far as it is known for certain."""
        return self.high if self.proved else None

    @property
    def proved(self) -> bool:
        """Whether the difference is known, or that there is no second plan."""
        return self.impossible or self.low == self.high

    @property
    def ranked(self) -> float:
        """The amount for ordering: no plan at all comes first."""
        if self.impossible:
            return float("inf")
        return self.low if self.high is None else self.high

    def within(self, low: float, high: float) -> Worth:
        """The same, where it cannot be beyond these for another reason."""
        if self.impossible:
            return self
        most = high if self.high is None else max(low, min(self.high, high))
        return Worth(low=min(max(self.low, low), most), high=None if most == INFINITE else most)

    def turned(self) -> Worth:
        """The same difference seen from the other plan."""
        if self.impossible:
            return self
        low = -INFINITE if self.high is None else 0.0 - self.high
        return Worth(low=low, high=None if self.low == -INFINITE else 0.0 - self.low)


INFINITE: Final = float("inf")

NO_PLAN: Final = Worth(low=INFINITE, high=None, impossible=True)
"""There is no second plan."""


def known(amount: float) -> Worth:
    """A difference that is known."""
    return Worth(low=amount, high=amount)


def best_worth(problem: PlanProblem, solution: Solution) -> float:
    """The best value, less the price of the parents' kinship where there is one."""
    return as_known(problem, solution).value


def difference(
    problem: PlanProblem,
    best: Solution,
    other: PlanProblem,
    patience: Patience | None = None,
    *,
    parts: int = 1,
) -> Worth:
    """By how much the best plan of another problem is worth less than that of this one.

    The search may take one of so many ``parts`` of the time that is left.
    """
    first = as_known(problem, best)
    try:
        solved = best_from(other, best.pens, watch=(patience or Patience()).watch(parts))
    except NoPlanError:
        return NO_PLAN
    except SolverStoppedError:
        return Worth(low=-INFINITE, high=None)
    second = as_known(other, solved)
    low, high = first.value - second.bound, first.bound - second.value
    if high - low < tolerance.OBJECTIVE:
        return known(0.0 if abs(high) < tolerance.OBJECTIVE else high)
    return Worth(low=low, high=high)


def without_bird(problem: PlanProblem, band: str) -> PlanProblem:
    """The problem as if a bird were not there, nor any wish about it."""
    left = tuple(one for one in problem.candidates if band not in (one.hen, one.cock))
    demands = tuple(one for one in problem.demands if band not in _named(one))
    return replace(problem, candidates=left, demands=demands)


def _named(demand: Demand) -> tuple[str, ...]:
    """The birds that a wish is about."""
    match demand:
        case PairTogether():
            return (demand.hen, demand.cock)
        case HensTogether() | HensApart():
            return (demand.first, demand.second)
        case _:
            return (demand.bird,)


def without_line(problem: PlanProblem, line: str) -> PlanProblem:
    """The problem as if no chicks were bred for a line, and it asked for none.

    Wishes that only its pairs could meet fall away with them.
    """
    goals = tuple(goal.without_minimums() if goal.line == line else goal for goal in problem.lines)
    left = tuple(one for one in problem.candidates if one.line != line)
    demands = tuple(one for one in problem.demands if _can_be_met(one, left))
    return replace(problem, candidates=left, lines=goals, demands=demands)


def _can_be_met(demand: Demand, candidates: Iterable[Candidate]) -> bool:
    """Whether the birds that a wish wants in the plan still have a pair."""
    match demand:
        case PairTogether():
            return any((demand.hen, demand.cock) == (one.hen, one.cock) for one in candidates)
        case BirdUsed() | BirdInPen():
            return any(demand.bird in (one.hen, one.cock) for one in candidates)
        case _:
            return True
