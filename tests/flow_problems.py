"""Transportation and assignment written as planning problems: hens to cocks, one pen a cock."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.plan.posing.problem import (
    Candidate,
    CockLimit,
    LineGoal,
    PenKind,
    PlanLimits,
    PlanProblem,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence


def transport(
    supplies: Sequence[int],
    demands: Sequence[int],
    values: Mapping[tuple[int, int], float],
    pairs: int | None = None,
) -> PlanProblem:
    """Return the problem of sending single hens from groups of them to cocks with so many places.

    ``values`` is per (group, cock) where a way leads; the line never has enough, so every hen
    counts in full.
    """
    candidates = tuple(
        Candidate(
            hen=f"H{group}-{number:03d}",
            cock=f"C{cock}",
            row="all",
            line="Alder",
            value=value,
            wanted=1.0,
        )
        for (group, cock), value in values.items()
        for number in range(supplies[group])
    )
    return PlanProblem(
        candidates=candidates,
        kinds=(
            PenKind(
                pens=tuple(f"Pen {cock}" for cock in range(len(demands))),
                hens_max=max(demands, default=1),
                hens_min=0,
                line="",
                dam_known=False,
            ),
        ),
        cocks=tuple(
            CockLimit(cock=f"C{cock}", hens_max=places, pens_max=1)
            for cock, places in enumerate(demands)
        ),
        lines=(LineGoal(line="Alder", importance=1.0, chicks_wanted=1e6),),
        limits=PlanLimits(pairs=pairs),
    )


def assignment(costs: Sequence[Sequence[float]], dear: float) -> PlanProblem:
    """Return the problem of giving every row its own column at the least cost.

    A pair is worth ``dear`` less its cost.
    """
    values = {
        (row, column): round(dear - cost, 3)
        for row, costs_of_row in enumerate(costs)
        for column, cost in enumerate(costs_of_row)
    }
    return transport([1] * len(costs), [1] * len(costs[0]), values, pairs=len(costs))
