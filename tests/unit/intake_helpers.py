"""Small books for the tests of taking in, written as lines, and what is guessed of them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.intake.blocks import cut
from matchmaker.intake.grid import make_grid
from matchmaker.intake.guess import guess
from matchmaker.intake.remembered import Remembered

if TYPE_CHECKING:
    from matchmaker.intake.model import Block, BlockGuess, ColumnGuess

LOCI = {
    "O": ("Blue eggshell", "blue", "green", "blue egg", "white", "brown", "tinted"),
    "P": ("Pea comb", "pea", "pea comb", "single", "single comb"),
    "R": ("Rose comb", "rose", "rose comb", "single", "single comb"),
    "S": ("Silver", "silver", "gold"),
    "choc": ("Chocolate", "chocolate", "black"),
    "lav": ("Lavender", "lavender", "black"),
}


def sheet(name: str, *lines: str, file: str = "flock.xlsx") -> tuple[Block, ...]:
    """Cut a sheet written as lines of cells with semicolons between."""
    rows = [(number, line.split(";")) for number, line in enumerate(lines, 1)]
    return cut(make_grid(file, name, rows), LOCI)


def guesses(
    *sheets: tuple[Block, ...], remembered: Remembered | None = None
) -> tuple[BlockGuess, ...]:
    """Guess the tables of these sheets, as those of one book."""
    blocks = [block for blocks in sheets for block in blocks]
    return guess(blocks, LOCI, remembered or Remembered())


def column(guessed: BlockGuess, header: str) -> ColumnGuess:
    """Return the guess for the column of this header."""
    return next(column for column in guessed.columns if column.header == header)


def taken(guessed: BlockGuess) -> dict[str, str]:
    """Return what each header is taken for; a question mark stands behind what must be asked."""
    return {
        one.header: f"{one.table}.{one.column}{'' if one.sure else '?'}" if one.table else "aside"
        for one in guessed.columns
    }
