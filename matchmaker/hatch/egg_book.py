"""The rows of ``eggs.csv`` while several sets are told of: a later one knows what earlier fill."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from matchmaker.hatch.bands import BandError, read_bands, whole_range
from matchmaker.hatch.told import NEW_ROW
from matchmaker.tables.records import EggRecord

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.hatch.parents import Parents
    from matchmaker.hatch.sets import EggChange
    from matchmaker.hatch.told import Told
    from matchmaker.tables.folder import FolderTables

BAND_CELLS = ("first_band", "last_band")


@dataclass(slots=True, kw_only=True)
class EggBook:
    """The changed cells of rows in the book, and the new rows, by what was told so far."""

    tables: FolderTables
    cells: dict[tuple[int, str], str] = field(default_factory=dict)
    sets: list[dict[str, str]] = field(default_factory=list)
    records: list[EggRecord] = field(default_factory=list)
    bands: dict[int, list[str]] = field(default_factory=dict)
    """Chicks banded of each row, as told so far."""

    @property
    def so_far(self) -> FolderTables:
        """The tables with the new rows among the eggs."""
        return replace(self.tables, eggs=(*self.tables.eggs, *self.records))

    def banded(self, record: EggRecord | None) -> int:
        """How many chicks of a set have their bands already, in the book or as told so far."""
        if record is None:
            return 0
        known = {bird.bird for bird in self.tables.birds}
        return len(known & set(_written(record))) + len(self.bands.get(record.row, ()))

    def note(self, told: Told, egg: EggChange, parents: Parents) -> EggChange:
        """Keep what a set changes; return it as it is with what was told before of the same row."""
        new = [chick.band for chick in told.chicks]
        if egg.row is None:
            self.sets.append(dict(egg.cells))
            row = NEW_ROW + len(self.sets) - 1
            self.records.append(_as_record(told, parents, row))
            self.bands[row] = new
            return egg
        before = self.bands.get(egg.row, [])
        self.bands[egg.row] = [*before, *new]
        for column, text in egg.cells.items():
            if column not in BAND_CELLS:
                self._fill(told, egg.row, column, text)
        return self._with_bands(egg, before, new)

    def _with_bands(self, egg: EggChange, before: list[str], new: list[str]) -> EggChange:
        """The two ends: of all chicks told of the row if they make one run, else empty."""
        row = egg.row or 0
        if not new or not before or any(bird for bird in self._ends(row)):
            for column in BAND_CELLS:
                if column in egg.cells:
                    self._put(row, column, egg.cells[column])
            return egg
        spans = whole_range([*before, *new]) or whole_range([*new, *before])
        for column, text in zip(BAND_CELLS, spans or ("", ""), strict=True):
            self._put(row, column, text)
        return replace(egg, unsaid=spans is None)

    def _ends(self, row: int) -> Iterator[str]:
        """What the book itself has as the first and last band of a row."""
        for record in self.tables.eggs:
            if record.row == row:
                yield from (record.first_band, record.last_band)

    def _fill(self, told: Told, row: int, column: str, text: str) -> None:
        """Fill a cell; two sets of one row must agree in it."""
        own = self.sets[row - NEW_ROW] if row >= NEW_ROW else None
        held = own.get(column, "") if own is not None else self.cells.get((row, column), "")
        if held not in {"", text}:
            told.refuse(column, text, f"the same set is told to have {held}", "mend one of the two")
        self._put(row, column, text)

    def _put(self, row: int, column: str, text: str) -> None:
        if row >= NEW_ROW:
            self.sets[row - NEW_ROW][column] = text
        else:
            self.cells[row, column] = text


def _written(record: EggRecord) -> tuple[str, ...]:
    """The bands between the two ends of a row."""
    if not record.last_band:
        return (record.first_band,)
    try:
        return read_bands(f"{record.first_band}..{record.last_band}")
    except BandError:
        return (record.first_band, record.last_band)


def _as_record(told: Told, parents: Parents, row: int) -> EggRecord:
    """A new set as a row of the book; its bands are told from what is noted of the row."""
    return EggRecord(
        row=row,
        pen=told.pen,
        hen=told.dam,
        cock=parents.sire,
        collected_from=parents.first,
        collected_to=parents.last,
        set_on=told.set_on,
        eggs=told.eggs,
        fertile=told.fertile,
        hatched=told.hatched,
        raised=None,
        first_band="",
        last_band="",
    )
