"""A cell of the book with its place, and a row on its way into a table."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from matchmaker.tables.columns import TABLES
from matchmaker.tables.schema import Column, Kind, plain

if TYPE_CHECKING:
    from collections.abc import Iterable


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One filled cell as the keeper wrote it."""

    file: str
    sheet: str
    row: int
    header: str
    text: str

    @property
    def book(self) -> str:
        """The file, and the sheet where there are several.

        Examples
        --------
        >>> Cell(file="fen.xlsx", sheet="Hens", row=4, header="Ring", text="27").book
        'fen.xlsx, sheet Hens'
        """
        return f"{self.file}, sheet {self.sheet}" if self.sheet else self.file

    @property
    def place(self) -> str:
        """Where the cell stands, in words.

        Examples
        --------
        >>> Cell(file="fen.csv", sheet="", row=4, header="Ring", text="27").place
        'fen.csv, row 4, Ring'
        """
        return f"{self.book}, row {self.row}" + (f", {self.header}" if self.header else "")


@dataclass(slots=True, kw_only=True)
class Entry:
    """One row of a table while it is made.

    ``cells`` are what the book holds under the declared column, a locus or a trait; ``values``
    what the table will hold. A column may have a value without a cell (said by the sheet's name).
    ``aside`` are the cells that went to the notes as they stand.
    ``beside`` is the bird whose row this one was read from, ``dropped`` why the row is not taken.
    """

    table: str
    file: str
    sheet: str
    row: int
    cells: dict[str, Cell] = field(default_factory=dict)
    values: dict[str, str] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)
    aside: list[Cell] = field(default_factory=list)
    names: list[str] = field(default_factory=list)
    beside: Entry | None = None
    dropped: str = ""

    def own(self, text: str, header: str = "") -> Cell:
        """A cell that stands for the whole row, or for a value said elsewhere."""
        return Cell(file=self.file, sheet=self.sheet, row=self.row, header=header, text=text)

    @property
    def place(self) -> str:
        """Where the row stands, in words."""
        return self.own("").place


def column_of(table: str, name: str) -> Column | None:
    """The declared column of that name; ``None`` for a locus, a trait or notes."""
    return next((column for column in TABLES[table].columns if column.name == name), None)


def with_column(entries: Iterable[Entry], table: str, name: str) -> list[tuple[Entry, Cell]]:
    """The rows of a table that have a filled cell in a column, with the cell."""
    return [
        (entry, entry.cells[name])
        for entry in entries
        if entry.table == table and name in entry.cells
    ]


def columns_of_kind(*kinds: Kind) -> list[tuple[str, Column]]:
    """Every declared column of some kinds, with its table."""
    return [
        (table.name, column)
        for table in TABLES.values()
        for column in table.columns
        if column.kind in kinds
    ]


def letters(text: str) -> str:
    """What is left of a name without case, blanks and punctuation, or the name if nothing is."""
    return plain(text) or text
