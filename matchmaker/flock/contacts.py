"""Chicks whose sire and dam were never, or too long before, in one pen by the moves."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker.errors import CellMend
from matchmaker.flock.listing import first_few, listed
from matchmaker.tables.ages import INCUBATION, LAST_CHICK_OF_SIRE
from matchmaker.tables.findings import summed_up
from matchmaker.tables.parents import parent_text
from matchmaker.tables.stays import Stay, stays_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from matchmaker.errors import Fault
    from matchmaker.tables.folder import FolderTables
    from matchmaker.tables.records import BirdRecord

SAME_SEASON: Final = dt.timedelta(days=200)
"""A last stay together no longer ago than this belongs to the season of the chick; of earlier ones
the book of moves may simply not go on (common practice, no source)."""

CHICKS_NAMED: Final = 4
"""So many chicks of one pair are named; of more, how many there are."""

_Pair = tuple[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """The days on which the sire must have been with the dam for a chick to hatch on its day.

    An egg is laid at the latest 21 days before the chick hatches; it may have been stored for 14
    and its dam fertile for 32 days by then (the days of ``tables/ages``).
    """

    first: dt.date
    last: dt.date

    @classmethod
    def of(cls, hatched: dt.date) -> Window:
        """The window of a chick that hatched on a day."""
        return cls(first=hatched - LAST_CHICK_OF_SIRE, last=hatched - INCUBATION)

    def has(self, since: dt.date, until: dt.date) -> bool:
        """Whether a span of days reaches into the window."""
        return since <= self.last and until >= self.first


def apart_doubts(tables: FolderTables) -> Iterator[Fault]:
    """Doubt the parents of chicks whom the moves show in other pens on the days that count.

    Told once a pair and season. Nothing is said where the moves do not speak of those days.
    """
    if not tables.moves:
        return
    stays = _by_bird(tables)
    found: dict[tuple[_Pair, int], list[tuple[BirdRecord, dt.date | None]]] = defaultdict(list)
    for chick in tables.birds:
        pair = _sure_pair(chick)
        if pair is None or chick.hatched is None or not all(one in stays for one in pair):
            continue
        apart, last = _apart(stays, pair, chick.hatched)
        if apart:
            found[pair, chick.hatched.year].append((chick, last))
    yield from summed_up(
        (_doubt(tables, pair, chicks) for (pair, _), chicks in found.items()),
        "pairs of parents were not in one pen on the days that count, by the moves (told by their "
        "first chick and sire)",
        "write the missing stays if the moves are not complete; else mend the sires and dams",
    )


def candidate_doubts(tables: FolderTables) -> Iterator[Fault]:
    """Doubt possible parents whom the moves rule out, where another one was with the mate."""
    if not tables.moves:
        return
    stays = _by_bird(tables)
    yield from summed_up(
        (found for chick in tables.birds for found in _ruled_out(tables, chick, stays)),
        "birds have possible parents written who were not with the mate on the days that count, by "
        "the moves",
        "leave only those who were",
    )


def _ruled_out(
    tables: FolderTables, chick: BirdRecord, stays: Mapping[str, Sequence[Stay]]
) -> Iterator[Fault]:
    if chick.hatched is None or chick.hatched_is_year:
        return
    sides = (("sire", chick.sire, chick.dam), ("dam", chick.dam, chick.sire))
    for side, several, mate in sides:
        if len(several.candidates) < 2 or len(mate.candidates) != 1:
            continue
        other = mate.candidates[0][0]
        known = [band for band, _ in several.candidates if band in stays and other in stays]
        met = [band for band in known if _met(stays, (band, other), chick.hatched)]
        apart = [band for band in known if _apart(stays, (band, other), chick.hatched)[0]]
        if met and apart:
            yield _not_with(tables, chick, side, met, apart)


def _met(stays: Mapping[str, Sequence[Stay]], pair: _Pair, hatched: dt.date) -> bool:
    window = Window.of(hatched)
    return any(window.has(since, until) for since, until in _together(stays, pair))


def _not_with(
    tables: FolderTables, chick: BirdRecord, side: str, met: Sequence[str], apart: Sequence[str]
) -> Fault:
    written = chick.sire if side == "sire" else chick.dam
    cell, left = parent_text(written), [b for b, _ in written.candidates if b not in apart]
    becomes = "|".join(left)
    mate = chick.dam if side == "sire" else chick.sire
    return tables.fault(
        "birds",
        chick.row,
        side,
        kind="candidate-apart",
        value=cell,
        problem=f"{listed(apart)} may be the {side} of {chick.bird} as written, but by the "
        f"moves {'was' if len(apart) == 1 else 'were'} not with {parent_text(mate)} on the days "
        f"that count for a chick hatched on {chick.hatched}; {listed(met)} "
        f"{'was' if len(met) == 1 else 'were'}",
        mend=f"write {becomes} here, or mend the moves",
        mends=(CellMend(table="birds", row=chick.row, column=side, was=cell, becomes=becomes),),
        birds=(chick.bird, *apart),
    )


def _by_bird(tables: FolderTables) -> Mapping[str, Sequence[Stay]]:
    stays: dict[str, list[Stay]] = defaultdict(list)
    for stay in stays_of(tables):
        stays[stay.move.bird].append(stay)
    unclear = {one.move.bird for of_one in stays.values() for one in of_one if one.after_it_left}
    return {band: of_one for band, of_one in stays.items() if band not in unclear}


def _sure_pair(chick: BirdRecord) -> _Pair | None:
    """The sire and dam of a chick where each is one bird and its own day is known."""
    sides = (chick.sire.candidates, chick.dam.candidates)
    if chick.hatched_is_year or any(len(side) != 1 for side in sides):
        return None
    return (sides[0][0][0], sides[1][0][0])


def _apart(
    stays: Mapping[str, Sequence[Stay]], pair: _Pair, hatched: dt.date
) -> tuple[bool, dt.date | None]:
    """Whether the moves speak against a pair, and the last day together before, if there was one.

    They do if both were in pens on those days and never in one, or if the stay that they shared
    this season was over too long before. A stay of which nobody wrote since when is proof of
    neither: a bird listed with the pen it is in now may have been anywhere then.
    """
    window = Window.of(hatched)
    shared = list(_together(stays, pair))
    if any(window.has(since, until) for since, until in shared):
        return False, None
    before = [until for _, until in shared if until < window.first]
    last = max(before, default=None)
    both = all(
        any(one.move.moved_in is not None and window.has(one.since, one.until) for one in own)
        for own in (stays[bird] for bird in pair)
    )
    ended = last is not None and last >= hatched - SAME_SEASON
    return both or ended, last


def _together(
    stays: Mapping[str, Sequence[Stay]], pair: _Pair
) -> Iterator[tuple[dt.date, dt.date]]:
    sire, dam = pair
    for one in stays[sire]:
        for other in stays[dam]:
            since, until = max(one.since, other.since), min(one.until, other.until)
            if one.move.pen == other.move.pen and since <= until:
                yield since, until


def _doubt(
    tables: FolderTables, pair: _Pair, chicks: Sequence[tuple[BirdRecord, dt.date | None]]
) -> Fault:
    sire, dam = pair
    first, last = chicks[0]
    window = Window.of(first.hatched or dt.date.min)
    bands = [chick.bird for chick, _ in chicks]
    named = first_few(bands, CHICKS_NAMED)
    ended = f"were last together on {last}" if last else "were never in one pen"
    return tables.fault(
        "birds",
        first.row,
        "sire",
        kind="parents-apart",
        value=sire,
        problem=f"by the moves {sire} and {dam} {ended}; a chick hatched on {first.hatched} needs "
        f"them together between {window.first} and {window.last} (chicks: {named})",
        mend="put the right sire or dam here, or write in the moves when they were together",
        birds=(sire, dam, *bands),
    )
