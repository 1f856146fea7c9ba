"""What a solved plan is worth, whichever way its limits ask for, and plans that lack something."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from matchmaker import tolerance
from matchmaker.errors import NoPlanError, SolverStoppedError
from matchmaker.explain.patience import Patience
from matchmaker.plan.from_plan import best_from
from matchmaker.plan.near_model import minds_kinship, net_value
from matchmaker.plan.problem import HensApart, HensTogether, PairTogether
from matchmaker.plan.result import Outcome

if TYPE_CHECKING:
    from matchmaker.plan.problem import Demand, PlanProblem
    from matchmaker.plan.result import Solution


@dataclass(frozen=True, slots=True, kw_only=True)
class Worth:
    """A difference between two best plans, in wanted chicks.

    ``amount`` is ``None`` where there is no second plan; ``proved`` says that both are the best.
    """

    amount: float | None
    proved: bool

    @property
    def ranked(self) -> float:
        """The amount for ordering: no plan at all comes first."""
        return float("inf") if self.amount is None else self.amount


def best_worth(problem: PlanProblem, solution: Solution) -> float:
    """The best value, less the price of the parents' kinship where there is one."""
    if minds_kinship(problem):
        return net_value(problem, solution.pens)
    return solution.proof.best_value


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
    try:
        solved = best_from(other, best.pens, watch=(patience or Patience()).watch(parts))
    except NoPlanError:
        return Worth(amount=None, proved=True)
    except SolverStoppedError:
        return Worth(amount=None, proved=False)
    amount = best_worth(problem, best) - best_worth(other, solved)
    return Worth(
        amount=0.0 if abs(amount) < tolerance.OBJECTIVE else amount,
        proved=Outcome.OPTIMAL == solved.outcome == best.outcome,
    )


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
    """The problem as if no chicks were bred for a line, and it asked for none."""
    goals = tuple(
        replace(
            goal,
            cocks_min=0,
            hens_min=0,
            wanted_min=0.0,
            wanted_cocks_min=0.0,
            wanted_hens_min=0.0,
            sure_cocks_min=0.0,
            sure_hens_min=0.0,
        )
        if goal.line == line
        else goal
        for goal in problem.lines
    )
    left = tuple(one for one in problem.candidates if one.line != line)
    return replace(problem, candidates=left, lines=goals)
