"""The options that several commands share."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from matchmaker.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Mapping


def _settled(folder: Path) -> Path:
    """Complete or take back a write to the folder that was stopped, and say so."""
    from matchmaker.cli.streams import note
    from matchmaker.tables.unfinished import settle

    settled = settle(folder)
    if settled is not None and not settled.stops:  # else reading the folder refuses it
        note(f"{settled.fault.problem}; {settled.fault.mend}.")
    return folder


Folder = Annotated[
    Path,
    typer.Option(
        "--in",
        metavar="FOLDER",
        help="The flock folder.",
        show_default="this folder",
        callback=_settled,
    ),
]
Json = Annotated[bool, typer.Option("--json", help="Print the answer as JSON, for other programs.")]
Csv = Annotated[
    Path | None,
    typer.Option(
        "--csv", metavar="FILE", help="Also write the rows to a CSV file, for a spreadsheet."
    ),
]
Force = Annotated[bool, typer.Option("--force", help="Write over files that exist.")]
Undo = Annotated[bool, typer.Option("--undo", help="Take back the last write to the tables.")]

HERE = Path()
"""The current folder, the default of ``--in``."""


def refuse_beside(option: str, others: Mapping[str, object]) -> None:
    """Refuse options that would have no effect beside another.

    Raises
    ------
    UsageError
        Naming those that are given (true).
    """
    useless = [name for name, given in others.items() if given]
    if useless:
        raise UsageError(f"{option} takes no {' or '.join(useless)} beside it")


def refuse_without(option: str, others: Mapping[str, object]) -> None:
    """Refuse options that say something of another one that is not there.

    Raises
    ------
    UsageError
        Naming those that are given (true).
    """
    useless = [name for name, given in others.items() if given]
    if useless:
        raise UsageError(
            f"{' and '.join(useless)} can only stand with {option}: add it, or leave the rest out"
        )
