"""What the checks refuse in a folder made from a book: each such cell may be left out of it."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

from matchmaker.intake.ledger import OPEN
from matchmaker.intake.model import Left, Question, Taken
from matchmaker.tables.columns import TABLES
from matchmaker.tables.folder import SETTINGS_FILE

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from matchmaker.errors import Fault

AS_IT_STANDS: Final = "keep it"

LATER: Final = ("same-parent", "parent-too-late", "ancestor-loop", "contradiction")
"""Faults that may be gone once a plainer one of the same row is."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Refused:
    """A cell of the folder's tables that the checks refuse; the row counts from 0."""

    table: str
    at: int
    column: str
    fault: Fault


def refused_cells(faults: Iterable[Fault], taken: Taken) -> list[Refused]:
    """The cells that faults of the folder's tables stand in, one a row, the plainest first.

    Cells that a row cannot lack are not among them.
    The tables were written with a header in row 1 and a row for each row taken.
    """
    found = []
    for fault in faults:
        table, column = Path(fault.file).stem, fault.column or ""
        at = (fault.row or 0) - 2
        rows = taken.tables.get(table, ())
        if fault.file == SETTINGS_FILE or not 0 <= at < len(rows) or not rows[at].get(column):
            continue
        if not any(one.name == column and one.required for one in TABLES[table].columns):
            found.append(Refused(table=table, at=at, column=column, fault=fault))
    found.sort(key=lambda cell: LATER.index(cell.fault.kind) if cell.fault.kind in LATER else -1)
    return list({(cell.table, cell.at): cell for cell in reversed(found)}.values())[::-1]


def question_about(cell: Refused, taken: Taken) -> Question:
    """Whether a refused cell shall be left out, so that a plan can be made without it."""
    row, fault = taken.tables[cell.table][cell.at], cell.fault
    more = "; the bands of two birds may have been exchanged" * (fault.kind == "contradiction")
    told = in_book(fault.problem, cell.table, taken)
    whose = row.get("bird") or row.get("pen") or str(cell.at)
    return Question(
        key=f"refused:{cell.table}:{whose}:{cell.column}:{row[cell.column]}",
        text=f"{_capital(told)}{more}. Leave {row[cell.column]} out ({cell.column} of {whose})?",
        choices=(OPEN, AS_IT_STANDS),
        proposed=OPEN,
        places=(_place(taken.sources[cell.table, cell.at]),),
    )


def _place(source: tuple[str, str, int]) -> str:
    file, sheet, row = source
    return f"{file}, sheet {sheet}, row {row}" if sheet else f"{file}, row {row}"


def in_book(text: str, table: str, taken: Taken) -> str:
    """A text of the checks with the rows of the book in the place of those of the folder.

    Examples
    --------
    >>> birds = ({"bird": "C1"}, {"bird": "H1"})
    >>> places = {("birds", 1): ("fen.xlsx", "Hens", 9)}
    >>> in_book("H1 is a hen (row 3)", "birds", Taken(tables={"birds": birds}, sources=places))
    'H1 is a hen (fen.xlsx, sheet Hens, row 9)'
    """

    def place(found: re.Match[str]) -> str:
        key = (found[1] or table, int(found[2]) - 2)
        return _place(taken.sources[key]) if key in taken.sources else found[0]

    return re.sub(r"(?:(\w+)\.csv )?\brow (\d+)", place, text)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _why(fault: Fault) -> str:
    """Why a cell was left out; of records that cannot all be true also what else may be wrong."""
    if fault.kind != "contradiction":
        return fault.problem
    return f"{fault.problem}; {' '.join(fault.mend.split())}"


def without(cells: Iterable[Refused], taken: Taken) -> Taken:
    """Return what was taken without some cells, each listed as left with its reason."""
    rows: dict[str, list[Mapping[str, str]]] = {t: list(r) for t, r in taken.tables.items()}
    left = list(taken.left)
    for cell in cells:
        row = rows[cell.table][cell.at]
        file, sheet, number = taken.sources[cell.table, cell.at]
        written = taken.cells.get((cell.table, cell.at, cell.column))
        rows[cell.table][cell.at] = {name: t for name, t in row.items() if name != cell.column}
        left.append(
            Left(
                file=file,
                sheet=sheet,
                row=number,
                column=written.header if written else f"{cell.table}.{cell.column}",
                text=written.text if written else row.get(cell.column, ""),
                why=in_book(_why(cell.fault), cell.table, taken),
            )
        )
    tables = {table: tuple(own) for table, own in rows.items()}
    return replace(taken, tables=tables, left=tuple(left))
