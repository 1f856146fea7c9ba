"""Who stands in each pen on the day of its sheet, who has left it and who is still to come."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.report.days import weekday_text
from matchmaker.report.wording import listed
from matchmaker.season.dates import in_pens

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Iterator

    from matchmaker.rebalance.diary import Stay
    from matchmaker.season.guide import SeasonGuide


@dataclass(frozen=True, slots=True, kw_only=True)
class Occupancy:
    """The birds of a pen as they stand on ``day``.

    ``cocks`` and ``hens`` are their stays, in order of bands; ``changes`` are sentences about
    who has left before and who leaves or comes after.
    """

    pen: str
    day: dt.date
    cocks: tuple[Stay, ...]
    hens: tuple[Stay, ...]
    changes: tuple[str, ...]


def breeding_pens(guide: SeasonGuide) -> tuple[str, ...]:
    """The pens in which a cock and a hen stand at some time this season, in their order."""
    cocks = guide.pens.diary.cocks
    with_cock = {stay.pen for stay in guide.pens.stays if stay.bird in cocks}
    return in_pens(
        stay.pen for stay in guide.pens.stays if stay.bird not in cocks and stay.pen in with_cock
    )


def occupancy(guide: SeasonGuide, pen: str) -> Occupancy:
    """Who stands in a pen today, or on the first day of its birds if that is to come.

    Of a pen that all have left the last day counts on which birds were in it.
    """
    stays = [stay for stay in guide.pens.stays if stay.pen == pen]
    day = _day_shown(guide, stays)
    here = [stay for stay in stays if _stands(guide, stay, day)]
    cocks = guide.pens.diary.cocks
    return Occupancy(
        pen=pen,
        day=day,
        cocks=tuple(stay for stay in here if stay.bird in cocks),
        hens=tuple(stay for stay in here if stay.bird not in cocks),
        changes=tuple(_changes(guide, stays, here, day)),
    )


def _day_shown(guide: SeasonGuide, stays: Iterable[Stay]) -> dt.date:
    flock = guide.table.study.flock
    up = flock.settings.pen_up
    own = list(stays)
    first = min(max(stay.first or up, up) for stay in own)
    ends = [stay.last for stay in own if stay.last is not None]
    day = max(flock.today, first)
    return min(day, max(ends)) if len(ends) == len(own) else day


def _stands(guide: SeasonGuide, stay: Stay, day: dt.date) -> bool:
    """Whether a bird is in a pen on a day; one that is moved on it, or gone, has left it."""
    if not stay.covers(day) or guide.pens.pen_of(stay.bird, day) != stay.pen:
        return False
    if stay.last != day or stay.first == day:
        return True
    flock = guide.table.study.flock
    if not flock.by_band()[stay.bird].alive_here:
        return False
    cocks = guide.pens.diary.cocks
    relieved = any(
        his.first == day and his.pen == stay.pen and his.bird != stay.bird
        for his in guide.pens.stays
        if his.bird in cocks
    )
    return not (stay.bird in cocks and relieved)


def _changes(
    guide: SeasonGuide, stays: Iterable[Stay], here: Iterable[Stay], day: dt.date
) -> Iterator[str]:
    """Sentences in order of days, birds of the same day together, cocks first."""
    season = guide.table.study.flock.settings.season
    cocks, standing = guide.pens.diary.cocks, set(here)
    found: dict[tuple[dt.date, str], list[str]] = defaultdict(list)
    for stay in sorted(stays, key=lambda one: (one.bird not in cocks, one.bird)):
        if stay.first is not None and stay.first > day:
            found[stay.first, "come"].append(stay.bird)
        if stay.last is None:
            continue
        if stay in standing or stay.last > day:
            found[stay.last, "leave"].append(stay.bird)
        else:
            found[stay.last, "left"].append(stay.bird)
    for (on, verb), birds in sorted(found.items()):
        said = f"{verb}s" if verb != "left" and len(birds) == 1 else verb
        yield f"{listed(birds)} {said} on {weekday_text(on, season)}."
