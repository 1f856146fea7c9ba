"""What ``--undo`` says: which write is taken back, what each file is now, what comes next."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker import __version__
from matchmaker.report.screen import say

if TYPE_CHECKING:
    from rich.console import Console

    from matchmaker.report.documents import Document
    from matchmaker.tables.history import FileChange, Write
    from matchmaker.tables.undo import TakenBack
    from matchmaker.tables.write_together import Replaced


def print_taken_back(console: Console, done: TakenBack) -> None:
    """Print what was taken back, file by file."""
    say(console, f"Taken back: {done.write.words}", style="bold")
    for change, file in zip(done.write.files, done.files, strict=True):
        say(console, _sentence(change, file), indent=2)
    if done.before_it is None:
        say(console, "No write before it is remembered.")
    else:
        say(console, f"--undo once more takes back: {done.before_it.words}")


def _sentence(change: FileChange, file: Replaced) -> str:
    now = "is gone, for there was none before"
    if change.before is not None:
        now = "is again what it was before"
    kept = f" What it was just now is kept in {file.copy.name}." if file.copy else ""
    return f"{change.name} {now}.{kept}"


def undo_document(done: TakenBack) -> Document:
    """What was taken back; ``inputs`` are the files as they are now."""
    return {
        "schema": "matchmaker/undo/1",
        "version": __version__,
        "inputs": {one.name: one.before for one in done.write.files if one.before is not None},
        "defaults": [],
        "taken_back": _write(done.write),
        "files": [
            {
                "file": change.name,
                "there": change.before is not None,
                "kept": file.copy.name if file.copy else None,
            }
            for change, file in zip(done.write.files, done.files, strict=True)
        ],
        "next": None if done.before_it is None else _write(done.before_it),
    }


def _write(write: Write) -> Document:
    return {"command": write.told, "at": write.when}
