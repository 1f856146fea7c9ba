"""Exports, and the text of tables: whole or not at all, and nothing is replaced unasked."""

from __future__ import annotations

import os
from contextlib import suppress
from typing import TYPE_CHECKING

from matchmaker.errors import UsageError, WouldOverwriteError
from matchmaker.tables.columns import TABLES
from matchmaker.tables.disk import (
    put_in_place,
    reason,
    sync_folders,
    take_away,
    target_of,
    write_durably,
)
from matchmaker.tables.folder import SETTINGS_FILE
from matchmaker.tables.formulas import guarded
from matchmaker.tables.raw import table_named

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

Cell = str | int | float | None


def write_text_atomically(path: Path, text: str, *, overwrite: bool = False) -> None:
    """Write a file whole or not at all.

    The text goes to a file beside the target, is forced to disk and takes the target's name in
    one step. No copy of what it replaces is kept: tables of a flock go by ``write_together``.

    Raises
    ------
    WouldOverwriteError
        If the file exists and ``overwrite`` is not given.
    UsageError
        If the file is a table of a flock folder, or cannot be written.
    """
    _refuse_own_table(path.resolve())
    _refuse_existing(path, overwrite=overwrite)
    path = target_of(path)
    temporary = path.with_name(f".{path.name}.{os.getpid()}.tmp")
    try:
        temporary.unlink(missing_ok=True)
        write_durably(temporary, text.encode(), like=path)
        put_in_place(temporary, path)
        sync_folders([path])
    except OSError as error:
        raise UsageError(f"{path} cannot be written: {reason(error)}") from error
    finally:
        with suppress(OSError):
            take_away(temporary)


def refuse_target(path: Path, *, overwrite: bool) -> None:
    """Refuse a file that could not be written later, before a long work is done for it.

    Raises
    ------
    WouldOverwriteError
        If the file exists and ``overwrite`` is not given.
    UsageError
        If there is no such folder to write it in, it is a folder itself or a table of a flock.
    """
    path = path.resolve()
    if not path.parent.is_dir():
        raise UsageError(f"{path} cannot be written: there is no folder {path.parent}")
    if path.is_dir():
        raise UsageError(f"{path} cannot be written: it is a folder; name a file in it")
    _refuse_own_table(path)
    _refuse_existing(path, overwrite=overwrite)


def _refuse_own_table(path: Path) -> None:
    """Refuse what would put an answer in the place of the books it was made from."""
    own = path.name == SETTINGS_FILE or table_named(path.name) in TABLES
    if own and path.exists() and (path.parent / SETTINGS_FILE).exists():
        raise UsageError(
            f"{path} is a table of the flock itself and is not written over, --force or not: name "
            "another file"
        )


def _refuse_existing(path: Path, *, overwrite: bool) -> None:
    if path.exists() and not overwrite:
        raise WouldOverwriteError(
            f"{path} exists already: name another file, or write over it with --force"
        )


def csv_text(header: Sequence[str], rows: Iterable[Sequence[Cell]]) -> str:
    """Return a table as CSV: commas, quotation marks where needed, one line break a row.

    What a spreadsheet would run as a formula is guarded (see ``formulas``).

    Examples
    --------
    >>> print(csv_text(["hen", "why"], [["H1", "=1+1"], ["H2", "calm, tame"]]), end="")
    hen,why
    H1,'=1+1
    H2,"calm, tame"
    """
    lines = [",".join(_quoted(cell) for cell in header)]
    lines += [",".join(_quoted(cell) for cell in row) for row in rows]
    return "".join(f"{line}\n" for line in lines)


def write_csv(
    path: Path,
    header: Sequence[str],
    rows: Iterable[Sequence[Cell]],
    *,
    overwrite: bool = False,
) -> None:
    """Export rows for a spreadsheet (see ``csv_text`` and ``write_text_atomically``).

    Raises
    ------
    UsageError
        If the file is a table of a flock folder, or cannot be written.
    WouldOverwriteError
        If the file exists and ``overwrite`` is not given.
    """
    write_text_atomically(path, csv_text(header, rows), overwrite=overwrite)


def _quoted(cell: Cell) -> str:
    text = "" if cell is None else str(cell)
    if isinstance(cell, str):
        text = guarded(text)
    if any(letter in text for letter in ',"\n\r') or text != text.strip():
        return '"' + text.replace('"', '""') + '"'
    return text
