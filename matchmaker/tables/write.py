"""Write text and tables so that a stop half-way loses nothing and nothing is replaced unasked."""

from __future__ import annotations

import os
from contextlib import suppress
from typing import TYPE_CHECKING, Final

from matchmaker.errors import UsageError, WouldOverwriteError
from matchmaker.tables.columns import TABLES
from matchmaker.tables.folder import SETTINGS_FILE
from matchmaker.tables.render import table_rows

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

_FORMULA_STARTS: Final = ("=", "+", "-", "@", "\t", "\r")

Cell = str | int | float | None


def write_text_atomically(
    path: Path, text: str, *, overwrite: bool = False, keep_copy: bool = True, stamp: str = ""
) -> Path | None:
    """Write a file whole or not at all; return the kept copy of what it replaced, if any.

    The text goes to a file beside the target, is forced to disk and takes the target's name in
    one step. ``keep_copy`` keeps the previous version as ``NAME.STAMP.bak``; without a stamp, or
    if that name is taken, a number is put in its place.

    Raises
    ------
    WouldOverwriteError
        If the file exists and ``overwrite`` is not given.
    UsageError
        If the file cannot be written.
    """
    path = path.resolve()
    exists = path.exists()
    _refuse_existing(path, overwrite=overwrite)
    temporary = path.with_name(f".{path.name}.{os.getpid()}.tmp")
    try:
        _write_to_disk(temporary, text)
        copy = _keep(path, stamp) if exists and keep_copy else None
        _take_permissions(path, temporary)
        temporary.replace(path)
    except OSError as error:
        raise UsageError(f"{path} cannot be written: {error.strerror or error}") from error
    finally:
        with suppress(OSError):
            temporary.unlink(missing_ok=True)
    return copy


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
    own = path.name == SETTINGS_FILE or path.stem.lower() in TABLES
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


def csv_text(
    header: Sequence[str], rows: Iterable[Sequence[Cell]], *, for_spreadsheets: bool = True
) -> str:
    """Return a table as CSV: commas, quotation marks where needed, one line break a row.

    ``for_spreadsheets`` puts ``'`` before text that a spreadsheet would run as a formula. Tables
    that are read back are written without it, as a band may well begin with a minus.

    Examples
    --------
    >>> print(csv_text(["hen", "why"], [["H1", "=1+1"], ["H2", "calm, tame"]]), end="")
    hen,why
    H1,'=1+1
    H2,"calm, tame"
    """
    lines = [",".join(_quoted(cell, guarded=for_spreadsheets) for cell in header)]
    lines += [",".join(_quoted(cell, guarded=for_spreadsheets) for cell in row) for row in rows]
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
    _refuse_own_table(path.resolve())
    write_text_atomically(path, csv_text(header, rows), overwrite=overwrite, keep_copy=False)


def write_table(
    path: Path,
    table: str,
    records: Sequence[object],
    *,
    overwrite: bool = False,
    stamp: str = "",
) -> Path | None:
    """Write records as a table of the flock folder; return the kept copy of the old one, if any.

    What is written reads back as the same records, their rows counted anew.
    """
    header, rows = table_rows(table, records)
    text = csv_text(header, rows, for_spreadsheets=False)
    return write_text_atomically(path, text, overwrite=overwrite, stamp=stamp)


def _write_to_disk(path: Path, text: str) -> None:
    with path.open("w", encoding="utf-8", newline="") as stream:
        stream.write(text)
        stream.flush()
        os.fsync(stream.fileno())


def _take_permissions(path: Path, temporary: Path) -> None:
    if path.exists():
        temporary.chmod(path.stat().st_mode & 0o777)


def _keep(path: Path, stamp: str) -> Path:
    names = (f"{path.name}.{part}.bak" for part in _parts(stamp))
    copy = next(path.with_name(name) for name in names if not path.with_name(name).exists())
    copy.write_bytes(path.read_bytes())
    return copy


def _parts(stamp: str) -> Iterable[str]:
    if stamp:
        yield stamp
    number = 1
    while True:
        yield f"{stamp}-{number}" if stamp else str(number)
        number += 1


def _quoted(cell: Cell, *, guarded: bool) -> str:
    text = "" if cell is None else str(cell)
    if guarded and isinstance(cell, str) and _runs_as_formula(text):
        text = f"'{text}"
    if any(letter in text for letter in ',"\n\r') or text != text.strip():
        return '"' + text.replace('"', '""') + '"'
    return text


def _runs_as_formula(text: str) -> bool:
    if not text.startswith(_FORMULA_STARTS):
        return False
    try:
        float(text)
    except ValueError:
        return True
    return False
