"""The cells of a table as they stand in its file, whatever kind of file it is."""

from __future__ import annotations

from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

from python_calamine import CalamineWorkbook

from matchmaker.tables.columns import TABLES
from matchmaker.tables.contained import contained
from matchmaker.tables.extent import BookProblem
from matchmaker.tables.findings import Findings
from matchmaker.tables.header import read_header
from matchmaker.tables.raw import TEXT_FILES, read_bytes, read_raw
from matchmaker.tables.write import csv_text

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matchmaker.tables.folder import FolderTables


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """The filled rows of a table by their numbers, and where its columns stand (from 0).

    ``book`` says that it is a sheet of a workbook; ``alone`` that no other sheet of that book is
    filled.
    """

    file: str
    header_row: int
    rows: Mapping[int, tuple[str, ...]]
    at: Mapping[str, int]
    book: bool
    alone: bool

    def cell(self, row: int, column: str) -> str | None:
        """Return what a cell says, "" where it is empty; ``None`` where there is no such row."""
        cells = self.rows.get(row)
        if cells is None or row <= self.header_row:
            return None
        at = self.at.get(column, len(cells))
        return cells[at] if at < len(cells) else ""

    def row_text(self, row: int) -> str:
        """Return the filled cells of a row, for people."""
        return ", ".join(filter(None, self.rows.get(row, ())))

    def as_csv(self) -> str:
        """Return the table as CSV, its rows where they stood."""
        width = max(map(len, self.rows.values()))
        empty = ("",) * width
        rows = [
            (*self.rows.get(row, empty), *empty)[:width] for row in range(1, max(self.rows) + 1)
        ]
        return csv_text(rows[0], rows[1:])


def standing_table(tables: FolderTables, table: str) -> Standing | None:
    """Return the cells of a table in its file, ``None`` where it cannot be read."""
    file = tables.files.get(table)
    if file is None or table not in TABLES:
        return None
    findings = Findings()
    content = read_bytes(tables.folder / file, findings)
    raw = None if content is None else read_raw(file, content, TABLES[table], findings)
    if raw is None or content is None or not raw.rows:
        return None
    sheet = read_header(raw, TABLES[table], tables.column_hints, findings)
    if sheet is None:
        return None
    book = Path(file).suffix.lower() not in TEXT_FILES
    return Standing(
        file=file,
        header_row=sheet.header_row,
        rows={row.row: row.cells for row in raw.rows},
        at={**sheet.loci, **sheet.traits, **sheet.at},
        book=book,
        alone=not book or _filled_sheets(content) == 1,
    )


def _filled_sheets(content: bytes) -> int:
    """How many sheets of a book hold anything, hidden ones too; 0 where that cannot be told."""
    try:
        with contained(content), CalamineWorkbook.from_filelike(BytesIO(content)) as book:
            sheets = map(book.get_sheet_by_name, book.sheet_names)
            return sum(sheet.start is not None for sheet in sheets)
    except BookProblem:
        return 0
