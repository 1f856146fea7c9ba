"""The plan, of all that are nearly best, that keeps most of a plan written down before.

A small edit of the tables must not turn the pens over: coarse scores make many plans almost
equal, and which of them is best by a hair changes with every score.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from matchmaker import tolerance
from matchmaker.plan.arithmetic.result import Outcome
from matchmaker.plan.arithmetic.verify import evaluate, verify
from matchmaker.plan.nearly_best.near_model import as_solved, least_value, near_model
from matchmaker.plan.posing.standing import with_standing
from matchmaker.plan.searching.best import best_plan
from matchmaker.plan.searching.stages import Clock, settle_pens, standing_pens
from matchmaker.plan.solvers.engine import choose_solver

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.plan.arithmetic.result import Solution
    from matchmaker.plan.nearly_best.near_model import NearModel
    from matchmaker.plan.posing.problem import PlanProblem
    from matchmaker.plan.program.model import Model
    from matchmaker.plan.program.program import Amounts, Terms
    from matchmaker.tables.records import PlanRecord

NEAREST: Final = 0.005
"""Part of the best value that keeping pairs may cost unless told otherwise."""

WORTH_NODES: Final = 100
"""Nodes of the search for the better birds among plans alike in all else."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NearPlan:
    """The plan that keeps most of a given one; ``problem`` is what it solves.

    ``given`` counts the pairs of hen and cock of the given plan, ``possible`` those of them that
    are still allowed, ``kept`` those that stay, ``pens_kept`` the cocks' pens that stay. ``loss``
    is what that gives up of the best value, ``most_loss`` what it was allowed to. ``proved`` says
    that no plan within that keeps more pairs.
    """

    problem: PlanProblem
    solution: Solution
    given: int
    possible: int
    kept: int
    pens_kept: int
    loss: float
    most_loss: float
    proved: bool


def plan_near(
    problem: PlanProblem,
    rows: Sequence[PlanRecord],
    *,
    within: float = NEAREST,
) -> NearPlan:
    """Return the plan near the best that keeps most pairs of a given plan.

    Of the plans that lose at most ``within`` (a part of 1) of the best value the one with most
    pairs of hen and cock as in ``rows``; of these one in which most cocks keep their pens; of
    these the one worth most. Each of these steps is solved to the end.

    Raises
    ------
    NoPlanError
        If no plan satisfies the problem, with the names of what clashes.
    """
    name = choose_solver(None)
    problem = with_standing(problem, [(row.pen, row.cock, row.hen) for row in rows])
    best = best_plan(problem, stages=False)
    problem = as_solved(problem, best)
    near = near_model(problem, least_value(problem, best, within), name)
    near.model.program.values = near.start_at(best.pens)
    proved = _hold_most(near, _kept_pairs(near.model))
    _hold_most(near, standing_pens(near.model))
    _hold_value(near)
    pens = settle_pens(near.model, Clock(name, None))
    score = evaluate(problem, pens)
    solution = replace(best, pens=pens, lines=score.lines, value=score.value)
    verify(problem, solution)
    given = {(row.hen, row.cock) for row in rows}
    return NearPlan(
        problem=problem,
        solution=solution,
        given=len(given),
        possible=len({(one.hen, one.cock) for one in problem.candidates if one.kept}),
        kept=len(given & {(pair.hen, pair.cock) for pen in pens for pair in pen.pairs}),
        pens_kept=len({(pen.pen, pen.cock) for pen in pens} & set(problem.standing_pens)),
        loss=max(0.0, best.proof.best_value - score.value),
        most_loss=within * abs(best.proof.best_value),
        proved=proved and best.outcome is Outcome.OPTIMAL,
    )


def _kept_pairs(model: Model) -> Terms:
    """Columns that count the pairs kept, each hen with each cock once, whatever row or turn."""
    places: dict[tuple[str, str], list[int]] = {}
    for place, one in enumerate(model.layout.candidates):
        if one.kept:
            places.setdefault((one.hen, one.cock), []).append(place)
    terms: Terms = {}
    for own in places.values():
        if len(own) == 1 or len(model.problem.turns) == 1:
            terms |= model.taken(own)
            continue
        keeps = model.column(0, 1, whole=False)
        model.at_most({keeps: 1.0} | model.taken(own, -1.0), 0)
        terms[keeps] = 1.0
    return terms


def _hold_most(near: NearModel, terms: Terms) -> bool:
    """Find the plan with most of what is counted and hold that number; say if it is proved."""
    if not terms:
        return True
    model = near.model
    number = model.count(terms, len(terms))
    end = near.solve({number: 1.0}, start=_with_number(model, terms))
    model.program.lower[number] = round(model.program.value_of(number))
    return end is not None and end.outcome is Outcome.OPTIMAL


def _with_number(model: Model, terms: Terms) -> Amounts | None:
    """The plan in hand with the columns added since: none kept where that is not counted yet."""
    values = model.program.values
    if values is None:
        return None
    full = np.zeros(model.program.width)
    full[: len(values)] = values
    full[-1] = sum(full[column] for column in terms)
    return full


def _hold_value(near: NearModel) -> None:
    """Find the plan worth most; of equal ones that whose pairs are worth more in full."""
    model = near.model
    near.solve(near.net, start=model.program.values)
    model.at_least(near.net, model.amount(near.net) - tolerance.OBJECTIVE / 2)
    importance = {goal.line: goal.importance for goal in model.problem.lines}
    worth: Terms = {
        model.x[place]: importance.get(one.line, 0.0) * one.value
        for place, one in enumerate(model.layout.candidates)
    }
    near.solve(worth, start=model.program.values, nodes=WORTH_NODES)
