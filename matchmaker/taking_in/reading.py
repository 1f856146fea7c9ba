"""A keeper's books read, and what each sheet and column in them is taken for."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from matchmaker.errors import InputError, UsageError
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.intake.blocks import read_blocks
from matchmaker.intake.grid import READABLE
from matchmaker.intake.guess import guess
from matchmaker.intake.remembered import (
    ASIDE,
    FILE,
    Remembered,
    RememberedSheet,
    block_keys,
    column_keys,
    missing_from_book,
)
from matchmaker.intake.remembered_text import read_remembered
from matchmaker.tables.disk import reason
from matchmaker.tables.findings import Findings
from matchmaker.taking_in.settings_proposed import look_words

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from pathlib import Path

    from matchmaker.errors import Fault
    from matchmaker.intake.model import Block, BlockGuess


@dataclass(frozen=True, slots=True, kw_only=True)
class Books:
    """The tables found in the books, the files they are in, and what was doubtful on the way."""

    files: tuple[Path, ...]
    blocks: tuple[Block, ...]
    doubts: tuple[Fault, ...] = ()

    @property
    def inputs(self) -> dict[str, str]:
        """The fingerprint (SHA-256) of each file."""
        return {file.name: hashlib.sha256(file.read_bytes()).hexdigest() for file in self.files}


def read_books(given: Sequence[Path]) -> Books:
    """Return every table of the books; a folder stands for the files in it.

    Raises
    ------
    UsageError
        If there is no such file, or no table at all in any of them.
    InputError
        If one of them cannot be read.
    """
    files = tuple(file for path in given for file in _files_in(path))
    findings = Findings()
    symbols = frozenset(catalogue())
    blocks = tuple(block for file in files for block in read_blocks(file, symbols, findings))
    if findings.faults:
        raise InputError(tuple(findings.faults))
    if not any(block.rows for block in blocks):
        named = ", ".join(path.name for path in given)
        raise UsageError(
            f"no table is in {named}: a table has a row of headings and rows of birds below it"
        )
    return Books(files=files, blocks=blocks, doubts=tuple(findings.doubts))


def _files_in(path: Path) -> list[Path]:
    if path.is_dir():
        found = sorted(one for one in path.iterdir() if _is_book(one))
        if not found:
            raise UsageError(f"no book is in {path}: books end in {', '.join(READABLE)}")
        return found
    if not path.exists():
        raise UsageError(f"there is no book {path}; give the file as it is called in its folder")
    if not _is_book(path):
        raise UsageError(
            f"{path.name} is no book that can be read: save it as .xlsx, .ods or .csv "
            f"(read are {', '.join(READABLE)})"
        )
    return [path]


def _is_book(path: Path) -> bool:
    return path.is_file() and path.suffix.lower() in READABLE and path.name[0] not in "~."


def guesses_of(books: Books, remembered: Remembered) -> tuple[BlockGuess, ...]:
    """Return what each table and column is taken for; what is remembered goes first."""
    loci = {symbol: (locus.name, *look_words(symbol)) for symbol, locus in catalogue().items()}
    return guess(books.blocks, loci, remembered)


def remembered_in(folder: Path, books: Books) -> tuple[Remembered, tuple[Fault, ...]]:
    """Return what the folder remembers of its book, and doubts about what the book lacks by now.

    Raises
    ------
    UsageError
        If nothing is remembered there, or it cannot be read.
    InputError
        If an entry of it is not understood.
    """
    try:
        text = (folder / FILE).read_text(encoding="utf-8")
    except FileNotFoundError:
        raise UsageError(
            f"{folder} has no {FILE}, so it was not made from a book: leave --again out and name "
            "a new folder"
        ) from None
    except OSError as error:
        raise UsageError(f"{folder / FILE} cannot be read: {reason(error)}") from error
    except UnicodeDecodeError as error:
        raise UsageError(f"{folder / FILE} is not UTF-8 text: save it again as UTF-8") from error
    findings = Findings()
    remembered = read_remembered(text, findings)
    if findings.faults:
        raise InputError(tuple(findings.faults))
    return remembered, (*findings.doubts, *missing_from_book(remembered, books.blocks))


def changed_column(
    guesses: Sequence[BlockGuess], block: int, at: int, target: tuple[str, str]
) -> tuple[BlockGuess, ...]:
    """Return the guesses with one column taken for something else, as the keeper says.

    Whatever of the block was that column before is kept aside.
    """
    found = guesses[block]
    columns = tuple(
        replace(one, table=target[0], column=target[1], why="you said so", sure=True, others=())
        if one.at == at
        else replace(one, table="", column="", why="another column is it, as you said", others=())
        if target[1] not in {"", "notes"} and (one.table, one.column) == target
        else one
        for one in found.columns
    )
    changed = replace(found, columns=columns, sure=True)
    return (*guesses[:block], changed, *guesses[block + 1 :])


def to_remember(
    guesses: Sequence[BlockGuess],
    answers: Mapping[str, str],
    written: Mapping[str, str],
) -> Remembered:
    """What was decided about the books: what each column is, and the answers that were given.

    ``written`` are the digests of the rows that are written now.
    """
    keys = block_keys([one.block for one in guesses])
    sheets = {
        key: RememberedSheet(table=one.table, columns=_columns(one))
        for key, one in zip(keys, guesses, strict=True)
        if one.block.headers
    }
    return Remembered(sheets=sheets, answers=answers, written=written)


def _columns(guess: BlockGuess) -> dict[str, str]:
    """What each column of a block is, by its name."""
    names = column_keys(guess.block)
    return {
        names[one.at]: f"{one.table}.{one.column}" if one.table else ASIDE for one in guess.columns
    }


def unsure(guesses: Iterable[BlockGuess]) -> int:
    """How many columns are only guessed at."""
    return sum(not column.sure for one in guesses if one.table for column in one.columns)
