"""A problem with another standing plan: which pairs and pens of it are counted as kept."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Collection

    from matchmaker.plan.posing.problem import PlanProblem


def with_standing(problem: PlanProblem, held: Collection[tuple[str, str, str]]) -> PlanProblem:
    """Return the problem with these as its standing plan: (pen, cock, hen) each."""
    together = {(hen, cock) for _, cock, hen in held}
    return replace(
        problem,
        candidates=tuple(
            replace(one, kept=(one.hen, one.cock) in together) for one in problem.candidates
        ),
        standing_pens=tuple(sorted({(pen, cock) for pen, cock, _ in held})),
    )
