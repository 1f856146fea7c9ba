"""What ``--undo`` does, whichever command it stands with."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.cli.interrupt import written_whole
from matchmaker.cli.options import refuse_beside
from matchmaker.cli.output import Output
from matchmaker.cli.writing import stamp_now
from matchmaker.report.undo import print_taken_back, undo_document
from matchmaker.tables.undo import take_back

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

_NAMED_OTHERWISE = {"form": "from", "everything": "all"}
"""Options whose word is none for a name in a program."""


def run_undo(options: Mapping[str, object]) -> None:
    """Take back the last write to the folder; ``options`` are all those of the command.

    Raises
    ------
    UsageError
        If there is no write to take back, it cannot be, or another option stands beside.
    """
    folder: Path = options["folder"]  # type: ignore[assignment]
    others = {
        f"--{_NAMED_OTHERWISE.get(name, name).replace('_', '-')}": value is not None
        and value is not False
        and value != ""
        for name, value in options.items()
        if name not in {"folder", "json", "undo"}
    }
    refuse_beside("--undo", others)
    with written_whole():
        done = take_back(folder, stamp=stamp_now())
    Output(json=bool(options["json"])).show(
        lambda console: print_taken_back(console, done), lambda: undo_document(done)
    )
