"""The book once more: the rows of the folder as they are known again, and what changed."""

from __future__ import annotations

import csv
import hashlib
import io
import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker.errors import UsageError
from matchmaker.tables.columns import TABLES
from matchmaker.tables.disk import reason
from matchmaker.tables.folder import SETTINGS_FILE
from matchmaker.tables.formulas import unguarded
from matchmaker.tables.raw import BOOKS
from matchmaker.taking_in.proposal import NOT_TAKEN, TAKEN_AS

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from pathlib import Path

Row = tuple[tuple[str, str], ...]
"""The filled cells of a row with their columns, in the order of the columns' names."""

KEYS: Final[Mapping[str, tuple[str, ...]]] = {
    "birds": ("bird",),
    "pens": ("pen",),
    "scores": ("bird", "date"),
    "moves": ("bird", "pen", "moved_in"),
    "eggs": ("pen", "hen", "set_on", "collected_from"),
    "seen": ("bird", "hen", "cock", "pen", "date", "locus"),
    "wishes": ("bird", "with", "wish"),
    "plan": ("pen", "hen"),
}
"""The columns by which a row is known again."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Changed:
    """One cell, or a whole row (``column`` is ""), that differs from what the folder holds."""

    file: str
    subject: str
    column: str
    was: str
    becomes: str


def digests(files: Mapping[str, str]) -> dict[str, str]:
    """Return what is remembered of each table written: short digests of its rows."""
    return {
        name: " ".join(digest_of(row) for row in rows_of(files[f"{name}.csv"]))
        for name in TABLES
        if f"{name}.csv" in files
    }


def rows_of(text: str) -> list[Row]:
    """The filled cells of each row of a table of ours."""
    rows = csv.DictReader(io.StringIO(text, newline=""))
    return [
        tuple(sorted((str(k), unguarded(str(v).strip())) for k, v in row.items() if _filled(v)))
        for row in rows
    ]


def _filled(cell: object) -> bool:
    return isinstance(cell, str) and bool(cell.strip())


def digest_of(row: Row) -> str:
    """A short digest of a row, by which it is known again."""
    return hashlib.sha256(json.dumps(row).encode()).hexdigest()[:8]


def refuse_workbooks(folder: Path) -> None:
    """Refuse a folder that holds a table in a form that is not written to.

    Raises
    ------
    UsageError
        Naming the file.
    """
    for name in TABLES:
        other = [path.name for path in folder.glob(f"{name}.*") if path.suffix.lower() in BOOKS]
        if other:
            raise UsageError(
                f"{folder} holds {other[0]}, which is not written to: save the sheet as {name}.csv "
                f"and delete {other[0]}"
            )


def core_of(row: Row) -> Row:
    """A row without the notes, which say where the book had something else."""
    return tuple(cell for cell in row if cell[0] != "notes")


def text_of(path: Path) -> str:
    """The text of a table of the folder; "" where there is none.

    Raises
    ------
    UsageError
        If it cannot be read.
    """
    try:
        return path.read_text(encoding="utf-8-sig") if path.exists() else ""
    except OSError as error:
        raise UsageError(f"{path} cannot be read: {reason(error)}") from error
    except UnicodeDecodeError as error:
        raise UsageError(f'{path} is not UTF-8 text: save it again as "CSV UTF-8"') from error


def subject_of(name: str, row: Row) -> str:
    """What a row is about, in the words that tell it from others."""
    cells = dict(row)
    told = [cells[key] for key in KEYS[name] if key in cells]
    return ", ".join(told or [text for _, text in row][:3])


def changes(folder: Path, files: Mapping[str, str]) -> list[Changed]:
    """Every cell and row that would be other than the folder has it, in the order of the tables."""
    return [
        one
        for name in TABLES
        for one in _table_changes(
            name, rows_of(text_of(folder / f"{name}.csv")), rows_of(files.get(f"{name}.csv", ""))
        )
    ]


def _table_changes(name: str, old: Sequence[Row], new: Sequence[Row]) -> Iterable[Changed]:
    before, after = keyed(name, old), keyed(name, new)
    for key, row in after.items():
        was = before.get(key)
        if was is None:
            yield _whole(name, row, "", "new row")
        elif was != row:
            yield from _cells(name, was, row)
    for key, row in before.items():
        if key not in after:
            yield _whole(name, row, "row", "")


def keyed(name: str, rows: Sequence[Row]) -> dict[tuple[object, ...], Row]:
    """The rows by what tells them apart, those alike in that counted."""
    keyed: dict[tuple[object, ...], Row] = {}
    counts: dict[tuple[str, ...], int] = {}
    for row in rows:
        cells = dict(row)
        key = tuple(cells.get(column, "") for column in KEYS[name])
        counts[key] = counts.get(key, 0) + 1
        keyed[(*key, counts[key])] = row
    return keyed


def _whole(name: str, row: Row, was: str, becomes: str) -> Changed:
    return Changed(
        file=f"{name}.csv", subject=subject_of(name, row), column="", was=was, becomes=becomes
    )


def _cells(name: str, old: Row, new: Row) -> Iterable[Changed]:
    was, becomes = dict(old), dict(new)
    for column in dict.fromkeys([*was, *becomes]):
        if was.get(column, "") != becomes.get(column, ""):
            yield Changed(
                file=f"{name}.csv",
                subject=subject_of(name, new),
                column=column,
                was=was.get(column, ""),
                becomes=becomes.get(column, ""),
            )


def to_write(folder: Path, files: Mapping[str, str]) -> dict[str, str]:
    """The files whose text differs from the folder's; its settings are the keeper's own by now."""
    differ = {
        name: text
        for name, text in files.items()
        if name != SETTINGS_FILE
        and (name in {NOT_TAKEN, TAKEN_AS} or rows_of(text) or (folder / name).exists())
    }
    return {name: text for name, text in differ.items() if text_of(folder / name) != text}


def inputs_of(folder: Path, names: Iterable[str]) -> dict[str, str]:
    """The digests of files as they are, for writing them together; those not there are left out."""
    return {
        name: hashlib.sha256((folder / name).read_bytes()).hexdigest()
        for name in names
        if (folder / name).exists()
    }
