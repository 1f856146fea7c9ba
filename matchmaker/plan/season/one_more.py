"""What one more place, pen or cock, or a little more of a limit, would add to the best plan.

Each is solved again: prices from a relaxed program (duals) say nothing sure of whole birds.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from matchmaker import tolerance
from matchmaker.errors import NoPlanError
from matchmaker.plan.arithmetic.result import Outcome
from matchmaker.plan.nearly_best.near_model import minds_kinship, net_value
from matchmaker.plan.program.model import build
from matchmaker.plan.searching.best import best_plan
from matchmaker.plan.searching.solve import solve_plan
from matchmaker.plan.season.variants import Added, Variant, variants
from matchmaker.plan.solvers.engine import choose_solver, reduced_costs

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matchmaker.plan.posing.problem import PlanProblem
    from matchmaker.plan.season.season_plan import SeasonPlan

__all__ = ["Added", "Gain", "one_more"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Gain:
    """What one thing more would add, in wanted chicks, and what the plan is then worth.

    ``proved`` says that both plans are the best; else the gain is that of the plans found.
    ``facts`` are those of its variant.
    """

    what: Added
    subject: str
    gain: float
    value: float
    proved: bool = True
    facts: Mapping[str, Any] = field(default_factory=dict)


def one_more(plan: SeasonPlan) -> tuple[Gain, ...]:
    """Return what each thing more would add to a plan, the greatest gain first.

    One more place in each kind of pen used, a pen like the biggest, a cock like the best of each
    carrier line, an unrelated cock of the recurrent breed, 0.01 more of each cap on kinship and
    inbreeding, ten more chicks of rearing room and eggs of incubator where these are limited, a
    week more of eggs. With kinship at a price, gains are in value less that price.
    """
    best = _best(plan)
    gains = [_gain(variant, plan, best) for variant in variants(plan)]
    return tuple(sorted(gains, key=lambda one: (-round(one.gain, 3), one.what, one.subject)))


def _best(plan: SeasonPlan) -> float:
    """The best value, less the price of kinship where there is one."""
    if minds_kinship(plan.problem):
        return net_value(plan.problem, plan.solution.pens)
    return plan.solution.proof.best_value


def _gain(variant: Variant, plan: SeasonPlan, best: float) -> Gain:
    value, proved = best, plan.solution.outcome is Outcome.OPTIMAL
    if not (proved and _adds_nothing(variant.problem, plan.problem, best)):
        value, too = _solved(variant.problem, best)
        proved = proved and too
    return Gain(
        what=variant.what,
        subject=variant.subject,
        gain=max(0.0, value - best),
        value=max(value, best),
        proved=proved,
        facts=variant.facts,
    )


def _adds_nothing(problem: PlanProblem, before: PlanProblem, best: float) -> bool:
    """Whether no better plan can be: nothing has changed, or not even parts of birds would help."""
    if problem == before:
        return True
    if choose_solver(None) != "highs" or minds_kinship(problem):
        return False
    bound, _ = reduced_costs(build(problem).program)
    return bound <= best + tolerance.OBJECTIVE


def _solved(problem: PlanProblem, best: float) -> tuple[float, bool]:
    """The value of the best plan, and whether that is proved."""
    try:
        if minds_kinship(problem):
            solution = best_plan(problem)
            value = net_value(problem, solution.pens)
        else:
            solution = solve_plan(problem, stages=False)
            value = solution.proof.best_value
    except NoPlanError:
        return best, True
    return value, solution.outcome is Outcome.OPTIMAL
