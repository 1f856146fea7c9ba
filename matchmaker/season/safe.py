"""From which day on the eggs of each hen are surely her cock's, and what they wait for."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.rebalance.clock import days
from matchmaker.rebalance.diary import meet

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator

    from matchmaker.season.standing import Pens


@dataclass(frozen=True, slots=True, kw_only=True)
class Safe:
    """Hens of one pen whose eggs count for a cock from the same day on.

    ``since`` is ``None`` where they never do in the season. ``waits_for`` are hens, cocks and last
    days together that make the eggs doubtful until then: their own, or in a pen whose eggs are not
    told apart a neighbour's.
    """

    pen: str
    cock: str
    hens: tuple[str, ...]
    since: dt.date | None
    waits_for: tuple[tuple[str, str, dt.date], ...] = ()


def safe_eggs(pens: Pens, first: dt.date, last: dt.date) -> tuple[Safe, ...]:
    """The first safe day of every hen of the season's pens, hens alike together."""
    found: dict[tuple[str, str, dt.date | None], list[str]] = defaultdict(list)
    for hen in pens.hens:
        for pen, cock, since in _spells(pens, hen, first, last):
            found[pen, cock, since].append(hen)
    return tuple(
        Safe(
            pen=pen,
            cock=cock,
            hens=tuple(hens),
            since=since,
            waits_for=_waits(pens, (pen, cock), hens, since or last),
        )
        for (pen, cock, since), hens in sorted(
            found.items(), key=lambda item: (item[0][0], item[0][2] is None, str(item[0]))
        )
    )


def _spells(
    pens: Pens, hen: str, first: dt.date, last: dt.date
) -> Iterator[tuple[str, str, dt.date | None]]:
    """Pen and cock of a hen with the first day on which her eggs there are his."""
    since: dict[tuple[str, str], dt.date] = {}
    once = len(pens.diary.stays_of(hen)) == 1 and len(pens.diary.clock(hen).contacts) == 1
    day = first
    while day <= last and not (once and since):
        owner, pen = pens.diary.credited(hen, day), pens.pen_of(hen, day)
        if owner is not None and pen is not None:
            since.setdefault((pen, owner[0]), day)
        day += days(1)
    met = {
        (stay.pen, his.bird): None
        for stay in pens.stays
        if stay.bird == hen
        for his in pens.diary.cocks_of(stay.pen)
        if his in pens.stays and meet(stay, his)
    }
    for pen, cock in sorted({**met, **since}):
        yield pen, cock, since.get((pen, cock))


def _waits(
    pens: Pens, where: tuple[str, str], hens: list[str], since: dt.date
) -> tuple[tuple[str, str, dt.date], ...]:
    """Contacts with other cocks whose clean-out ends on the day on which these eggs are safe."""
    pen, cock = where
    wait = days(pens.diary.waits.clean_out)
    told = pen in pens.diary.told_apart
    looked = hens if told else {*hens, *pens.diary.hens_in(pen, since)}
    return tuple(
        (hen, one.cock, one.last)
        for hen in sorted(looked)
        for one in pens.diary.clock(hen).contacts
        if one.cock != cock and one.last is not None and one.last + wait >= since
    )
