"""What each written wish costs: the best plan without it, less the best plan with it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.explain.forced import posed_alike
from matchmaker.explain.worth import difference
from matchmaker.plan.repair import Act, Edit, repaired

if TYPE_CHECKING:
    from collections.abc import Collection

    from matchmaker.explain.patience import Patience
    from matchmaker.plan.season_plan import SeasonPlan
    from matchmaker.tables.records import WishRecord


@dataclass(frozen=True, slots=True, kw_only=True)
class WishPrice:
    """One written wish and its price in wanted chicks.

    A price below 0 is what a wish that allows a pair brings in. Where there is none, no plan is
    left without the wish (``proved``), or none was found in the time there was.
    """

    wish: WishRecord
    price: float | None
    proved: bool


def wish_prices(
    plan: SeasonPlan, birds: Collection[str] | None = None, patience: Patience | None = None
) -> tuple[WishPrice, ...]:
    """Price the wishes that name one of these birds (all wishes without them), each by itself."""
    records = plan.table.study.flock.tables.wishes
    return tuple(
        _priced(plan, record, patience)
        for record in records
        if birds is None or {record.bird, record.partner} & set(birds)
    )


def _priced(plan: SeasonPlan, record: WishRecord, patience: Patience | None) -> WishPrice:
    file = plan.table.study.flock.tables.place("wishes")["file"]
    gone = Edit(act=Act.DELETE, file=file, table="wishes", row=record.row, about=record.bird)
    without = posed_alike(repaired(plan.table, [gone]), plan.problem)
    less = difference(plan.problem, plan.solution, without, patience)
    price = None if less.amount is None else 0.0 - less.amount
    return WishPrice(wish=record, price=price, proved=less.proved)
