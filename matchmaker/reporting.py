"""All that the page of a season shows, worked out together."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.explain.prices import pair_costs
from matchmaker.plan.season_plan import plan_season
from matchmaker.rebalance.spares import precautions
from matchmaker.season.guide import season_guide

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matchmaker.explain.prices import Cost
    from matchmaker.pairs.table import Key, PairTable
    from matchmaker.plan.season_plan import SeasonPlan
    from matchmaker.plan.watch import Watch
    from matchmaker.rebalance.spares import Precautions
    from matchmaker.season.guide import SeasonGuide


@dataclass(frozen=True, kw_only=True)
class SeasonReport:
    """A season's plan with all that is told of it.

    ``plan`` is the best plan; ``guide`` holds the pens that stand (those of the moves, else of
    the written plan, else of the best plan) with their dates, eggs and chicks; ``care`` is what
    the loss of each cock would mean. ``costs`` is what each allowed pair would cost the plan,
    ``None`` where the kinship of the parents as a group has a limit or a price.
    """

    plan: SeasonPlan
    guide: SeasonGuide
    care: Precautions
    costs: Mapping[Key, Cost] | None

    @property
    def table(self) -> PairTable:
        """All pairs, judged."""
        return self.plan.table


def season_report(table: PairTable, *, watch: Watch | None = None) -> SeasonReport:
    """Work out all that the page of a season shows.

    Raises
    ------
    NoPlanError
        If no plan satisfies the rules and wishes.
    SolverStoppedError
        If time ran out before any plan was found.
    """
    plan = plan_season(table, watch=watch)
    return SeasonReport(
        plan=plan,
        guide=season_guide(table, watch=watch),
        care=precautions(plan, watch=watch),
        costs=pair_costs(plan, watch=watch),
    )
