"""A plan among the best that keeps most of another one: who really has to move."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.plan.posing.problem import KEEP_BONUS
from matchmaker.plan.posing.standing import with_standing
from matchmaker.plan.program.decode import decode
from matchmaker.plan.program.model import build
from matchmaker.plan.searching.dive import plan_to_start_from
from matchmaker.plan.solvers.engine import choose_solver, run

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.plan.arithmetic.result import PlannedPen
    from matchmaker.plan.posing.problem import PlanProblem
    from matchmaker.plan.program.model import Model

MOST_NODES = 20
"""Nodes of the search once a dive has found a plan to start from: as in the stages of a plan."""


def keep_most(problem: PlanProblem, pens: Sequence[PlannedPen]) -> tuple[PlannedPen, ...]:
    """The pens of the plan whose value and 0.02 for each pair it keeps of ``pens`` are most.

    With HiGHS it is that of a dive, and of a search of ``MOST_NODES`` nodes from there. ``problem``
    must have a plan.
    """
    held = [(pen.pen, pen.cock, pair.hen) for pen in pens for pair in pen.pairs]
    model = build(with_standing(problem, held))
    _prefer_kept(model)
    solver = choose_solver(None)
    start = plan_to_start_from(model) if solver == "highs" else None
    run(model.program, solver, start=start, node_limit=None if start is None else MOST_NODES)
    return decode(model)


def cocks_of(pens: Sequence[PlannedPen]) -> dict[str, str]:
    """Each hen's cock."""
    return {pair.hen: pen.cock for pen in pens for pair in pen.pairs}


def _prefer_kept(model: Model) -> None:
    """Add the bonus for pairs kept to the value; they are counted in one whole column."""
    kept = [place for place, one in enumerate(model.layout.candidates) if one.kept]
    if kept:
        number = model.count(model.taken(kept), len(kept))
        model.maximise(model.value | {number: KEEP_BONUS})
