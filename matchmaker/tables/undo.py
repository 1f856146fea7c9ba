"""Take back the last write to a flock folder: every table of it is again what it was before."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.errors import UsageError
from matchmaker.tables.disk import content_of, digest_of, in_words
from matchmaker.tables.history import REMEMBERED, read_history
from matchmaker.tables.lock import locked
from matchmaker.tables.write_together import Errand, change_files, refuse_stuck

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.tables.history import FileChange, Write
    from matchmaker.tables.write_together import Replaced


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenBack:
    """The write that was taken back, the files with copies of what it had made, and the next."""

    write: Write
    files: tuple[Replaced, ...]
    before_it: Write | None


def take_back(folder: Path, *, stamp: str = "") -> TakenBack:
    """Take back the last write that still stands: all its files, or none.

    Copies of what is taken back are kept. Once more takes back the write before it.

    Raises
    ------
    UsageError
        If there is none, a file was changed by hand since, or one cannot be written.
    """
    with in_words(folder), locked(folder):
        refuse_stuck(folder)
        history = read_history(folder)
        write = history.standing
        if write is None:
            raise UsageError(
                f"{folder} remembers no write to take back (the last {REMEMBERED} are "
                "remembered); older versions of a table are in its kept copies, NAME.DATE.bak"
            )
        for change in write.files:
            _refuse_changed(folder, write, change)
        contents = [(folder / change.name, _before(folder, change)) for change in write.files]
        errand = Errand(told=f"{write.told} --undo", stamp=stamp, takes_back=write.token)
        files = change_files(folder, contents, errand)
        return TakenBack(write=write, files=files, before_it=history.without(write).standing)


def _refuse_changed(folder: Path, write: Write, change: FileChange) -> None:
    """Let no work of the keeper's own be taken back with it."""
    path = folder / change.name
    if digest_of(content_of(change.target(folder))) == change.after:
        return
    held = (
        "there was none before"
        if change.copy is None
        else f"what it held before is in {change.copy}"
    )
    raise UsageError(
        f"{path} was changed after {write.words} wrote it, so nothing was taken back: that change "
        f"would be lost. By hand: {held}"
    )


def _before(folder: Path, change: FileChange) -> bytes | None:
    copy = change.kept(folder)
    if copy is None:
        return None
    content = content_of(copy)
    if digest_of(content) != change.before:
        raise UsageError(
            f"{copy} is not any more what was kept of {change.name}, so nothing was taken back: "
            "put the copy back under that name, or mend the table by hand"
        )
    return content
