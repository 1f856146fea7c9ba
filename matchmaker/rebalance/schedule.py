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


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """What a cock finds in a pen.

    ``cock_in`` is his first day there. From ``clear`` on no hen that stands there can lay another
    cock's egg; until ``kept`` such eggs are kept as the other's, and who comes in must not make
    them doubtful (``None`` where eggs are told apart by hen, or none are). ``closes`` is the last
    day on which eggs of the pen are kept, if it matters.
    """

    cock_in: dt.date
    clear: dt.date
    kept: dt.date | None = None
    closes: dt.date | None = None


def opening(standing: Standing, cock: str, pen: str, *, at_once: bool = False) -> Opening:
    """When a cock comes into a pen: today, or when it costs the eggs of those before him nothing.

    He who is there already came today, for all that matters here. After another cock he waits
    until a week before the clean-out of the hens there is over: so long all eggs are surely the
    former one's, and his own first eggs could not count sooner.
    """
    day, waits = standing.day, standing.diary.waits
    clocks = [standing.diary.clock(hen) for hen in standing.hens_in(pen)]
    told = pen in standing.diary.told_apart
    clears = [clock.clear_from(cock) for clock in clocks]
    clear = day if told else max([day, *(one for one in clears if one is not None)])
    if standing.cock_in(pen) == cock:
        return Opening(cock_in=day, clear=clear)
    lasts = [last for clock in clocks if (last := clock.other_than(cock)) is not None]
    if not lasts:
        return Opening(cock_in=day, clear=clear)
    his = day if at_once else max(day, max(lasts) + days(waits.alone))
    kept = max(lasts) + days(waits.kept)
    return Opening(cock_in=his, clear=clear, kept=None if told or kept < day else kept)


def entry(
    standing: Standing,
    hen: str,
    cock: str,
    pen: str,
    *,
    at_once: bool = False,
    opened: Opening | None = None,
) -> Entry:
    """When a hen joins a cock in a pen where the two are not together yet.

    A hen that was with another cock waits without one until it costs nothing (``Waits.alone``);
    where eggs are not told apart she waits until she is clear, so as not to make those of her new
    neighbours doubtful, and no hen that may carry a cock's sperm comes in while those are still
    kept as a former cock's. One that is with this cock comes in with him. ``at_once`` puts cock and
    hen together today: the eggs until she is clear are then one of two cocks'. ``opened`` is what
    ``opening`` says, if it is known.
    """
    day = standing.day
    opened = opened or opening(standing, cock, pen, at_once=at_once)
    last = _last_with_other(standing, hen, cock)
    clear = day if last is None else max(day, last + days(standing.diary.waits.clean_out))
    told = pen in standing.diary.told_apart
    comes_along = are_together(standing, hen, cock) and (
        opened.cock_in == day or hen not in standing.evicted
    )
    comes_along = comes_along and (told or clear <= max(opened.cock_in, opened.clear))
    if comes_along or standing.pen_of.get(hen) == pen or last is None or at_once:
        hers = opened.cock_in
    else:
        soon = clear <= opened.clear or told
        hers = max(day, last + days(standing.diary.waits.alone)) if soon else clear
    if opened.kept is not None and standing.pen_of.get(hen) != pen and _carries(standing, hen):
        hers = max(hers, opened.kept + days(1))
    met = max(hers, opened.cock_in)
    first = _already_fertile(standing, hen, cock) if comes_along else met + days(DAYS_TO_FERTILE)
    eggs_from = max(first, clear, opened.clear)
    mixed = (0.0, 0.0)
    if at_once and last is not None:
        mixed = _mixed(standing, last, met, _before(eggs_from, opened))
    return Entry(hen_in=hers, cock_in=opened.cock_in, eggs_from=eggs_from, mixed=mixed)


def are_together(standing: Standing, hen: str, cock: str) -> bool:
    """Whether a hen was with this cock this morning: in a pen that is closed now, too."""
    pen = standing.stands(hen)
    return pen is not None and standing.was_cock_in(pen, cock)


def _before(eggs_from: dt.date, opened: Opening) -> dt.date:
    """The last day before a cock's own eggs on which eggs of his pen are kept at all."""
    last = eggs_from - days(1)
    return last if opened.closes is None else min(last, opened.closes)


def _carries(standing: Standing, hen: str) -> bool:
    """Whether eggs that a hen lays from today on may be any cock's."""
    contacts = standing.diary.clock(hen).contacts
    wait = days(standing.diary.waits.clean_out)
    return any(one.last is None or one.last + wait > standing.day for one in contacts)


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
        if one.cock == cock
        and one.first is not None
        and (one.last is None or one.last >= standing.day)
    ]
    return max([standing.day, *firsts])


def _mixed(standing: Standing, last: dt.date, met: dt.date, until: dt.date) -> tuple[float, float]:
    """Days up to ``until`` on which eggs may be either cock's, shared out as their sperm lasts.

    No cock has precedence (Birkhead et al. 1995); each has a part as fertile as he would be alone,
    the new one's rising through his first week. An egg is as fertile as the better of the two.
    """
    old = new = 0.0
    day = max(met, standing.day)
    while day <= until:
        former = fertility_after((day - last).days)
        now = min(1.0, (day - met).days / DAYS_TO_FERTILE)
        best = max(former, now)
        if best > 0:
            old += best * former / (former + now)
            new += best * now / (former + now)
        day += days(1)
    return old, new
