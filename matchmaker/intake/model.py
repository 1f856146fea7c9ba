"""What passes between the steps of taking in a book; nothing here reads, guesses or writes."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matchmaker.errors import Fault
    from matchmaker.intake.entry import Cell
    from matchmaker.tables.raw import RawRow


@dataclass(frozen=True, slots=True, kw_only=True)
class Outside:
    """A filled row that is no row of a table (a title, a total, a note below), and why."""

    row: int
    text: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Merged:
    """Merged cells: the rows from ``first`` to ``last`` of the column ``at`` show one value."""

    first: int
    last: int
    at: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """One rectangle of a keeper's book: a header and the rows below it.

    ``sheet`` is "" for delimited text. ``headers`` are as written, "" over a column without one;
    every row has as many cells as there are headers, its number is the one the spreadsheet shows.
    Each filled row of the sheet is the header, in ``rows`` or in ``outside``: none is dropped.
    ``first_column`` is where the block begins in its sheet, counted from 0. ``header_row`` is 0
    and every header "" where no row is a header; a sheet without any table has no headers at all.
    """

    file: str
    sheet: str
    header_row: int
    headers: tuple[str, ...]
    rows: tuple[RawRow, ...]
    outside: tuple[Outside, ...] = ()
    merged: tuple[Merged, ...] = ()
    first_column: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class ColumnGuess:
    """What a column of a block is taken for.

    ``table`` and ``column`` name a declared column, a locus of the birds or a trait of the scores;
    both are "" where the column is kept aside. Columns of remarks are ``notes`` of the block's own
    table; several may be. ``why`` says in words what speaks for it. ``sure``
    is false where the keeper must be asked; ``others`` are then what else it may be, as
    ``(table, column)``, the likeliest first.
    """

    at: int
    header: str
    table: str = ""
    column: str = ""
    why: str
    sure: bool
    others: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockGuess:
    """What a block is taken for: its main table ("" where it is kept aside) and its columns.

    A column may feed another table than the block's own: a weight beside a bird is a score, a pen
    beside a bird a move. ``said`` is what the sheet's name says of each of its rows, as
    ``(table, column, value)``: the hens of a sheet called "Hens".
    """

    block: Block
    table: str
    why: str
    sure: bool
    columns: tuple[ColumnGuess, ...]
    said: tuple[tuple[str, str, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """What the book does not settle; ``key`` names it alike in every run over the same book.

    ``choices`` are the answers that may be given (empty: any text); ``proposed`` is taken where
    nobody is asked, ``None`` where then nothing may be taken and the cells stay open.
    """

    key: str
    text: str
    choices: tuple[str, ...] = ()
    proposed: str | None = None
    places: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Left:
    """A filled cell or row of the book that no table took, where it stands and why."""

    file: str
    sheet: str
    row: int
    column: str
    text: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """The rows each table would get, their cells as text under the declared names.

    ``sources`` maps a table and a row's place in it (from 0) to the ``(file, sheet, row)`` it comes
    from; ``left`` is all the rest of the book; ``doubts`` are told to the keeper with places in her
    own book; ``changed`` counts what was read otherwise than it stands: ``(table, column, written,
    taken, how often)``.
    ``otherwise`` are those cells one by one, each with what was taken for it; ``cells`` maps a
    table, a row's place in it and a column to the cell of the book that the value comes from.
    """

    tables: Mapping[str, tuple[Mapping[str, str], ...]]
    sources: Mapping[tuple[str, int], tuple[str, str, int]]
    questions: tuple[Question, ...] = ()
    left: tuple[Left, ...] = ()
    doubts: tuple[Fault, ...] = ()
    changed: tuple[tuple[str, str, str, str, int], ...] = ()
    otherwise: tuple[tuple[Cell, str], ...] = ()
    cells: Mapping[tuple[str, int, str], Cell] = field(default_factory=dict)
