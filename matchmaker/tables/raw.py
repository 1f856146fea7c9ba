"""A table as raw text: every filled row with the number that a spreadsheet shows beside it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

from matchmaker.errors import Fault
from matchmaker.tables.book import sheet_rows
from matchmaker.tables.delimited import delimited_rows
from matchmaker.tables.disk import reason
from matchmaker.tables.extent import BookProblem, refuse_huge
from matchmaker.tables.formulas import unguarded

if TYPE_CHECKING:
    from collections.abc import Iterable

    from matchmaker.tables.findings import Findings
    from matchmaker.tables.schema import Table

TEXT_FILES: Final = frozenset({".csv", ".tsv"})
BOOKS: Final = frozenset({".xlsx", ".xlsm", ".xls", ".ods"})

SIZE_MAX: Final = 50_000_000
"""Bytes; a flock's largest table is a thousandth of this."""

LINES_MAX: Final = 300_000
"""Lines of a text; ten scores of each of ten thousand birds are a third of this."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RawRow:
    """One filled row: its number as the spreadsheet shows it and its trimmed cells."""

    row: int
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RawTable:
    """The filled rows of a file; blank rows are left out, their numbers are not given again."""

    file: str
    rows: tuple[RawRow, ...]


def read_bytes(path: Path, findings: Findings) -> bytes | None:
    """Return what a file holds, or ``None`` with a fault saying why it cannot be read."""
    problem, mend = "", "put a readable table in its place"
    try:
        if not path.is_file():
            problem = "this is not a file"
        elif path.stat().st_size > SIZE_MAX:
            problem = f"the file is larger than {SIZE_MAX // 1_000_000} MB"
        else:
            return path.read_bytes()
    except PermissionError:
        problem = "the file may not be read"
        mend = "allow reading it, or close it in the program that holds it"
    except OSError as error:
        problem = f"the file cannot be read: {reason(error)}"
    findings.faults.append(_unreadable(path.name, problem, mend))
    return None


def read_raw(file: str, content: bytes, table: Table, findings: Findings) -> RawTable | None:
    """Return the raw rows of a table, or ``None`` with a fault saying why there are none."""
    suffix = Path(file).suffix.lower()
    if suffix in TEXT_FILES and content.count(b"\n") > LINES_MAX:
        problem = f"the file has more than {LINES_MAX} lines"
        findings.faults.append(_unreadable(file, problem, "keep only the rows of the table in it"))
        return None
    if suffix in TEXT_FILES:
        found = delimited_rows(file, content, table, findings)
    else:
        found = _book_rows(file, content, table, findings)
    if found is None:
        return None
    rows = (RawRow(row=number, cells=trimmed(cells)) for number, cells in found)
    return RawTable(file=file, rows=tuple(row for row in rows if any(row.cells)))


def table_named(file: str) -> str:
    """Return the table that the name of a file is that of, "" where it is no form of table.

    Examples
    --------
    >>> table_named("Birds.XLSX"), table_named("birds.html")
    ('birds', '')
    """
    path = Path(file)
    return path.stem.casefold() if path.suffix.lower() in TEXT_FILES | BOOKS else ""


def trimmed(cells: Iterable[str]) -> tuple[str, ...]:
    """Return cells without the blanks around them, and without guards against formulas.

    Examples
    --------
    >>> trimmed([" C07 ", "'=calm"])
    ('C07', '=calm')
    """
    return tuple(unguarded(cell.strip()) for cell in cells)


def _book_rows(
    file: str, content: bytes, table: Table, findings: Findings
) -> list[tuple[int, list[str]]] | None:
    try:
        refuse_huge(content)
        return sheet_rows(file, content, table, findings)
    except BookProblem as problem:
        findings.faults.append(unreadable_book(file, problem))
        return None


def unreadable_book(file: str, problem: BookProblem) -> Fault:
    """Return the fault of a workbook that cannot be read."""
    mend = "open it in the spreadsheet, save it again, or save the sheet as CSV"
    return _unreadable(file, f"the book cannot be read: {problem}", mend)


def _unreadable(file: str, problem: str, mend: str) -> Fault:
    return Fault(kind="unreadable-file", file=file, problem=problem, mend=mend)
