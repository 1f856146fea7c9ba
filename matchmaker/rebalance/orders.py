"""A response as orders that can be carried out: which bird goes where on which day."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from matchmaker.rebalance.diary import Stay
from matchmaker.rebalance.schedule import are_together, opening

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping

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
    leaves: str | None
    out_on: dt.date | None
    enters: str | None
    in_on: dt.date | None
    mate: str | None = None
    eggs_from: dt.date | None = None

    @property
    def day(self) -> dt.date:
        """The day on which there is first something to do."""
        return min(day for day in (self.out_on, self.in_on) if day is not None)


def orders_of(standing: Standing, posed: Posed, answer: Answer) -> tuple[Order, ...]:
    """The birds to be moved, in the order of the days on which they go; cocks first."""
    cock_of = {pen.pen: pen.cock for pen in answer.pens}
    found = []
    for bird, pen in answer.moved:
        is_cock = bird in standing.diary.cocks
        home = standing.pen_of.get(bird) or standing.evicted.get(bird)
        if pen is None:
            out = _displaced(standing, cock_of, home or "")
            found.append(
                Order(bird=bird, is_cock=False, leaves=home, out_on=out, enters=None, in_on=None)
            )
            continue
        if is_cock:
            day = _cock_in(standing, posed, bird, pen)
            out_on = None if home is None else standing.day if home in standing.closed else day
            found.append(
                Order(bird=bird, is_cock=True, leaves=home, out_on=out_on, enters=pen, in_on=day)
            )
            continue
        begins = posed.entries[bird, cock_of[pen], pen]
        along = are_together(standing, bird, cock_of[pen])
        found.append(
            Order(
                bird=bird,
                is_cock=False,
                leaves=home,
                out_on=None
                if home is None
                else _leaves(standing, cock_of, home, begins.hen_in, along=along),
                enters=pen,
                in_on=begins.hen_in,
                mate=cock_of[pen],
                eggs_from=begins.eggs_from,
            )
        )
    placed = {one.bird for one in found}
    found += [
        Order(
            bird=bird,
            is_cock=bird in standing.diary.cocks,
            leaves=pen,
            out_on=standing.day,
            enters=None,
            in_on=None,
        )
        for bird, pen in sorted(standing.evicted.items())
        if bird not in placed
    ]
    return tuple(sorted(found, key=lambda one: (one.day, not one.is_cock)))


def _cock_in(standing: Standing, posed: Posed, cock: str, pen: str) -> dt.date:
    """The day on which a cock comes into a pen, as his hens' candidates were posed."""
    days_in = {e.cock_in for (_, his, at), e in posed.entries.items() if (his, at) == (cock, pen)}
    return min(days_in, default=opening(standing, cock, pen).cock_in)


def _displaced(standing: Standing, cock_of: Mapping[str, str], pen: str) -> dt.date:
    """The day on which a hen must be out of a pen whose new cock she is not for."""
    cock = cock_of.get(pen)
    return standing.day if cock is None else opening(standing, cock, pen).cock_in


def _leaves(
    standing: Standing, cock_of: Mapping[str, str], home: str, enters: dt.date, *, along: bool
) -> dt.date:
    """The day on which a hen leaves her old pen: today if a cock is there, or when one comes.

    One that goes along with her cock stays with him until he goes.
    """
    if along and home not in standing.closed:
        return enters
    if standing.cock_in(home) is not None or home in standing.closed:
        return standing.day
    return min(enters, _displaced(standing, cock_of, home)) if home in cock_of else enters


def stays_after(
    standing: Standing, posed: Posed, answer: Answer
) -> tuple[tuple[Stay, ...], tuple[Stay, ...]]:
    """The stays as the orders make them: those that end or go on, and those that begin."""
    orders = orders_of(standing, posed, answer)
    out = {one.bird: one.out_on for one in orders if one.out_on is not None}
    going = tuple(
        replace(stay, last=out.get(stay.bird)) if stay.last is None else stay
        for stay in standing.diary.stays
    )
    begun = tuple(
        Stay(bird=one.bird, pen=one.enters, first=one.in_on)
        for one in orders
        if one.enters is not None
    )
    return going, begun
