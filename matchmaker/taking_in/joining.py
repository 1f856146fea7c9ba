"""The book once more, in a folder that was written to since: each row by whoever changed it."""

from __future__ import annotations

import csv
import io
from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from matchmaker.errors import UsageError
from matchmaker.intake.gather import NOTES
from matchmaker.tables.columns import TABLES
from matchmaker.tables.write import csv_text
from matchmaker.taking_in.again import KEYS, core_of, digest_of, keyed, rows_of, subject_of, text_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from matchmaker.taking_in.again import Row

ADDED: Final = "added"
CHANGED: Final = "changed"
TAKEN_OUT: Final = "taken out"

ROWS_NAMED: Final = 8
"""So many rows are named in a refusal; the others are counted."""


@dataclass(frozen=True, slots=True)
class Kept:
    """A row that stays as the folder has it, with what was done to it there since."""

    file: str
    subject: str
    how: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Joined:
    """The files of a book with what was written in the folder since kept in them."""

    files: Mapping[str, str]
    kept: tuple[Kept, ...] = ()


@dataclass(slots=True)
class _Table:
    """One table being joined; ``clashes`` are rows that book and folder have both changed."""

    name: str
    before: set[str]
    rows: list[Row] = field(default_factory=list)
    kept: list[Kept] = field(default_factory=list)
    clashes: list[str] = field(default_factory=list)


def joined(folder: Path, files: Mapping[str, str], written: Mapping[str, str]) -> Joined:
    """Return the files of the book with the rows that were written in the folder since.

    ``written`` are the digests of the rows that the book had when it was last taken in: a row that
    is among them was changed by nobody. What the book has changed since is taken from the book,
    what was changed in the folder stays as it is there.

    Raises
    ------
    UsageError
        If both have changed the same row otherwise, all such rows being named, or a table of the
        folder is no longer written as it was.
    """
    texts, kept, clashes = dict(files), [], []
    for name in TABLES:
        file = f"{name}.csv"
        here = rows_of(text_of(folder / file))
        if not here:
            continue
        _refuse_rewritten(folder, name)
        table = _Table(name, set(written.get(name, "").split()))
        _join(table, here, rows_of(files.get(file, "")))
        kept += table.kept
        clashes += table.clashes
        texts[file] = _text(folder, table, here, files.get(file, ""))
    if clashes:
        raise UsageError(_refusal(clashes))
    return Joined(files=texts, kept=tuple(kept))


def _refuse_rewritten(folder: Path, name: str) -> None:
    """Refuse a table whose columns cannot be told, as a spreadsheet may have saved it."""
    path = folder / f"{name}.csv"
    text = text_of(path)
    header = _header(text)
    rows = csv.reader(io.StringIO(text, newline=""))
    longer = any(any(cell.strip() for cell in row[len(header) :]) for row in rows)
    named = len(set(header)) == len(header) and not {*KEYS[name]}.isdisjoint(header)
    if longer or not named or not all(header):
        raise UsageError(
            f"nothing was written: {path} has other columns than it was written with (a "
            "spreadsheet may have saved it with semicolons, or without its header). Save it with "
            f"commas and the header it had, or take back the last write with matchmaker check "
            f"--undo --in {folder}; then give the same command again"
        )


def _join(table: _Table, here: Sequence[Row], new: Sequence[Row]) -> None:
    """Put the rows of the book first, in its order, then those that only the folder has."""
    old = keyed(table.name, here)
    book = keyed(table.name, new)
    for key, row in book.items():
        _join_row(table, old.get(key), row)
    for key, row in old.items():
        if key not in book and digest_of(row) not in table.before:
            table.rows.append(row)
            _keep(table, row, ADDED)


def _join_row(table: _Table, here: Row | None, row: Row) -> None:
    """Choose between a row of the book and the same row of the folder."""
    as_before = digest_of(row) in table.before
    if here is None:
        if as_before:
            _keep(table, row, TAKEN_OUT)
        else:
            table.rows.append(row)
    elif core_of(here) == core_of(row) or digest_of(here) in table.before:
        table.rows.append(row)
    elif as_before:
        table.rows.append(here)
        _keep(table, here, CHANGED)
    else:
        table.clashes.append(_clash(table.name, here, row))


def _keep(table: _Table, row: Row, how: str) -> None:
    table.kept.append(Kept(f"{table.name}.csv", subject_of(table.name, row), how))


def _clash(name: str, here: Row, row: Row) -> str:
    was, becomes = dict(here), dict(row)
    differ = [
        f"{column} {was.get(column) or 'empty'} in the folder, "
        f"{becomes.get(column) or 'empty'} in the book"
        for column in dict.fromkeys([*was, *becomes])
        if column != NOTES and was.get(column) != becomes.get(column)
    ]
    return f"{name}.csv: {subject_of(name, row)}: {'; '.join(differ)}"


def _refusal(clashes: Sequence[str]) -> str:
    named = "\n".join(f"  {one}" for one in clashes[:ROWS_NAMED])
    more = len(clashes) - ROWS_NAMED
    return (
        "nothing was written: these rows were changed both in the book and in the folder, and not "
        f"to the same:\n{named}\n"
        + (f"  and {more} rows more\n" if more > 0 else "")
        + "Write the same in both, then give the same command again"
    )


def _text(folder: Path, table: _Table, here: Sequence[Row], book: str) -> str:
    """The table as text: the folder's own where it says the same, else written anew."""
    own = text_of(folder / f"{table.name}.csv")
    if Counter(table.rows) == Counter(here):
        return own
    if Counter(table.rows) == Counter(rows_of(book)):
        return book
    headers = [_header(text) for text in (book, own)]
    columns = _columns(headers, table.rows)
    cells = [dict(row) for row in table.rows]
    return csv_text(columns, [[row.get(column, "") for column in columns] for row in cells])


def _header(text: str) -> list[str]:
    return [cell.strip() for cell in next(csv.reader(io.StringIO(text, newline="")), [])]


def _columns(headers: Sequence[Sequence[str]], rows: Sequence[Row]) -> list[str]:
    """The columns of both headers, the book's first and the notes last."""
    named = [name for header in headers for name in header]
    columns = dict.fromkeys([*named, *(name for row in rows for name, _ in row)])
    return [*(name for name in columns if name != NOTES), *([NOTES] if NOTES in columns else [])]
