"""When a hen can join a cock in a pen, and from which day on her eggs are surely his."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.pairs.value import DAYS_TO_FERTILE
from matchmaker.rebalance.clock import days, fertility_after

if TYPE_CHECKING:
    import datetime as dt

    from matchmaker.rebalance.standing import Standing


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """A hen's first day with a cock in a pen, his own, and that of her first egg for him.

    ``mixed`` are days before that on which her eggs are one of two cocks', each as it is fertile:
    (the former one's part, the new one's part). They are 0 where such eggs are not set.
    """

    hen_in: dt.date
    cock_in: dt.date
    eggs_from: dt.date
    mixed: tuple[float, float] = (0.0, 0.0)


def cock_enters(standing: Standing, cock: str, pen: str, *, at_once: bool = False) -> dt.date:
    """The day on which a cock comes into a pen: today, or when it costs the former one's eggs not.

    He who is there already came today, for all that matters here. After another cock he waits
    until a week before the clean-out is over: so long all eggs are surely the former one's, and
    his own first eggs could not count sooner.
    """
    left = standing.left_by_cock(pen)
    if standing.pen_of.get(cock) == pen or left is None or at_once:
        return standing.day
    return max(standing.day, left + days(standing.diary.waits.alone))


def pen_clear(standing: Standing, cock: str, pen: str) -> dt.date:
    """The first day on which no hen that stands in a pen can lay another cock's egg there.

    Today for a pen whose eggs are told apart by hen: there each hen counts by herself.
    """
    if pen in standing.diary.told_apart:
        return standing.day
    clears = (standing.diary.clock(hen).clear_from(cock) for hen in standing.hens_in(pen))
    return max((day for day in clears if day is not None), default=standing.day)


def opening(
    standing: Standing, cock: str, pen: str, *, at_once: bool = False
) -> tuple[dt.date, dt.date]:
    """A cock's first day in a pen, and the day from which no hen that stands there makes doubt."""
    his = cock_enters(standing, cock, pen, at_once=at_once)
    return his, max(standing.day, pen_clear(standing, cock, pen))


def entry(
    standing: Standing,
    hen: str,
    cock: str,
    pen: str,
    *,
    at_once: bool = False,
    opened: tuple[dt.date, dt.date] | None = None,
) -> Entry:
    """When a hen joins a cock in a pen where the two are not together yet.

    A hen that was with another cock waits without one until it costs nothing (``Waits.alone``);
    where eggs are not told apart she waits until she is clear, so as not to make those of her new
    neighbours doubtful. ``at_once`` puts cock and hen together today: the eggs until she is clear
    are then one of two cocks'. ``opened`` is what ``opening`` says, if it is known.
    """
    day, waits = standing.day, standing.diary.waits
    his, neighbours = opened or opening(standing, cock, pen, at_once=at_once)
    last = _last_with_other(standing, hen, cock)
    clear = day if last is None else max(day, last + days(waits.clean_out))
    hers = day
    if standing.pen_of.get(hen) == pen:
        hers = his
    elif last is not None and not at_once:
        early = clear <= neighbours or pen in standing.diary.told_apart
        hers = max(day, last + days(waits.alone)) if early else clear
    met = max(hers, his)
    first = met + days(DAYS_TO_FERTILE)
    together = standing.pen_of.get(hen)
    if together is not None and together == standing.pen_of.get(cock) and met == day:
        first = _already_fertile(standing, hen, cock)
    eggs_from = max(first, clear, neighbours)
    mixed = (0.0, 0.0)
    if at_once and last is not None:
        mixed = _mixed(standing, last, met, eggs_from)
    return Entry(hen_in=hers, cock_in=his, eggs_from=eggs_from, mixed=mixed)


def _last_with_other(standing: Standing, hen: str, cock: str) -> dt.date | None:
    """Her last day with another cock: today, if she is with one now."""
    clock = standing.diary.clock(hen)
    if any(one.last is None and one.cock != cock for one in clock.contacts):
        return standing.day
    return clock.other_than(cock)


def _already_fertile(standing: Standing, hen: str, cock: str) -> dt.date:
    """Where both move together: the first day on which her eggs are kept as his, or today."""
    firsts = [
        one.first + days(DAYS_TO_FERTILE)
        for one in standing.diary.clock(hen).contacts
        if one.cock == cock and one.last is None and one.first is not None
    ]
    return max([standing.day, *firsts])


def _mixed(standing: Standing, last: dt.date, met: dt.date, until: dt.date) -> tuple[float, float]:
    """Days before ``until`` on which eggs may be either cock's, shared out as their sperm lasts.

    No cock has precedence (Birkhead et al. 1995); each has a part as fertile as he would be alone,
    the new one's rising through his first week. An egg is as fertile as the better of the two.
    """
    old = new = 0.0
    day = max(met + days(1), standing.day)
    while day < until:
        former = fertility_after((day - last).days)
        now = min(1.0, (day - met).days / DAYS_TO_FERTILE)
        best = max(former, now)
        old += best * former / (former + now)
        new += best * now / (former + now)
        day += days(1)
    return old, new
