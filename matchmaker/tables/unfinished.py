"""A write that was stopped half-way: completed, or taken back, by the next command."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from matchmaker.errors import Fault, UsageError
from matchmaker.tables.disk import (
    digest,
    in_words,
    put_in_place,
    reason,
    sync_folders,
    take_away,
)
from matchmaker.tables.history import (
    HISTORY_FILE,
    Stage,
    Write,
    left_over,
    read_history,
    save_history,
)
from matchmaker.tables.lock import NotWritableError, locked

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.tables.history import FileChange


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled:
    """What became of a write that was stopped; ``stops``: the tables cannot be used as they are."""

    fault: Fault
    stops: bool = False


def settle(folder: Path) -> Settled | None:
    """Complete or take back a write that was stopped; ``None`` where there is none.

    Raises
    ------
    UsageError
        If another program is still writing.
    """
    with in_words(folder):
        write = read_history(folder).unfinished
        if write is None:
            _tidy(folder)
            return None
    try:
        with in_words(folder), locked(folder):
            return finish(folder)
    except NotWritableError as error:
        return _left_alone(folder, write, str(error))


def _tidy(folder: Path) -> None:
    """Delete a history that was never finished, unless somebody is just writing it."""
    if left_over(folder).exists():
        with suppress(OSError, UsageError), locked(folder, wait=0):
            take_away(left_over(folder))


def finish(folder: Path) -> Settled | None:
    """As ``settle``, for who holds the lock already."""
    history = read_history(folder)
    write = history.unfinished
    if write is None:
        return None
    try:
        if write.stage is Stage.WRITING and _can_go_on(folder, write):
            _go_on(folder, write)
            save_history(folder, history.with_write(replace(write, stage=Stage.DONE)))
            return Settled(fault=_told(write, "write-finished", _FINISHED, _LOOK))
        stuck = restore(folder, write)
        if stuck:
            mend = f"put back by hand {stuck}, and delete {folder / HISTORY_FILE}"
            return Settled(fault=_told(write, "write-stuck", _HALF, mend), stops=True)
        save_history(folder, history.without(write))
    except (OSError, UsageError) as error:
        return _left_alone(folder, write, f"it could not be completed now: {_words(error)}")
    return Settled(fault=_told(write, "write-taken-back", _TAKEN_BACK, _AGAIN))


_FINISHED = "was stopped while it wrote; what it had begun is now completed: {names}"
_TAKEN_BACK = "was stopped while it wrote; what it had begun is taken back, and these are as they "
_TAKEN_BACK += "were: {names}"
_HALF = "was stopped while it wrote, and some of these may be new and some old: {names}"
_UNTOUCHED = "was stopped while it wrote; all of these agree with one another: {names}"
_LOOK = "nothing is to be done; matchmaker plan --undo takes it back"
_AGAIN = "run that command again if you still want it"


def restore(folder: Path, write: Write) -> str:
    """Put every file back that the write has changed, and delete what it left lying about.

    Return, in words, what could not be put back, and where what it held is; else nothing. Where a
    kept copy is not sound nothing is done. A file that was changed by hand since stays as it is.
    """
    for step in (_look, _put_back):
        stuck = []
        for change in write.files:
            try:
                step(folder, write, change)
            except (OSError, UsageError):
                held = "there was none before"
                if change.copy is not None:
                    held = f"what it held before should be in {change.copy}"
                stuck.append(f"{folder / change.name} ({held})")
        if stuck:
            return "; ".join(stuck)
    with suppress(OSError, UsageError):
        sync_folders(change.target(folder) for change in write.files)
    return ""


def _look(folder: Path, write: Write, change: FileChange) -> None:
    """Refuse a copy that is not what was kept, if it is needed."""
    copy = change.kept(folder)
    if copy is not None and _has_changed(folder, write, change) and digest(copy) != change.before:
        raise UsageError(f"{copy} is not any more what was kept")


def _put_back(folder: Path, write: Write, change: FileChange) -> None:
    """Undo what was done to one file.

    The copy takes the old name again, which needs no room on the disk.
    """
    target, copy = change.target(folder), change.kept(folder)
    if _has_changed(folder, write, change):
        if copy is None:
            take_away(target)
        else:
            put_in_place(copy, target)
    take_away(write.new_file(change, folder))
    if copy is not None and digest(target) == change.before:
        take_away(copy)


def _has_changed(folder: Path, write: Write, change: FileChange) -> bool:
    """Whether the write has changed the file, and nobody has since."""
    reached = write.stage is Stage.WRITING and change.after != change.before
    return reached and digest(change.target(folder)) == change.after


def _can_go_on(folder: Path, write: Write) -> bool:
    """Whether each file is written, or can be without anything being lost."""
    return all(_written(folder, change) or _ready(folder, write, change) for change in write.files)


def _written(folder: Path, change: FileChange) -> bool:
    return digest(change.target(folder)) == change.after


def _ready(folder: Path, write: Write, change: FileChange) -> bool:
    target, copy = change.target(folder), change.kept(folder)
    if digest(target) != change.before or (copy is not None and digest(copy) != change.before):
        return False
    return change.after is None or digest(write.new_file(change, folder)) == change.after


def _go_on(folder: Path, write: Write) -> None:
    for change in write.files:
        target, fresh = change.target(folder), write.new_file(change, folder)
        if _written(folder, change):
            take_away(fresh)
        elif change.after is None:
            take_away(target)
        else:
            put_in_place(fresh, target)
    sync_folders(change.target(folder) for change in write.files)


def _words(error: OSError | UsageError) -> str:
    return reason(error) if isinstance(error, OSError) else str(error)


def _left_alone(folder: Path, write: Write, why: str) -> Settled:
    """What is to be said of a folder that cannot be written to now; ``why`` tells the cause."""
    now = [digest(change.target(folder)) for change in write.files]
    before = [change.before for change in write.files]
    after = [change.after for change in write.files]
    if now in (before, after):
        mend = f"nothing is to be done before the next write; {why}"
        return Settled(fault=_told(write, "write-unfinished", _UNTOUCHED, mend))
    mend = f"{why}; then run matchmaker check, which completes it"
    return Settled(fault=_told(write, "write-unfinished", _HALF, mend), stops=True)


def _told(write: Write, kind: str, problem: str, mend: str) -> Fault:
    names = ", ".join(change.name for change in write.files)
    return Fault(
        kind=kind,
        file=write.files[0].name if write.files else HISTORY_FILE,
        problem=f"{write.words} {problem.format(names=names)}",
        mend=mend,
    )
