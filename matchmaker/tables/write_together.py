"""Change several files of a flock folder so that all of them change or none does.

Whatever stops the program, and whenever, the folder is as before or can be completed: every new
content is on the disk, and every old one in its kept copy, before the history says ``WRITING`` and
the first file takes its name. ``unfinished`` goes by the same history.
"""

from __future__ import annotations

import datetime as dt
import os
import secrets
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from matchmaker.errors import UsageError
from matchmaker.tables.disk import (
    digest,
    digest_of,
    free_name,
    in_words,
    put_in_place,
    reason,
    refuse_unwritable,
    sync_folders,
    take_away,
    target_of,
    write_durably,
)
from matchmaker.tables.history import FileChange, History, Stage, Write, read_history, save_history
from matchmaker.tables.lock import locked
from matchmaker.tables.unfinished import finish, restore

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path


@dataclass(frozen=True, slots=True, kw_only=True)
class Replaced:
    """A file that was written, and the kept copy of the one before (``None``: there was none)."""

    path: Path
    copy: Path | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Errand:
    """What a write is for: the command's words, the stamp of its copies, what it takes back."""

    told: str = ""
    stamp: str = ""
    takes_back: str = ""


def write_together(
    files: Sequence[tuple[Path, str]],
    inputs: Mapping[str, str],
    *,
    stamp: str = "",
    told: str = "",
) -> tuple[Replaced, ...]:
    """Replace files of one flock folder, all of them or none.

    ``inputs`` maps the name of each file to the SHA-256 of what it held when the texts were made;
    a name that is missing means that there was no such file. ``told`` are the words of the command
    (``plan --write``), by which ``--undo`` calls this write. After a failure the folder is as it
    was, the copies made on the way are gone too.

    Raises
    ------
    UsageError
        If a file was changed since, is open in a spreadsheet, or cannot be written, or another
        program is writing to the folder; nothing is changed then.
    """
    if not files:
        return ()
    (folder,) = {path.parent for path, _ in files}
    with in_words(folder), locked(folder):
        refuse_stuck(folder)
        for path, _ in files:
            if digest(path) != inputs.get(path.name):
                raise UsageError(f"{path} was changed while this command ran: run it again")
        contents = [(path, text.encode()) for path, text in files]
        return change_files(folder, contents, Errand(told=told, stamp=stamp))


def refuse_stuck(folder: Path) -> None:
    """Complete or take back a write that was stopped; only who holds the lock may.

    Raises
    ------
    UsageError
        If neither can be done.
    """
    settled = finish(folder)
    if settled is not None and settled.stops:
        raise UsageError(f"{settled.fault.problem}. {settled.fault.mend}")


def change_files(
    folder: Path, contents: Sequence[tuple[Path, bytes | None]], errand: Errand
) -> tuple[Replaced, ...]:
    """Give files new contents (``None``: delete it); only who holds the lock may.

    Raises
    ------
    UsageError
        If one cannot be written; nothing is changed then.
    """
    for path, _ in contents:
        refuse_unwritable(path, target_of(path))
    write = _begun(contents, errand)
    history = read_history(folder)
    done = tuple(
        Replaced(path=path, copy=change.kept(folder))
        for (path, _), change in zip(contents, write.files, strict=True)
    )
    try:
        save_history(folder, history.with_write(write))
        _prepare(folder, write, [content for _, content in contents])
        write = replace(write, stage=Stage.WRITING)
        save_history(folder, history.with_write(write))
        _put_in_place(folder, write)
    except BaseException as error:
        _take_back(folder, write, history, error)
        raise
    with suppress(OSError):  # all is written: the next command can note so as well
        save_history(folder, history.with_write(replace(write, stage=Stage.DONE)))
    return done


def _begun(contents: Sequence[tuple[Path, bytes | None]], errand: Errand) -> Write:
    """Everything that will be done, told before any of it is."""
    changes = []
    for path, content in contents:
        target, before = target_of(path), digest(path)
        copy = None if before is None else free_name(target, errand.stamp).name
        changes.append(
            FileChange(name=path.name, before=before, after=digest_of(content), copy=copy)
        )
    now = dt.datetime.now(tz=dt.UTC).astimezone()
    return Write(
        token=secrets.token_hex(6),
        told=errand.told,
        when=now.isoformat(timespec="seconds"),
        process=os.getpid(),
        stage=Stage.PREPARING,
        files=tuple(changes),
        takes_back=errand.takes_back,
    )


def _prepare(folder: Path, write: Write, contents: Sequence[bytes | None]) -> None:
    """Put the new contents and the kept copies on the disk, beside the files."""
    touched = []
    for change, content in zip(write.files, contents, strict=True):
        target, copy = change.target(folder), change.kept(folder)
        touched.append(target)
        if content is not None:
            write_durably(write.new_file(change, folder), content, like=target)
        if copy is not None:
            held = target.read_bytes()
            if digest_of(held) != change.before:
                raise UsageError(f"{target} was changed while this command ran: run it again")
            write_durably(copy, held, like=target)
    sync_folders(touched)


def _put_in_place(folder: Path, write: Write) -> None:
    for change in write.files:
        if change.after is None:
            take_away(change.target(folder))
        else:
            put_in_place(write.new_file(change, folder), change.target(folder))
    sync_folders(change.target(folder) for change in write.files)


def _take_back(folder: Path, write: Write, history: History, error: BaseException) -> None:
    """Undo what was done; the error is told in words where it came from the disk."""
    stuck = restore(folder, write)
    if not stuck:
        with suppress(OSError):  # a write that is not done is taken back by the next command too
            save_history(folder, history)
    words = reason(error) if isinstance(error, OSError) else str(error)
    name = ", ".join(str(folder / change.name) for change in write.files)
    if stuck:
        raise UsageError(
            f"{name} cannot be written: {words}. Nor can these be put back now: {stuck}. Once the "
            "disk can be written to again, the next command completes all of it or takes all back"
        ) from error
    if isinstance(error, OSError):
        raise UsageError(f"{name} cannot be written: {words}") from error
