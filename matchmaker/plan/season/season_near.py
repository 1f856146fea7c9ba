"""The season's plan that keeps most of one written down before."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.plan.nearly_best.near_keep import plan_near
from matchmaker.plan.season.season_plan import pose_allowed, season_plan_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.nearly_best.near_keep import NearPlan
    from matchmaker.plan.season.season_plan import SeasonPlan
    from matchmaker.tables.records import PlanRecord


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonNear:
    """The plan, and what it keeps of the one given."""

    plan: SeasonPlan
    kept: NearPlan


def season_near(
    table: PairTable, rows: Sequence[PlanRecord], *, matings: int | None = None
) -> SeasonNear:
    """Return the plan near the best that keeps most pairs of a given plan (``plan_near``).

    Raises
    ------
    NoPlanError
        If no plan satisfies the rules and wishes.
    """
    near = plan_near(pose_allowed(table, fresh=True, matings=matings), rows)
    return SeasonNear(plan=season_plan_of(table, near.problem, near.solution), kept=near)
