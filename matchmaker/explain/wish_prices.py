"""What each written wish costs: the best plan without it, less the best plan with it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker import tolerance
from matchmaker.explain.forced import best_after
from matchmaker.plan.repair import Act, Edit, repaired
from matchmaker.plan.result import Outcome

if TYPE_CHECKING:
    from collections.abc import Collection

    from matchmaker.plan.season_plan import SeasonPlan
    from matchmaker.tables.records import WishRecord


@dataclass(frozen=True, slots=True, kw_only=True)
class WishPrice:
    """One written wish and its price in wanted chicks.

    A price below 0 is what a wish that allows a pair brings in. ``waives`` are the sentences of
    the rules that the wish sets aside, empty where it sets none aside.
    """

    wish: WishRecord
    price: float | None
    proved: bool


def wish_prices(plan: SeasonPlan, birds: Collection[str] | None = None) -> tuple[WishPrice, ...]:
    """Price the wishes that name one of these birds (all wishes without them), each by itself."""
    records = plan.table.study.flock.tables.wishes
    return tuple(
        _priced(plan, record)
        for record in records
        if birds is None or {record.bird, record.partner} & set(birds)
    )


def _priced(plan: SeasonPlan, record: WishRecord) -> WishPrice:
    file = plan.table.study.flock.tables.place("wishes")["file"]
    gone = Edit(act=Act.DELETE, file=file, table="wishes", row=record.row, about=record.bird)
    after = best_after(plan, repaired(plan.table, [gone]))
    if after is None:
        return WishPrice(wish=record, price=None, proved=True)
    price = after.best.proof.best_value - plan.solution.proof.best_value
    both = (after.best.outcome, plan.solution.outcome)
    return WishPrice(
        wish=record,
        price=0.0 if abs(price) < tolerance.OBJECTIVE else price,
        proved=both == (Outcome.OPTIMAL, Outcome.OPTIMAL),
    )
