"""Read a flock folder: every table and the configuration, with all faults in one pass."""

from __future__ import annotations

import dataclasses
import hashlib
import os
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Final, TypeVar

from matchmaker.errors import Fault, UsageError
from matchmaker.tables.agreement import with_settings
from matchmaker.tables.columns import TABLES
from matchmaker.tables.configuration import (
    Configuration,
    missing_configuration,
    read_configuration,
)
from matchmaker.tables.disk import in_words
from matchmaker.tables.findings import Findings
from matchmaker.tables.flock_folder import refuse_other_folders
from matchmaker.tables.folder import SETTINGS_FILE, FolderTables
from matchmaker.tables.header import Sheet, read_header
from matchmaker.tables.history import Stage, history_bytes, read_history
from matchmaker.tables.nearness import close_matches
from matchmaker.tables.odd_signs import odd_signs
from matchmaker.tables.raw import BOOKS, TEXT_FILES, read_bytes, read_raw, table_named
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
from matchmaker.tables.repeats import look_alikes, without_repeats
from matchmaker.tables.reused import rows_alike
from matchmaker.tables.rows import read_records
from matchmaker.tables.together import between_tables
from matchmaker.tables.unfinished import settle
from matchmaker.tables.within import within_rows

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from matchmaker.tables.reading import Hints
    from matchmaker.tables.schema import Table
    from matchmaker.tables.unfinished import Settled

__all__ = ["FolderTables", "read_contents", "read_folder"]

UNREAD: Final = frozenset({".txt", ".tab", ".dat", ".numbers", ".fods", ".xlsb", ".doc", ".docx"})
"""Endings of files in which tables are kept too, but which are not read."""

_Record = TypeVar("_Record")

_TRIES: Final = 5
"""How often a folder is read until nothing was written to it meanwhile."""


_Contents = Callable[[str, Findings], bytes | None]
"""From the name of a file to what it holds, ``None`` with a fault where that cannot be read."""


@dataclass(slots=True)
class _Reading:
    """A folder while it is read: the ``names`` of its files, and what they hold by ``contents``."""

    folder: Path
    names: Sequence[str]
    contents: _Contents
    findings: Findings = field(default_factory=Findings)
    inputs: dict[str, str] = field(default_factory=dict)
    sheets: dict[str, Sheet] = field(default_factory=dict)
    files: dict[str, str] = field(default_factory=dict)
    records: list[object] = field(default_factory=list)

    def content(self, name: str) -> bytes | None:
        """Return the bytes of a file and remember their digest."""
        content = self.contents(name, self.findings)
        if content is not None:
            self.inputs[name] = hashlib.sha256(content).hexdigest()
        return content


def read_folder(folder: Path, *, known_loci: frozenset[str] = frozenset()) -> FolderTables:
    """Return all that a flock folder says, with every fault and doubt of its files.

    Only files directly in the folder are read. A cell with a fault leaves the rest of its row
    standing, so that later checks still look at it. ``known_loci`` are the symbols of a catalogue;
    a column of the birds headed by one is a locus column, as are those the configuration names.
    Where the configuration cannot be read, that is the only fault: how to read the tables, for
    example which number of a date is the day, is not known either.

    A write that was stopped half-way is first completed or taken back, and told as a doubt.

    Raises
    ------
    UsageError
        If there is no such folder, no flock in it, or other programs keep writing to it.
    """
    refuse_other_folders(folder)
    for _ in range(_TRIES):
        settled = settle(folder)
        with in_words(folder):
            state = history_bytes(folder)
        if settled is not None and settled.stops:
            return FolderTables(folder=folder, settings=None, faults=(settled.fault,))
        tables = _read(_of_disk(folder), known_loci)
        if not _being_written(folder, state, settled):
            return tables if settled is None else _with_doubt(tables, settled.fault)
    raise UsageError(f"{folder} is being written to again and again: wait, then try again")


def read_contents(
    contents: Mapping[str, bytes], *, known_loci: frozenset[str] = frozenset()
) -> FolderTables:
    """Return all that a flock folder of these files would say, as ``read_folder`` does of one.

    Nothing is written anywhere; the folder of what is returned is the one that we are in.
    """
    reading = _Reading(Path(), sorted(contents), lambda name, _: contents[name])
    return _read(reading, known_loci)


def _of_disk(folder: Path) -> _Reading:
    names = sorted(path.name for path in folder.iterdir())
    return _Reading(folder, names, lambda name, findings: read_bytes(folder / name, findings))


def _being_written(folder: Path, state: bytes | None, settled: Settled | None) -> bool:
    """Whether another program wrote while the folder was read: old and new may be mixed then."""
    with in_words(folder):
        if history_bytes(folder) != state:
            return True
        write = read_history(folder).unfinished
    return settled is None and write is not None and write.stage is Stage.WRITING


def _with_doubt(tables: FolderTables, doubt: Fault) -> FolderTables:
    doubts = sorted([*tables.doubts, doubt], key=lambda one: one.order)
    return dataclasses.replace(tables, doubts=tuple(doubts))


def _read(reading: _Reading, known_loci: frozenset[str]) -> FolderTables:
    configuration = _configuration(reading)
    if not configuration.readable:
        return _checked(_assembled(reading, configuration))
    hints = dataclasses.replace(configuration.hints, known_loci=known_loci)
    for table in TABLES.values():
        _read_table(reading, table, hints)
    reading.findings.doubts += odd_signs(reading.sheets)
    reading.findings.doubts += _nearly_named(reading.names, reading.files)
    reading.findings.doubts += _open_elsewhere(reading.names, reading.files.values())
    return _checked(without_repeats(_assembled(reading, configuration)))


