"""A table that the keeper names with a command: found, checked for what it is, opened."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.errors import InputError, UsageError
from matchmaker.tables.header import Sheet, read_header
from matchmaker.tables.raw import BOOKS, TEXT_FILES, RawTable, read_bytes, read_raw

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.tables.findings import Findings
    from matchmaker.tables.reading import Hints
    from matchmaker.tables.schema import Table


def find_given(file: Path, folder: Path | None = None, *, hint: str = "") -> Path:
    """Return the file that is meant; one that is not here is looked for in the flock's folder.

    Raises
    ------
    UsageError
        If there is no such file (``hint`` then says where one comes from), or it is no table.
    """
    if not file.exists() and folder is not None and (folder / file).exists():
        file = folder / file
    if not file.exists():
        raise UsageError(f"there is no file {file}{hint}")
    if file.suffix.lower() not in TEXT_FILES | BOOKS:
        raise UsageError(f"{file} is not a table (CSV, XLSX, XLS or ODS)")
    return file


def open_given(
    file: Path, table: Table, hints: Hints, findings: Findings
) -> tuple[RawTable | None, Sheet | None]:
    """Return the rows of a file and its columns told apart; ``None`` where a fault was found."""
    content = read_bytes(file, findings)
    raw = None if content is None else read_raw(file.name, content, table, findings)
    return raw, None if raw is None else read_header(raw, table, hints, findings)


def stop_at_faults(findings: Findings) -> None:
    """Refuse a file with faults, naming every one in its order.

    Raises
    ------
    InputError
        If there are any.
    """
    if findings.faults:
        raise InputError(tuple(sorted(findings.faults, key=lambda fault: fault.order)))
