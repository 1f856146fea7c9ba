"""A response where none keeps every minimum: the same problem without what cannot be kept."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from matchmaker.plan.posing.problem import PlanProblem


def without_minimums(problem: PlanProblem) -> PlanProblem:
    """The problem without the minimums of lines.

    A flock that has lost its cock needs an answer today, even if what it asked for in January can
    no longer be had; what is not kept is named with the answer.
    """
    return replace(problem, lines=tuple(goal.without_minimums() for goal in problem.lines))


def without_wishes(problem: PlanProblem) -> PlanProblem:
    """The problem without the minimums of lines, nor wishes."""
    return replace(without_minimums(problem), demands=())


def without_limits(problem: PlanProblem) -> PlanProblem:
    """The problem without minimums, wishes and limits, which pens that stand may break already.

    The limits are those on sires, inbreeding, carriers, chicks and eggs.
    """
    limits = replace(
        problem.limits,
        mean_inbreeding_max=None,
        sire_share_max=None,
        chicks_max=None,
        eggs_max=None,
    )
    free = without_wishes(problem)
    lines = tuple(replace(goal, sire_share_max=None) for goal in free.lines)
    return replace(free, lines=lines, limits=limits, carriers=())
