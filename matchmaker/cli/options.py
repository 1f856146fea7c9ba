"""The options that several commands share."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

Folder = Annotated[Path, typer.Option("--in", metavar="FOLDER", help="The flock folder.")]
Json = Annotated[bool, typer.Option("--json", help="Print one JSON document instead of tables.")]
Csv = Annotated[
    Path | None, typer.Option("--csv", metavar="FILE", help="Also write the rows to a CSV file.")
]
Force = Annotated[bool, typer.Option("--force", help="Replace files that exist.")]

HERE = Path()
"""The current folder, the default of ``--in``."""
