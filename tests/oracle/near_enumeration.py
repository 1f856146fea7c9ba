"""All plans within some part of the best value, by trying every assignment of hens."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.flock.listing import natural
from matchmaker.plan.arithmetic.result import Outcome, PlannedPen, Proof, Solution
from matchmaker.plan.arithmetic.verify import evaluate
from tests.oracle.plan_enumeration import placements, plans_by_value, value_of

if TYPE_CHECKING:
    from matchmaker.plan.posing.problem import PlanProblem
    from tests.oracle.plan_enumeration import Pairs


def plans_within(problem: PlanProblem, within: float) -> list[Pairs]:
    """Return every plan that loses at most this part of the best value, best first.

    What is lost is net of the price of kinship, the part is of the value without it.
    """
    seen: dict[object, bool] = {}
    found: list[Pairs] = []
    least = -float("inf")
    for plan in plans_by_value(problem):
        if value_of(problem, plan) < least - 1e-6:
            break
        if not placed(problem, plan, seen):
            continue
        if not found:
            gross = evaluate(problem, pens_of(problem, plan)).value
            least = value_of(problem, plan) - within * abs(gross)
        found.append(plan)
    return found


def placed(problem: PlanProblem, plan: Pairs, seen: dict[object, bool]) -> bool:
    """Return whether the pairs fit into the pens; plans of one shape are looked up in ``seen``."""
    shape = tuple(sorted((p.cock, p.row, p.line, p.turn, p.dams_known) for p in plan))
    key: object = plan if problem.demands else shape
    if key not in seen:
        seen[key] = next(placements(problem, plan), None) is not None
    return seen[key]


def pens_of(problem: PlanProblem, plan: Pairs) -> tuple[PlannedPen, ...]:
    """Return one way to put the pairs into pens."""
    held = next(placements(problem, plan))
    return tuple(
        PlannedPen(
            pen=pen,
            cock=pairs[0].cock,
            pairs=tuple(sorted(pairs, key=lambda pair: natural(pair.hen))),
            turn=turn,
        )
        for (pen, turn), pairs in sorted(held.items(), key=lambda item: natural(item[0][0]))
        if pairs
    )


def solution_of(problem: PlanProblem, plan: Pairs) -> Solution:
    """Return a plan as if it had been solved for and proved best."""
    pens = pens_of(problem, plan)
    score = evaluate(problem, pens)
    proof = Proof(
        best_value=score.value,
        bound=score.value,
        gap=0.0,
        solver="highs",
        solver_version="",
        build_seconds=0.0,
        solve_seconds=0.0,
    )
    return Solution(
        outcome=Outcome.OPTIMAL, pens=pens, lines=score.lines, value=score.value, proof=proof
    )
