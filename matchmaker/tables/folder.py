"""The flock folder as it was read: records, configuration, faults and where everything stands."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final, Unpack

from matchmaker.errors import Fault
from matchmaker.tables.reading import Hints
from matchmaker.tables.toml_lines import line_of
from matchmaker.tables.toml_names import counted

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator, Mapping
    from pathlib import Path

    from matchmaker.settings import Settings
    from matchmaker.tables.findings import Place, Words
    from matchmaker.tables.records import (
        BirdRecord,
        EggRecord,
        MoveRecord,
        PenRecord,
        PlanRecord,
        ScoreRecord,
        SeenRecord,
        WishRecord,
    )

SETTINGS_FILE: Final = "matchmaker.toml"


@dataclass(frozen=True, slots=True, kw_only=True)
class FolderTables:
    """All that a flock folder says.

    ``settings`` is ``None`` where the configuration holds faults. ``traits`` are the columns of
    the scores in their order, ``loci_columns`` the locus columns of the birds. ``faults`` stop
    the planning, ``doubts`` do not; both are in order of file and row. ``inputs`` maps each file
    read to the SHA-256 of its bytes, ``files`` each table to its file, ``headers`` each table's
    columns to the headers as written, ``extras`` each table to the headers nobody reads, and
    ``key_rows`` each dotted key of the configuration to its line. ``alike`` maps, for each table,
    a row to an earlier one that has the same in every cell.
    """

    folder: Path
    settings: Settings | None
    birds: tuple[BirdRecord, ...] = ()
    seen: tuple[SeenRecord, ...] = ()
    scores: tuple[ScoreRecord, ...] = ()
    pens: tuple[PenRecord, ...] = ()
    moves: tuple[MoveRecord, ...] = ()
    eggs: tuple[EggRecord, ...] = ()
    wishes: tuple[WishRecord, ...] = ()
    plan: tuple[PlanRecord, ...] = ()
    traits: tuple[str, ...] = ()
    loci_columns: tuple[str, ...] = ()
    faults: tuple[Fault, ...] = ()
    doubts: tuple[Fault, ...] = ()
    inputs: Mapping[str, str] = field(default_factory=dict)
    files: Mapping[str, str] = field(default_factory=dict)
    headers: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    extras: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    key_rows: Mapping[str, int] = field(default_factory=dict)
    alike: Mapping[str, Mapping[int, int]] = field(default_factory=dict)

    def place(self, table: str, row: int | None = None, column: str | None = None) -> Place:
        """Return file, row and header for a fault, the column given by its declared name."""
        header = self.headers.get(table, {}).get(column, column) if column else None
        return {"file": self.files.get(table, f"{table}.csv"), "row": row, "column": header}

    def setting_place(self, key: str) -> Place:
        """Return file and line of a dotted key, or of the nearest key around it."""
        return {
            "file": SETTINGS_FILE,
            "row": line_of(key, self.key_rows),
            "column": counted(key),
        }

    def fault(
        self, table: str, row: int | None, column: str | None, **words: Unpack[Words]
    ) -> Fault:
        """Return a finding about one cell of a table."""
        return Fault(**self.place(table, row, column), **words)

    def setting_fault(self, key: str, **words: Unpack[Words]) -> Fault:
        """Return a finding about one key of the configuration."""
        return Fault(**self.setting_place(key), **words)

    @property
    def column_hints(self) -> Hints:
        """What tells the columns of a table apart once more as they were when it was read."""
        return Hints(loci=frozenset(self.loci_columns), units=dict.fromkeys(self.traits, ""))

    @property
    def newest_date(self) -> dt.date | None:
        """The newest day on which something was written down as done, or ``None``.

        Years without a day, the ends of quarantines and the periods of pens are no such days.
        """
        return max(self._days_written(), default=None)

    def _days_written(self) -> Iterator[dt.date]:
        days: list[dt.date | None] = []
        for bird in self.birds:
            days += [None if bird.hatched_is_year else bird.hatched, bird.left_on]
        days += [seen.date for seen in self.seen] + [score.date for score in self.scores]
        for move in self.moves:
            days += [move.moved_in, move.moved_out]
        for egg in self.eggs:
            days += [egg.collected_from, egg.collected_to, egg.set_on]
        yield from (day for day in days if day is not None)
