"""Tables written, all of them or none, and what is said about it."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from matchmaker.cli.interrupt import written_whole
from matchmaker.cli.streams import note
from matchmaker.tables.flock_folder import as_typed
from matchmaker.tables.write_together import write_together

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

    from matchmaker.tables.folder import FolderTables
    from matchmaker.tables.write_together import Replaced


def stamp_now() -> str:
    """The day and time that stand in the names of kept copies."""
    return dt.datetime.now(tz=dt.UTC).strftime("%Y%m%d-%H%M%S")


def write_down(
    files: Sequence[tuple[Path, str]], tables: FolderTables, told: str
) -> tuple[Replaced, ...]:
    """Write files of the folder that the tables were read from, and say so.

    ``told`` are the words of the command, by which ``--undo`` calls the write.

    Raises
    ------
    UsageError
        If one cannot be written or was changed since; nothing is changed then.
    """
    with written_whole():
        done = write_together(files, tables.inputs, stamp=stamp_now(), told=told)
    say_written(done, tables.folder, told)
    return done


def say_written(done: Iterable[Replaced], folder: Path, told: str) -> None:
    """Say which files were written, where those before are, and how to take it back."""
    done = tuple(done)
    for one in done:
        copy = f" The file before is kept in {one.copy.name}." if one.copy else ""
        note(f"Wrote {one.path}.{copy}")
    if done:
        command = told.partition(" ")[0]
        note(f"To take it back: matchmaker {command} --undo --in {as_typed(folder)}")
