"""A response as orders that can be carried out: which bird goes where on which day."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from matchmaker.rebalance.diary import Stay
from matchmaker.rebalance.schedule import are_together, opening

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping

    from matchmaker.plan.arithmetic.result import PlannedPen
    from matchmaker.rebalance.posing import Posed
    from matchmaker.rebalance.responding import Answer
    from matchmaker.rebalance.standing import Standing


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """One bird moved: out of ``leaves`` on ``out_on``, into ``enters`` on ``in_on``.

    ``leaves`` is ``None`` for a bird that is in no pen, ``enters`` for one that must only leave.
    ``mate`` is the cock that a hen joins. From ``eggs_from`` on her eggs are kept as his.
    """

    bird: str
    is_cock: bool
    leaves: str | None = None
    out_on: dt.date | None = None
    enters: str | None = None
    in_on: dt.date | None = None
    mate: str | None = None
    eggs_from: dt.date | None = None

    @property
    def day(self) -> dt.date:
        """The day on which there is first something to do."""
        return min(day for day in (self.out_on, self.in_on) if day is not None)


def orders_of(standing: Standing, posed: Posed, answer: Answer) -> tuple[Order, ...]:
    """The birds to be moved, in the order of the days on which they go; cocks first."""
    pens = {pen.pen: pen for pen in answer.pens}
    found = [_order(standing, posed, pens, bird, pen) for bird, pen in answer.moved]
    left = {(one.bird, one.leaves) for one in found}
    found += [
        Order(bird=bird, is_cock=bird in standing.diary.cocks, leaves=pen, out_on=standing.day)
        for bird, pen in sorted(standing.evicted.items())
        if (bird, pen) not in left
    ]
    return tuple(sorted(found, key=lambda one: (one.day, not one.is_cock)))


def _order(
    standing: Standing, posed: Posed, pens: Mapping[str, PlannedPen], bird: str, pen: str | None
) -> Order:
    """The order for one bird that goes into a pen, or that must only leave its own."""
    is_cock = bird in standing.diary.cocks
    home = _home_left(standing, pens, bird) if is_cock else standing.stands(bird)
    order = Order(bird=bird, is_cock=is_cock, leaves=home, enters=pen)
    if pen is None:
        return replace(order, out_on=_displaced(standing, pens, home or ""))
    if is_cock:
        day = _cock_in(standing, posed, pens[pen])
        leaves = standing.day if home in standing.closed else day
        return replace(order, in_on=day, out_on=None if home is None else leaves)
    mate = pens[pen].cock
    begins = posed.entries[bird, mate, pens[pen].turn]
    out_on = None
    if home is not None:
        along = are_together(standing, bird, mate)
        out_on = _leaves(standing, pens, home, begins.hen_in, along=along)
    return replace(order, out_on=out_on, in_on=begins.hen_in, mate=mate, eggs_from=begins.eggs_from)


def _home_left(standing: Standing, pens: Mapping[str, PlannedPen], cock: str) -> str | None:
    """The pen that a cock leaves for another: one of his in which he is no longer."""
    homes = [*standing.homes(cock), *filter(None, (standing.evicted.get(cock),))]
    left = [home for home in homes if home not in pens or pens[home].cock != cock]
    return min(left, default=None)


def _cock_in(standing: Standing, posed: Posed, pen: PlannedPen) -> dt.date:
    """The day on which a cock comes into a pen, as his hens' candidates were posed."""
    key = (pen.cock, pen.turn)
    days_in = {e.cock_in for (_, his, at), e in posed.entries.items() if (his, at) == key}
    return min(days_in, default=opening(standing, pen.cock, pen.pen).cock_in)


def _displaced(standing: Standing, pens: Mapping[str, PlannedPen], pen: str) -> dt.date:
    """The day on which a hen must be out of a pen whose new cock she is not for."""
    return standing.day if pen not in pens else opening(standing, pens[pen].cock, pen).cock_in


def _leaves(
    standing: Standing,
    pens: Mapping[str, PlannedPen],
    home: str,
    enters: dt.date,
    *,
    along: bool,
) -> dt.date:
    """The day on which a hen leaves her old pen: today if a cock is there, or when one comes.

    One that goes along with her cock stays with him until he goes.
    """
    if along and home not in standing.closed:
        return enters
    if standing.cock_in(home) is not None or home in standing.closed:
        return standing.day
    return min(enters, _displaced(standing, pens, home)) if home in pens else enters


def stays_after(
    standing: Standing, posed: Posed, answer: Answer
) -> tuple[tuple[Stay, ...], tuple[Stay, ...]]:
    """The stays as the orders make them: those that end or go on, and those that begin."""
    orders = orders_of(standing, posed, answer)
    out = {(one.bird, one.leaves): one.out_on for one in orders if one.out_on is not None}
    going = tuple(
        replace(stay, last=out.get((stay.bird, stay.pen))) if stay.last is None else stay
        for stay in standing.diary.stays
    )
    begun = tuple(
        Stay(bird=one.bird, pen=one.enters, first=one.in_on)
        for one in orders
        if one.enters is not None
    )
    return going, begun
