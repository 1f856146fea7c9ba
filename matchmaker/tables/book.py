"""Spreadsheet books (XLSX, XLS, ODS): one sheet as rows of text, nothing guessed."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from io import BytesIO
from typing import TYPE_CHECKING

from python_calamine import (
    CalamineSheet,
    CalamineWorkbook,
    SheetTypeEnum,
    SheetVisibleEnum,
)

from matchmaker.errors import Fault
from matchmaker.tables.contained import contained
from matchmaker.tables.delimited import HEADER_WITHIN, NumberedRows
from matchmaker.tables.extent import BookProblem, refuse_many_cells
from matchmaker.tables.lost_cells import lost_cells
from matchmaker.tables.ods_merged import Corners, ods_merged
from matchmaker.tables.schema import Table, known_headers, plain

if TYPE_CHECKING:
    from matchmaker.tables.findings import Findings


@dataclass(frozen=True, slots=True, kw_only=True)
class BookSheet:
    """One visible sheet: its rows numbered from 1, its merged cells as corners counted from 0."""

    name: str
    rows: NumberedRows
    merged: tuple[Corners, ...]


def every_sheet(file: str, content: bytes, findings: Findings) -> tuple[BookSheet, ...]:
    """Return every visible sheet of a book; the hidden ones are named in a doubt.

    Raises
    ------
    BookProblem
        If the book is damaged, locked, too large or has no visible sheet.
    """
    with contained(content), CalamineWorkbook.from_filelike(BytesIO(content)) as book:
        names = _visible(file, book, findings)
        sheets = [book.get_sheet_by_name(name) for name in names]
        unread = all(sheet.merged_cell_ranges is None for sheet in sheets)
        merged = ods_merged(content) if unread else {}
        findings.doubts.extend(lost_cells(file, content, names))
        return tuple(_whole_sheet(sheet, merged.get(sheet.name, ())) for sheet in sheets)


def _whole_sheet(sheet: CalamineSheet, merged: tuple[Corners, ...]) -> BookSheet:
    told = tuple(sheet.merged_cell_ranges or merged)
    return BookSheet(name=sheet.name, rows=_rows_of_sheet(sheet), merged=told)


def sheet_rows(file: str, content: bytes, table: Table, findings: Findings) -> NumberedRows:
    """Return the rows of the sheet that holds the table, numbered from 1.

    The sheet named as the table is taken; otherwise the first visible one with known headers;
    otherwise the first visible one.

    Raises
    ------
    BookProblem
        If the book is damaged, locked, too large or has no visible sheet.
    """
    with contained(content):
        return _rows_of_book(file, content, table, findings)


def _rows_of_book(file: str, content: bytes, table: Table, findings: Findings) -> NumberedRows:
    with CalamineWorkbook.from_filelike(BytesIO(content)) as book:
        visible = _visible(file, book, findings)
        named = [name for name in visible if plain(name) == table.name]
        sheets = [book.get_sheet_by_name(name) for name in named or visible]
        read = ((sheet, _rows_of_sheet(sheet)) for sheet in sheets)
        held = (found for found in read if named or _holds(found[1], table))
        sheet, rows = next(held, None) or (sheets[0], _rows_of_sheet(sheets[0]))
        _tell_merged(file, sheet, findings)
        findings.doubts.extend(lost_cells(file, content, [sheet.name]))
        _tell_other_sheets(file, book, [name for name in visible if name != sheet.name], findings)
        return rows


def _visible(file: str, book: CalamineWorkbook, findings: Findings) -> list[str]:
    visible = [
        sheet.name
        for sheet in book.sheets_metadata
        if sheet.visible is SheetVisibleEnum.Visible and sheet.typ is SheetTypeEnum.WorkSheet
    ]
    if not visible:
        raise BookProblem("it has no visible sheet")
    _tell_hidden(file, [name for name in book.sheet_names if name not in visible], findings)
    return visible


def _rows_of_sheet(sheet: CalamineSheet) -> NumberedRows:
    refuse_many_cells(sheet.total_height, sheet.total_width)
    cells = sheet.to_python(skip_empty_area=False)
    return [(number, [cell_text(cell) for cell in row]) for number, row in enumerate(cells, 1)]


def _holds(rows: NumberedRows, table: Table) -> bool:
    return any(known_headers(table, cells) >= 2 for _, cells in rows[:HEADER_WITHIN])


def _tell_hidden(file: str, hidden: list[str], findings: Findings) -> None:
    findings.doubts.extend(
        Fault(
            kind="hidden-sheet",
            file=file,
            value=name,
            problem=f"the hidden sheet {name} is not read",
            mend="show the sheet if it belongs to the table, or leave it",
        )
        for name in hidden
    )


def _tell_other_sheets(
    file: str, book: CalamineWorkbook, others: list[str], findings: Findings
) -> None:
    """A file is one table: name the other sheets that something stands in."""
    findings.doubts.extend(
        Fault(
            kind="sheet-not-read",
            file=file,
            value=name,
            problem=f"the sheet {name} is not read: a file of the flock's folder holds one table",
            mend="save the sheet in a file of its own if it belongs to the tables, or leave it",
        )
        for name in others
        if book.get_sheet_by_name(name).height
    )


def _tell_merged(file: str, sheet: CalamineSheet, findings: Findings) -> None:
    """Only the first of merged cells holds their value; the rows below it would lack it."""
    findings.doubts.extend(
        Fault(
            kind="merged-cells",
            file=file,
            row=first[0] + 1,
            problem=f"cells of the rows {first[0] + 1} to {last[0] + 1} are merged; only the first "
            "of these rows has their value",
            mend="undo the merging and write the value in every row",
        )
        for first, last in sheet.merged_cell_ranges or ()
        if last[0] > first[0]
    )


def cell_text(cell: object) -> str:
    """Return a cell as the keeper would have typed it into a CSV file.

    Examples
    --------
    >>> cell_text(1001.0), cell_text(2.45), cell_text(True), cell_text(dt.date(2026, 3, 17))
    ('1001', '2.45', 'yes', '2026-03-17')
    """
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, float):
        return str(int(cell)) if cell.is_integer() and abs(cell) < 1e15 else repr(cell)
    if isinstance(cell, dt.datetime):
        midnight = cell.time() == dt.time()
        return cell.date().isoformat() if midnight else cell.isoformat(sep=" ")
    return cell.isoformat() if isinstance(cell, dt.date) else str(cell)