def _checked(tables: FolderTables) -> FolderTables:
    """Add the faults and doubts that show between rows and tables, and put all in order."""
    found = Findings(list(tables.faults), list(tables.doubts))
    for look in (look_alikes, within_rows, between_tables, with_settings):
        look(tables, found)
    return dataclasses.replace(
        tables,
        faults=tuple(sorted(found.faults, key=lambda fault: fault.order)),
        doubts=tuple(sorted(found.doubts, key=lambda doubt: doubt.order)),
    )


def _configuration(reading: _Reading) -> Configuration:
    if SETTINGS_FILE not in reading.names:
        configuration = missing_configuration()
    else:
        content = reading.content(SETTINGS_FILE)
        configuration = (
            Configuration(readable=False) if content is None else read_configuration(content)
        )
    reading.findings.faults += configuration.faults
    return configuration


def _read_table(reading: _Reading, table: Table, hints: Hints) -> None:
    findings = reading.findings
    found = [name for name in reading.names if table_named(name) == table.name]
    if not found and table.required:
        findings.faults.append(_missing_table(table))
    if not found:
        return
    reading.files[table.name] = found[0]
    findings.faults += [_second_file(name, found[0]) for name in found[1:]]
    content = reading.content(found[0])
    raw = None if content is None else read_raw(found[0], content, table, findings)
    sheet = None if raw is None else read_header(raw, table, hints, findings)
    if sheet is not None:
        reading.sheets[table.name] = sheet
        reading.records += _rows_of(sheet, hints, findings)


def _rows_of(sheet: Sheet, hints: Hints, findings: Findings) -> list[object]:
    if sheet.table.required and not sheet.rows:
        findings.faults.append(
            Fault(
                kind="no-rows",
                file=sheet.file,
                row=sheet.header_row,
                problem="the table has a header and no rows",
                mend=f"write one row for each of the {sheet.table.name}, with at least "
                f"{' and '.join(sheet.table.needed)} in it",
            )
        )
    return read_records(sheet, hints, findings)


def _missing_table(table: Table) -> Fault:
    header = ",".join(table.needed + table.expected)
    return Fault(
        kind="no-table",
        file=f"{table.name}.csv",
        problem=f"the folder has no table of {table.name}",
        mend=f"write {table.name}.csv (or .xlsx, .ods) with a first row {header}",
    )


def _second_file(name: str, read: str) -> Fault:
    return Fault(
        kind="two-files",
        file=name,
        value=name,
        problem=f"the folder holds {read} and {name} for one table; only {read} was read",
        mend="keep one of them in the folder and move the other out",
    )


def _nearly_named(names: Iterable[str], read: Mapping[str, str]) -> list[Fault]:
    """Doubt files that are meant as tables by their names, of which none is read."""
    doubts = []
    for name in names:
        path = Path(os.fsencode(name).decode("utf-8", "replace"))  # not every name is text
        stem = path.stem.casefold()
        if path.name[0] in "~.":
            continue
        if path.suffix.lower() not in TEXT_FILES | BOOKS:
            if stem in TABLES and path.suffix.lower() in UNREAD:
                doubts.append(_not_read(path.name, f"save it as {stem}.csv or {stem}.xlsx"))
        elif stem not in TABLES and (near := _table_meant(stem, read)):
            doubts.append(_not_read(path.name, f"did you mean {near}{path.suffix}?"))
    return doubts


def _table_meant(stem: str, read: Mapping[str, str]) -> str | None:
    """Return the table that a file's name is near; one named in it if there is no file of it."""
    near = close_matches(stem, TABLES, like=0.75)
    named = [name for name in TABLES if name not in read and name in re.split(r"[\W_]+", stem)]
    return next(iter([*near, *named]), None)


def _not_read(name: str, mend: str) -> Fault:
    return Fault(
        kind="file-not-read",
        file=name,
        value=name,
        problem=f"{name} is not the name of a table and is not read",
        mend=mend,
    )


def _open_elsewhere(names: Iterable[str], read: Iterable[str]) -> list[Fault]:
    """Doubt tables beside which a spreadsheet has left the mark of an open file."""
    marks = set(names)
    return [
        Fault(
            kind="open-elsewhere",
            file=name,
            problem=f"{name} seems to be open in a spreadsheet, so what was typed last may be "
            "missing",
            mend="save and close it there, then try again",
        )
        for name in read
        if {f"~${name}", f".~lock.{name}#"} & marks
    ]


def _assembled(reading: _Reading, configuration: Configuration) -> FolderTables:
    sheets: Mapping[str, Sheet] = reading.sheets
    records = reading.records
    return FolderTables(
        folder=reading.folder,
        settings=configuration.settings,
        birds=_only(records, BirdRecord),
        seen=_only(records, SeenRecord),
        scores=_only(records, ScoreRecord),
        pens=_only(records, PenRecord),
        moves=_only(records, MoveRecord),
        eggs=_only(records, EggRecord),
        wishes=_only(records, WishRecord),
        plan=_only(records, PlanRecord),
        traits=tuple(sheets["scores"].traits) if "scores" in sheets else (),
        loci_columns=tuple(sheets["birds"].loci) if "birds" in sheets else (),
        faults=tuple(reading.findings.faults),
        doubts=tuple(reading.findings.doubts),
        inputs=reading.inputs,
        files=reading.files,
        headers={name: sheet.headers for name, sheet in sheets.items()},
        extras={name: sheet.aside for name, sheet in sheets.items()},
        key_rows=configuration.key_rows,
        alike={name: rows_alike(sheet) for name, sheet in sheets.items()},
    )


def _only(records: Iterable[object], kind: type[_Record]) -> tuple[_Record, ...]:
    return tuple(record for record in records if isinstance(record, kind))
