"""From blocks whose columns are known to rows on their way into tables; no cell is lost."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from matchmaker.errors import Fault
from matchmaker.intake.entry import Cell, Entry
from matchmaker.intake.ledger import NO, YES, Ledger
from matchmaker.intake.model import Left, Question
from matchmaker.tables.columns import TABLES
from matchmaker.tables.raw import BOOKS
from matchmaker.tables.schema import is_note

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from matchmaker.intake.model import Block, BlockGuess, ColumnGuess

NOTES: Final = "notes"

DITTO: Final = frozenset({'"', "''", "“", "”", "〃", "do.", "do", "ditto", "as above", "same", "″"})
"""Marks that stand for the cell above (common practice, no source)."""

_NAME_MAX: Final = 24
"""Letters of a remark that may be the name a bird goes by; what stands beside several is none."""


def entries_of(guesses: Iterable[BlockGuess], ledger: Ledger) -> list[Entry]:
    """Return the rows that the blocks hold for each table, in the order of the book."""
    entries: list[Entry] = []
    for guess in guesses:
        _leave_outside(guess.block, ledger)
        if guess.table:
            entries += _entries_of_block(guess, ledger)
        else:
            _leave_block(guess, ledger)
    ledger.doubts += _unseen_colours(guesses)
    return entries


def _leave_outside(block: Block, ledger: Ledger) -> None:
    for one in block.outside:
        left = Left(
            file=block.file, sheet=block.sheet, row=one.row, column="", text=one.text, why=one.why
        )
        ledger.left.append(left)


def _leave_block(guess: BlockGuess, ledger: Ledger) -> None:
    for row in guess.block.rows:
        for at, text in enumerate(row.cells):
            if text:
                ledger.leave(_cell(guess.block, row.row, at, text), guess.why)


def _cell(block: Block, row: int, at: int, text: str) -> Cell:
    header = block.headers[at] if at < len(block.headers) else ""
    return Cell(file=block.file, sheet=block.sheet, row=row, header=header, text=text)


def _entries_of_block(guess: BlockGuess, ledger: Ledger) -> list[Entry]:
    entries: list[Entry] = []
    for row, cells in _filled_down(guess, ledger):
        own = _entry(guess, guess.table, row)
        others: dict[str, Entry] = {}
        for column in guess.columns:
            cell = cells.get(column.at)
            if cell is not None:
                _place(cell, column, own, others)
        _say(guess, own, others)
        entries += _kept(own, others, cells, ledger)
    return entries


def _entry(guess: BlockGuess, table: str, row: int) -> Entry:
    return Entry(table=table, file=guess.block.file, sheet=guess.block.sheet, row=row)


def _place(cell: Cell, column: ColumnGuess, own: Entry, others: dict[str, Entry]) -> None:
    """Put a cell where its column belongs; what no table takes goes to the notes of the row."""
    if not column.table or column.column == NOTES:
        own.notes.append(cell.text if is_note(cell.header) else _headed(cell))
        own.aside.append(cell)
        if len(cell.text) <= _NAME_MAX and not cell.text.isdigit():
            own.names.append(cell.text)
        return
    entry = own
    if column.table != own.table:
        entry = _other(own, column.table, others)
    if column.column in entry.cells:
        own.notes.append(_headed(cell))
        own.aside.append(cell)
    else:
        entry.cells[column.column] = cell


def _headed(cell: Cell) -> str:
    return f"{cell.header or 'no heading'}: {cell.text}"


def _other(own: Entry, table: str, others: dict[str, Entry]) -> Entry:
    """The row of another table that is written in the same row of the book."""
    made = Entry(table=table, file=own.file, sheet=own.sheet, row=own.row)
    made.beside = own if own.table == "birds" else None
    return others.setdefault(table, made)


def _say(guess: BlockGuess, own: Entry, others: dict[str, Entry]) -> None:
    """Write what the name of the sheet says of each of its rows."""
    for table, column, value in guess.said:
        entry = own
        if table != own.table:
            entry = _other(own, table, others)
        if column not in entry.cells:
            entry.cells[column] = own.own(value, "the name of the sheet")


def _kept(
    own: Entry, others: Mapping[str, Entry], cells: Mapping[int, Cell], ledger: Ledger
) -> list[Entry]:
    """The rows that say something; rows beside a bird or a pen are about that bird or pen."""
    about = "pen" if own.table == "pens" else "bird"
    told = own.cells.get(about)
    for entry in others.values():
        if told is not None and any(c.name == about for c in TABLES[entry.table].columns):
            entry.cells.setdefault(about, told)
    if not any(cell in cells.values() for cell in own.cells.values()):
        for cell in cells.values():
            ledger.leave(cell, "the row has nothing in the columns that were taken")
        return []
    return [own, *others.values()]


Rows = list[tuple[int, dict[int, Cell]]]
"""The number of each row with its filled cells by place."""


def _filled_down(guess: BlockGuess, ledger: Ledger) -> Rows:
    """The rows with their filled cells by place, merged cells and ditto marks filled down."""
    block = guess.block
    rows = [
        (
            row.row,
            {at: _cell(block, row.row, at, text) for at, text in enumerate(row.cells) if text},
        )
        for row in block.rows
    ]
    for column in guess.columns:
        if column.table:
            _fill_merged(block, column, rows, ledger)
            _fill_ditto(block, column, rows, ledger)
    return rows


def _fill_merged(block: Block, column: ColumnGuess, rows: Rows, ledger: Ledger) -> None:
    at = column.at
    for one in block.merged:
        cells = {row: cells for row, cells in rows if one.first <= row <= one.last}
        first = cells.get(one.first, {}).get(at)
        below = [row for row in cells if row != one.first and at not in cells[row] and cells[row]]
        if one.at != at or first is None or not below:
            continue
        place = f"{first.book}, {first.header}, rows {one.first} to {one.last}"
        question = Question(
            key=f"merged:{block.file}:{block.sheet}:{first.header}",
            text=f"The column {first.header} has merged cells. Does each value hold for all the "
            "rows it spans?",
            choices=(YES, NO),
            proposed=YES,
            places=(place,),
        )
        if ledger.ask(question) == YES:
            for row in below:
                cells[row][at] = replace(first, row=row)
                empty = replace(first, row=row, text="")
                ledger.change(column.table, column.column, empty, first.text)


def _fill_ditto(block: Block, column: ColumnGuess, rows: Rows, ledger: Ledger) -> None:
    at = column.at
    above: Cell | None = None
    for row, cells in rows:
        cell = cells.get(at)
        if cell is None or cell.text.casefold() not in DITTO:
            above = cell or above
            continue
        question = Question(
            key=f"ditto:{block.file}:{block.sheet}:{cell.header}",
            text=f"In the column {cell.header} stands the mark {cell.text} for the cell "
            "above. Shall it be filled in?",
            choices=(YES, NO),
            proposed=YES,
            places=(cell.place,),
        )
        if above is None:
            ledger.leave(cells.pop(at), "a mark for the same as above, with nothing to repeat")
        elif ledger.ask(question) != YES:
            ledger.leave(cells.pop(at), "a mark for the same as above, not to be filled in")
        else:
            cells[at] = replace(above, row=row)
            ledger.change(column.table, column.column, cell, above.text)


def _unseen_colours(guesses: Iterable[BlockGuess]) -> list[Fault]:
    files = dict.fromkeys(guess.block.file for guess in guesses)
    return [
        Fault(
            kind="colours-not-seen",
            file=file,
            problem="colours and struck-through words are not seen, only what is written",
            mend="if a colour says something (red for dead), write it in a column of its own",
        )
        for file in files
        if file.lower().endswith(tuple(BOOKS))
    ]
