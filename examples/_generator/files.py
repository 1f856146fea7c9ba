"""Writing the tables as a keeper's spreadsheet leaves them."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

Row = Sequence[object]


def write_table(
    path: Path,
    header: Sequence[str],
    rows: Iterable[Row],
    *,
    delimiter: str = ",",
    bom: bool = False,
) -> None:
    """Write one table; an empty cell for ``None``."""
    text = io.StringIO()
    writer = csv.writer(text, delimiter=delimiter, lineterminator="\n")
    writer.writerow(header)
    writer.writerows([["" if cell is None else cell for cell in row] for row in rows])
    path.write_bytes(text.getvalue().encode("utf-8-sig" if bom else "utf-8"))


def number(value: float) -> str:
    """Return a measure without a needless decimal point."""
    return f"{value:.2f}".rstrip("0").rstrip(".")
