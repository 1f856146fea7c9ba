"""Lists as an office program of a country with a decimal comma exports them."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from typing import TYPE_CHECKING

from _books.paper import shown

if TYPE_CHECKING:
    from pathlib import Path

    from _books.paper import Sheet


@dataclass(frozen=True, slots=True, kw_only=True)
class Export:
    """How a list is exported; ``named`` puts a first line ``sep=`` above it."""

    separator: str
    encoding: str
    named: bool = False


def write_text(sheet: Sheet, path: Path, export: Export) -> None:
    """Write a list with lines ended as on Windows."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, delimiter=export.separator, lineterminator="\r\n")
    width = len(sheet.columns)
    for row in sheet.rows:
        values = row.loose or tuple(row.cells.get(key) for key, _ in sheet.columns)
        cells = [shown(value) for value in values]
        writer.writerow(cells + [""] * (width - len(cells)))
    first = f"sep={export.separator}\r\n" if export.named else ""
    path.write_bytes((first + text.getvalue()).encode(export.encoding))
