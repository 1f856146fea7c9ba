"""Birds counted as here of which nothing has been written down for a long time."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Final

from matchmaker.flock.listing import first_few
from matchmaker.tables.ages import last_possible_day
from matchmaker.tables.mentions import mentions

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from matchmaker.errors import Fault
    from matchmaker.tables.folder import FolderTables
    from matchmaker.tables.records import BirdRecord

LONG: Final = dt.timedelta(days=2 * 365)
"""No word of a bird for two years (common practice, no source)."""

TOLD_ALONE: Final = 3
"""So many such birds are doubted one by one; more are told in one doubt."""

BIRDS_NAMED: Final = 8
"""So many of them are named with their rows; of more, how many there are."""


def unseen_doubts(tables: FolderTables) -> list[Fault]:
    """Doubt birds that count as here although nothing was written of them for two years.

    A bird of which nothing at all is dated is left out: nobody can tell how long it is. A row of
    the standing plan or of the wishes says that the keeper still counts on the bird.
    """
    today = _today(tables)
    if today is None:
        return []
    last = _last_word(tables, today)
    lost = [
        (bird, last[bird.bird])
        for bird in tables.birds
        if bird.status.alive_here and bird.bird in last and today - last[bird.bird] > LONG
    ]
    if len(lost) > TOLD_ALONE:
        return [_several(tables, lost, today)]
    return [_one(tables, bird, day, today) for bird, day in lost]


def _today(tables: FolderTables) -> dt.date | None:
    given = None if tables.settings is None else tables.settings.today
    return given or tables.newest_date


def _last_word(tables: FolderTables, today: dt.date) -> Mapping[str, dt.date]:
    """The newest day on which each bird was hatched, seen, scored, moved, laid or had a chick."""
    last: dict[str, dt.date] = {}
    for band, day in _words(tables, today):
        if day is not None and day > last.get(band, dt.date.min):
            last[band] = day
    of_a_year = ((bird.bird, bird.hatched) for bird in tables.birds if bird.hatched_is_year)
    for band, hatched in of_a_year:
        if hatched is not None:  # of a year alone its last day, so that none is doubted too soon
            last.setdefault(band, dt.date(hatched.year, 12, 31))
    return last


def _words(tables: FolderTables, today: dt.date) -> Iterator[tuple[str, dt.date | None]]:
    for bird in tables.birds:
        yield bird.bird, None if bird.hatched_is_year else bird.hatched
    seen_on = {row.row: row.date for row in tables.seen}
    for one in mentions(tables):
        if one.chick is not None:
            yield one.band, _last_day(one.chick)
        elif one.table in {"plan", "wishes"}:
            yield one.band, today
        elif one.table == "seen":
            yield one.band, seen_on[one.row]
        else:
            yield one.band, one.last or one.first


def _last_day(chick: BirdRecord) -> dt.date | None:
    """The day on which a chick hatched, at the latest."""
    return None if chick.hatched is None else last_possible_day(chick)


def _one(tables: FolderTables, bird: BirdRecord, day: dt.date, today: dt.date) -> Fault:
    return tables.fault(
        "birds",
        bird.row,
        "status",
        kind="long-unseen",
        value=str(bird.status),
        problem=f"nothing is written of {bird.bird} since {day}, "
        f"{_years(today - day)} before {today}, and it counts as a {bird.status} that is here",
        mend="is it still here? Else write sold, dead or culled as its status, and left_on",
        birds=(bird.bird,),
    )


def _several(
    tables: FolderTables, lost: Sequence[tuple[BirdRecord, dt.date]], today: dt.date
) -> Fault:
    told = first_few((f"{bird.bird} (row {bird.row}, {day})" for bird, day in lost), BIRDS_NAMED)
    return tables.fault(
        "birds",
        lost[0][0].row,
        "status",
        kind="long-unseen",
        value="",
        problem=f"{len(lost)} birds count as here, but nothing is written of them for two years "
        f"before {today}: {told} (with the last day each is told of)",
        mend="are they still here? Else write sold, dead or culled as their status, and left_on",
        birds=tuple(bird.bird for bird, _ in lost),
    )


def _years(span: dt.timedelta) -> str:
    return f"{span.days / 365.25:.1f} years"
