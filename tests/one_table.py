"""One table of a flock folder written as the commands write theirs, for tests of what is read."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.tables.amend import Amendment, amended
from matchmaker.tables.render import table_rows
from matchmaker.tables.write import csv_text
from matchmaker.tables.write_together import write_together

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from matchmaker.tables.folder import FolderTables


def amend_table(
    folder: Path, table: str, amendment: Amendment, tables: FolderTables, *, stamp: str = ""
) -> tuple[Path, Path | None]:
    """Change a table; return the file and the kept copy of the one before (``None``: none was)."""
    path, text = amended(folder, table, amendment, tables)
    (done,) = write_together([(path, text)], tables.inputs, stamp=stamp)
    return path, done.copy


def write_table(path: Path, table: str, records: Sequence[object]) -> None:
    """Write records as a table, from which the same records are read, their rows counted anew."""
    path.write_bytes(csv_text(*table_rows(table, records)).encode())
