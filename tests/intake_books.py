"""Blocks of invented books for the tests of intake, written in two or three lines."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.intake.model import Block, BlockGuess, ColumnGuess
from matchmaker.intake.take import CellHints, take
from matchmaker.tables.raw import RawRow

if TYPE_CHECKING:
    from matchmaker.intake.model import Merged, Taken


def guessed(
    table: str, columns: str, *rows: str, sheet: str = "", merged: tuple[Merged, ...] = ()
) -> BlockGuess:
    """Return a block whose columns are given as ``Header=column`` or ``Header=table.column``.

    Cells are parted by ``;``; the header stands in row 1.
    """
    pairs = [one.strip().partition("=") for one in columns.split(",")]
    guesses = []
    for at, (header, _, target) in enumerate(pairs):
        of, _, column = target.rpartition(".")
        guesses.append(
            ColumnGuess(
                at=at,
                header=header,
                table=(of or table) if column else "",
                column=column,
                why="the test says so",
                sure=True,
            )
        )
    raw = [
        RawRow(row=number, cells=tuple(cell.strip() for cell in row.split(";")))
        for number, row in enumerate(rows, start=2)
    ]
    block = Block(
        file="fen.xlsx" if sheet else f"{table or 'other'}.csv",
        sheet=sheet,
        header_row=1,
        headers=tuple(header for header, _, _ in pairs),
        rows=tuple(row for row in raw if any(row.cells)),
        merged=merged,
    )
    return BlockGuess(block=block, table=table, why="no table", sure=True, columns=tuple(guesses))


def taken(*guesses: BlockGuess, hints: CellHints | None = None, **answers: str) -> Taken:
    """Take the blocks in; ``answers`` by the key's last part, or whole by ``take`` itself."""
    return take(guesses, answers, hints)[0]


def column(taken_in: Taken, table: str, name: str) -> list[str]:
    """Return a column of a table, "" where a row has no such cell."""
    return [row.get(name, "") for row in taken_in.tables.get(table, ())]
