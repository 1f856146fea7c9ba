"""What was known of a flock on a day: what was written or hatched later is left out."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from matchmaker.tables.parents import bands_in
from matchmaker.tables.records import Status

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Mapping

    from matchmaker.genetics.loci.locus import Locus
    from matchmaker.tables.folder import FolderTables
    from matchmaker.tables.records import BirdRecord, SeenRecord, WishRecord

SEX_TOLD_DAYS: Final = 56
"""By eight weeks the sex of a chick is told (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Eve:
    """A day to look back from, or at: ``day``, and the day on which the tables were last written.

    Where the day is not before that one, all that is written counts as known.
    """

    day: dt.date
    written: dt.date

    @property
    def looks_back(self) -> bool:
        """Whether more is written in the tables than was known on the day."""
        return self.day < self.written


def eve_of(tables: FolderTables, day: dt.date) -> Eve:
    """The day beside the one on which the tables were last written: today, or their newest date."""
    settings = tables.settings
    today = None if settings is None else settings.today
    dates = [one for one in (today, tables.newest_date) if one is not None]
    return Eve(day=day, written=max(dates, default=day))


def known_on(tables: FolderTables, day: dt.date, loci: Mapping[str, Locus]) -> FolderTables:
    """The tables as they could have been written on a day.

    Left out are birds hatched later (with their chicks, whatever is written of those), what was
    seen, scored and moved later. A bird that left later is still here.
    Looking back, words without a date (the sex, a locus column) count as known only of birds that
    were old enough then to show it; defects without a date count as known.
    """
    eve = eve_of(tables, day)
    birds = tuple(_as_known(record, eve, loci) for record in _hatched_by(tables.birds, day))
    here = {record.bird: record for record in birds}
    settings = tables.settings
    return replace(
        tables,
        settings=None if settings is None else settings.model_copy(update={"today": day}),
        birds=birds,
        seen=tuple(row for row in tables.seen if _seen_by(row, here, eve, loci)),
        scores=tuple(
            row for row in tables.scores if row.bird in here and not _later(row.date, day)
        ),
        moves=tuple(
            replace(row, moved_out=None if _later(row.moved_out, day) else row.moved_out)
            for row in tables.moves
            if row.bird in here and not _later(row.moved_in, day)
        ),
        eggs=tuple(row for row in tables.eggs if not _later(row.set_on or row.collected_from, day)),
        wishes=tuple(row for row in tables.wishes if _can_be_wished(row, tables, here)),
        plan=tuple(row for row in tables.plan if {row.hen, row.cock} <= set(here)),
    )


def _later(date: dt.date | None, day: dt.date) -> bool:
    return date is not None and date > day


def _hatched_by(birds: Iterable[BirdRecord], day: dt.date) -> list[BirdRecord]:
    """The birds hatched by a day; one whose only sire or dam hatched later cannot be there."""
    kept = [record for record in birds if not _later(record.hatched, day)]
    while True:
        here = {record.bird for record in kept}
        rest = [record for record in kept if _parents(record) <= here]
        if len(rest) == len(kept):
            return kept
        kept = rest


def _parents(record: BirdRecord) -> set[str]:
    return {band for parent in (record.sire, record.dam) for band, _ in parent.candidates}


def _as_known(record: BirdRecord, eve: Eve, loci: Mapping[str, Locus]) -> BirdRecord:
    if not eve.looks_back:
        return record
    if record.left_on is not None and record.left_on > eve.day:
        record = replace(record, status=Status.BREEDER, left_on=None)
    age = None if record.hatched is None else (eve.day - record.hatched).days
    if age is None:
        return record
    seen = {symbol: words for symbol, words in record.seen.items() if _shown_by(symbol, age, loci)}
    told = record.sex if age >= SEX_TOLD_DAYS else None
    return replace(record, seen=seen, sex=told)


def _shown_by(symbol: str, age: int, loci: Mapping[str, Locus]) -> bool:
    """Whether a bird of an age in days can have shown a locus; of an unknown one it is taken so."""
    found = [one for one in loci.values() if one.symbol.casefold() == symbol.casefold()]
    return not found or age >= found[0].shows_at_days


def _seen_by(
    row: SeenRecord, here: Mapping[str, BirdRecord], eve: Eve, loci: Mapping[str, Locus]
) -> bool:
    """Whether a row of ``seen.csv`` was there on the day; one without a date as a column is."""
    named = {band for cell in (row.hen, row.cock) for band in bands_in(cell)}
    named |= {row.bird} if row.bird else set()
    if not named <= set(here) or _later(row.date, eve.day):
        return False
    if row.date is not None or row.how in {"dna", "day-old"} or not row.bird:
        return True
    hatched = here[row.bird].hatched
    if hatched is None or not eve.looks_back:
        return True
    return _shown_by(row.locus, (eve.day - hatched).days, loci)


def _can_be_wished(row: WishRecord, tables: FolderTables, here: Mapping[str, BirdRecord]) -> bool:
    """Whether the birds of a wish were there, their sex as much told as it is now."""
    now = {record.bird: record for record in tables.birds}
    named = [band for band in (row.bird, row.partner) if band in now]
    return all(band in here and here[band].sex is now[band].sex for band in named)
