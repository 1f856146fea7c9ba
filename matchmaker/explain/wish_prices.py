"""What each written wish costs: the best plan without it, less the best plan with it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.explain.forced import posed_alike
from matchmaker.explain.worth import INFINITE, Worth, difference, known
from matchmaker.pairs.rules import Broken, not_here
from matchmaker.plan.no_plan.repair import Act, Edit, repaired

if TYPE_CHECKING:
    from collections.abc import Collection

    from matchmaker.explain.patience import Patience
    from matchmaker.plan.season.season_plan import SeasonPlan
    from matchmaker.tables.records import WishRecord


@dataclass(frozen=True, slots=True, kw_only=True)
class WishPrice:
    """One written wish and its price in wanted chicks.

    A wish to allow a pair may bring something, its price being below 0; any other costs what it
    costs, or nothing. ``idle`` are the rules because of which it has no effect.
    """

    wish: WishRecord
    price: Worth
    idle: tuple[Broken, ...] = ()


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
    idle = _idle(plan, record)
    if idle:
        return WishPrice(wish=record, price=known(0.0), idle=idle)
    file = plan.table.study.flock.tables.place("wishes")["file"]
    gone = Edit(act=Act.DELETE, file=file, table="wishes", row=record.row, about=record.bird)
    without = posed_alike(repaired(plan.table, [gone]), plan.problem)
    price = difference(plan.problem, plan.solution, without, patience).turned()
    allows = record.wish == "allow"
    return WishPrice(
        wish=record,
        price=price.within(-INFINITE, 0.0) if allows else price.within(0.0, INFINITE),
    )


def _idle(plan: SeasonPlan, record: WishRecord) -> tuple[Broken, ...]:
    """Why a wish to allow a pair lets nothing in: a bird is gone, or chicks would die."""
    if record.wish != "allow":
        return ()
    pair = (record.bird, record.partner)
    entries = plan.table.by_birds.get(pair) or plan.table.by_birds.get(pair[::-1])
    if entries is None:
        birds = plan.table.study.flock.by_band()
        gone = (birds[band] for band in pair if band in birds and not birds[band].alive_here)
        return tuple(not_here(bird) for bird in gone)
    if any(one.allowed for one in entries):
        return ()
    return tuple(broken for one in entries for broken in one.broken if broken.final)
