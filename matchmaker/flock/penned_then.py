"""Parents that the moves tell: who stood with the other parent, or in the pen that is named."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker.errors import CellMend
from matchmaker.flock.contacts import Window
from matchmaker.flock.listing import listed
from matchmaker.tables.ages import LAST_CHICK_OF_DAM, could_be_parent
from matchmaker.tables.findings import summed_up
from matchmaker.tables.records import Origin, Sex
from matchmaker.tables.schema import plain
from matchmaker.tables.stays import Stay, stays_of

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator, Mapping, Sequence

    from matchmaker.errors import Fault
    from matchmaker.tables.folder import FolderTables
    from matchmaker.tables.records import BirdRecord

PROPOSED_MAX: Final = 8
"""So many birds at most are proposed as one parent; more say no more than an empty cell."""

_AROUND_A_PEN: Final = re.compile(
    r"\b(?:pen|house|coop|run|hut|the|of|in|from|cocks?|hens?|birds?)\b", re.IGNORECASE
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Stood:
    """The stays by bird and by pen, the birds by band, and the pens by their bare names."""

    birds: Mapping[str, BirdRecord]
    of_bird: Mapping[str, Sequence[Stay]]
    in_pen: Mapping[str, Sequence[Stay]]
    pens: Mapping[str, Sequence[str]]

    @classmethod
    def of(cls, tables: FolderTables) -> Stood:
        """Sort the stays of the moves."""
        of_bird: dict[str, list[Stay]] = {}
        in_pen: dict[str, list[Stay]] = {}
        for stay in stays_of(tables):
            of_bird.setdefault(stay.move.bird, []).append(stay)
            in_pen.setdefault(stay.move.pen, []).append(stay)
        birds = {bird.bird: bird for bird in tables.birds}
        pens: dict[str, list[str]] = {}
        for pen in in_pen:
            pens.setdefault(_bare(pen), []).append(pen)
        return cls(birds=birds, of_bird=of_bird, in_pen=in_pen, pens=pens)

    def pen_named(self, text: str) -> str | None:
        """Return the pen that a cell names in the place of a bird, if it names one."""
        wanted = _bare(text)
        named = self.pens.get(wanted, ())
        return named[0] if len(named) == 1 and wanted else None

    def possible(self, chick: BirdRecord, sex: Sex, pen: str) -> tuple[str, ...]:
        """The birds of that sex in a pen on the days that count, who can be a chick's parent."""
        days = _days_that_count(chick, sex)
        return () if days is None else self._among(chick, sex, self.in_pen[pen], days)

    def with_mate(self, chick: BirdRecord, sex: Sex, mate: str) -> tuple[str, ...]:
        """The birds of that sex who stood in one pen with the other parent on days that count.

        A hen may have laid the egg long after she left the cock, so his days count for both.
        """
        together = _together_for(chick)
        if together is None:
            return ()
        found = list[str]()
        for stay in self.of_bird.get(mate, ()):
            since, until = max(stay.since, together.first), min(stay.until, together.last)
            if since <= until:
                found += self._among(chick, sex, self.in_pen[stay.move.pen], (since, until))
        return tuple(dict.fromkeys(found))

    def _among(
        self, chick: BirdRecord, sex: Sex, stays: Sequence[Stay], days: tuple[dt.date, dt.date]
    ) -> tuple[str, ...]:
        there = (one.move.bird for one in stays if one.since <= days[1] and one.until >= days[0])
        known = (self.birds[band] for band in dict.fromkeys(there) if band in self.birds)
        return tuple(
            one.bird for one in known if one.sex is sex and could_be_parent(one, chick, sex)
        )


def _bare(text: str) -> str:
    """The name of a pen, or a cell that may name one, without words such as pen and hens."""
    return plain(_AROUND_A_PEN.sub("", text))


def _days_that_count(chick: BirdRecord, sex: Sex) -> tuple[dt.date, dt.date] | None:
    """The days on which a hen can have laid a chick's egg, or a cock been with her before."""
    together = _together_for(chick)
    if chick.hatched is None or together is None:
        return None
    first = together.first if sex is Sex.COCK else chick.hatched - LAST_CHICK_OF_DAM
    return first, together.last


def _together_for(chick: BirdRecord) -> Window | None:
    """The days on which a chick's parents can have been together, if its own day is known."""
    if chick.hatched is None or chick.hatched_is_year:
        return None
    return Window.of(chick.hatched)


def missing_parent_doubts(tables: FolderTables) -> Iterator[Fault]:
    """Doubt an empty sire or dam where the moves show who was with the other parent then."""
    if not tables.moves:
        return
    stood = Stood.of(tables)
    for side, sex in (("sire", Sex.COCK), ("dam", Sex.HEN)):
        yield from summed_up(
            (one for chick in tables.birds for one in _told(tables, stood, chick, (side, sex))),
            f"birds have no {side} written, but the moves show who was with the other parent on "
            "the days that count",
            f"write them as {side} if they were; several, as in C04|C07, count as equally likely",
        )


def _told(
    tables: FolderTables, stood: Stood, chick: BirdRecord, wanted: tuple[str, Sex]
) -> Iterator[Fault]:
    side, sex = wanted
    own, other = (chick.sire, chick.dam) if sex is Sex.COCK else (chick.dam, chick.sire)
    if own.origin is not Origin.UNKNOWN or len(other.candidates) != 1:
        return
    mate = other.candidates[0][0]
    found, together = stood.with_mate(chick, sex, mate), _together_for(chick)
    if not 0 < len(found) <= PROPOSED_MAX or together is None:
        return
    yield tables.fault(
        "birds",
        chick.row,
        side,
        kind="parent-in-the-moves",
        value="",
        problem=f"no {side} of {chick.bird} is written, but by the moves {listed(found)} "
        f"{'was' if len(found) == 1 else 'were'} in one pen with {mate} between {together.first} "
        f"and {together.last}, the days that count for a chick hatched on {chick.hatched}",
        mend=f"write {'|'.join(found)} here if no other {sex} was with {mate} then",
        mends=(_parent_cell(chick, side, "", "|".join(found)),),
        birds=(chick.bird,),
    )


def pen_as_parent(
    tables: FolderTables, stood: Stood, chick: BirdRecord, cell: tuple[str, Sex, str]
) -> Fault | None:
    """Return the finding on a pen that is written in the place of a parent, if it is one."""
    side, sex, text = cell
    pen = stood.pen_named(text)
    if pen is None:
        return None
    found = stood.possible(chick, sex, pen)
    few = 0 < len(found) <= PROPOSED_MAX
    told = listed(found) if few else f"{len(found)} {sex}s" if found else f"no {sex}"
    days = _days_that_count(chick, sex)
    span = f"between {days[0]} and {days[1]}" if days else "then, as its day of hatching is open"
    return tables.fault(
        "birds",
        chick.row,
        side,
        kind="unknown-parent",
        value=text,
        problem=f"{text} is a pen and no bird; the moves show {told} there {span}",
        mend=f"write {'|'.join(found)} here if no other {sex} was there then"
        if few
        else "write all bands that are possible, as in C04|C07, or leave the cell empty",
        mends=(_parent_cell(chick, side, text, "|".join(found)),) if few else (),
        birds=(chick.bird,),
    )


def _parent_cell(chick: BirdRecord, side: str, was: str, becomes: str) -> CellMend:
    return CellMend(table="birds", row=chick.row, column=side, was=was, becomes=becomes)
