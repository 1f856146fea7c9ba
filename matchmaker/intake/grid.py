"""A sheet of a keeper's book as a grid of texts; nothing is known yet of what stands in it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker.errors import Fault
from matchmaker.intake.header_words import is_exact_header_word
from matchmaker.tables.book import BookSheet, every_sheet
from matchmaker.tables.delimited import delimited_grid
from matchmaker.tables.extent import BookProblem, refuse_huge, refuse_many_cells
from matchmaker.tables.formulas import unguarded
from matchmaker.tables.raw import BOOKS, TEXT_FILES, RawRow, read_bytes, unreadable_book

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable
    from pathlib import Path

    from matchmaker.tables.delimited import NumberedRows
    from matchmaker.tables.findings import Findings
    from matchmaker.tables.ods_merged import Corners

READABLE: Final = (*sorted(BOOKS), *sorted(TEXT_FILES), ".txt")
"""Endings of the files that are taken in."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """The filled rows of one sheet, all of one width; ``merged`` are corners counted from 0."""

    file: str
    sheet: str
    rows: tuple[RawRow, ...]
    merged: tuple[Corners, ...] = ()


def read_grids(path: Path, known: Collection[str], findings: Findings) -> tuple[Grid, ...]:
    """Return every visible sheet of a file that holds anything; what cannot be read is a fault."""
    suffix = path.suffix.lower()
    if suffix not in READABLE:
        findings.faults.append(_no_table(path.name))
        return ()
    content = read_bytes(path, findings)
    if content is None:
        return ()
    try:
        if suffix in BOOKS:
            refuse_huge(content)
            grids = [_of_sheet(path.name, s) for s in every_sheet(path.name, content, findings)]
        else:
            grids = _of_text(path.name, content, known, findings)
    except BookProblem as problem:
        findings.faults.append(unreadable_book(path.name, problem))
        return ()
    filled = tuple(grid for grid in grids if grid.rows)
    if not filled and not findings.faults:
        findings.doubts.append(_empty(path.name))
    return filled


def _of_sheet(file: str, sheet: BookSheet) -> Grid:
    return make_grid(file, sheet.name, sheet.rows, sheet.merged)


def _of_text(file: str, content: bytes, known: Collection[str], findings: Findings) -> list[Grid]:
    def known_words(cells: list[str]) -> int:
        return len({cell for cell in cells if is_exact_header_word(cell) or cell in known})

    rows = delimited_grid(file, content, known_words, findings)
    return [] if rows is None else [make_grid(file, "", rows)]


def make_grid(file: str, sheet: str, rows: NumberedRows, merged: Iterable[Corners] = ()) -> Grid:
    """Return the grid of these rows: cells trimmed, blank rows left out, all of one width.

    Raises
    ------
    BookProblem
        If a cell stands so far out that the grid would fill the memory.
    """
    trimmed = [
        (number, [" ".join(unguarded(cell.strip()).split()) for cell in cells])
        for number, cells in rows
    ]
    filled = [(number, cells) for number, cells in trimmed if any(cells)]
    width = max((at + 1 for _, cells in filled for at, cell in enumerate(cells) if cell), default=0)
    refuse_many_cells(len(filled), width)
    return Grid(
        file=file,
        sheet=sheet,
        rows=tuple(
            RawRow(row=number, cells=tuple(cells[:width]) + ("",) * (width - len(cells)))
            for number, cells in filled
        ),
        merged=tuple(merged),
    )


def _no_table(file: str) -> Fault:
    return Fault(
        kind="unreadable-file",
        file=file,
        problem="this is not a table",
        mend="give a workbook (XLSX, XLS, ODS) or a text table (CSV, TSV, TXT)",
    )


def _empty(file: str) -> Fault:
    return Fault(
        kind="empty-file",
        file=file,
        problem="nothing is written in this file",
        mend="give the file that holds your records",
    )
