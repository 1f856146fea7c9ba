"""The writes to a flock folder: one that may still be under way, and those before it."""

from __future__ import annotations

import json
import re
import stat
from dataclasses import asdict, dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Any, Final

from matchmaker.tables.disk import (
    free_name,
    put_in_place,
    sync_folders,
    take_away,
    target_of,
    write_durably,
)

if TYPE_CHECKING:
    from pathlib import Path

OWN_MARK: Final = ".matchmaker"
"""The names of our own files in a flock folder, none of which is a table, begin so."""

HISTORY_FILE: Final = f"{OWN_MARK}-writes.json"
"""In the flock folder; whoever deletes it loses the way back, and nothing else."""

REMEMBERED: Final = 50
"""Writes that can be taken back, the newest of all."""

SCHEMA: Final = "matchmaker/writes/1"

_TOO_LARGE: Final = 5_000_000
_TOKEN: Final = re.compile(r"[0-9a-f]{8,32}")


class Stage(StrEnum):
    """How far a write is; before ``WRITING`` no table has changed, and all the new texts wait."""

    PREPARING = "preparing"
    WRITING = "writing"
    DONE = "done"


@dataclass(frozen=True, slots=True, kw_only=True)
class FileChange:
    """One file of a write: the SHA-256 before and after (``None``: no file), and the kept copy."""

    name: str
    before: str | None
    after: str | None
    copy: str | None

    def target(self, folder: Path) -> Path:
        """The file itself, where its name is a link."""
        return target_of(folder / self.name)

    def kept(self, folder: Path) -> Path | None:
        """The kept copy of what stood there before."""
        return None if self.copy is None else self.target(folder).with_name(self.copy)


@dataclass(frozen=True, slots=True, kw_only=True)
class Write:
    """Several files changed together by one command, ``told``, at ``when``.

    ``takes_back`` is the token of the write that this one takes back, if it does.
    """

    token: str
    told: str
    when: str
    process: int
    stage: Stage
    files: tuple[FileChange, ...]
    takes_back: str = ""

    def new_file(self, change: FileChange, folder: Path) -> Path:
        """Where the new content waits until all of it is on the disk."""
        target = change.target(folder)
        return target.with_name(f".{target.name}.{self.token}.tmp")

    @property
    def words(self) -> str:
        """The command and its time, for a sentence."""
        day, _, time = self.when.partition("T")
        return f"matchmaker {self.told} on {day} at {time[:8]}".replace("  ", " ")


@dataclass(frozen=True, slots=True, kw_only=True)
class History:
    """The writes, oldest first; ``damaged`` where the file that holds them cannot be understood."""

    writes: tuple[Write, ...] = ()
    damaged: bool = False

    @property
    def unfinished(self) -> Write | None:
        """The write that is under way, or was when its program was stopped."""
        last = self.writes[-1] if self.writes else None
        return last if last is not None and last.stage is not Stage.DONE else None

    @property
    def standing(self) -> Write | None:
        """The last write that is not taken back."""
        gone = {one.takes_back for one in self.writes}
        own = [one for one in self.writes if not one.takes_back and one.token not in gone]
        return own[-1] if own else None

    def with_write(self, write: Write) -> History:
        """With this write as the last; an earlier stage of it is replaced."""
        return replace(self, writes=(*self.without(write).writes, write)[-REMEMBERED:])

    def without(self, write: Write) -> History:
        """As if this write had never begun."""
        return replace(self, writes=tuple(one for one in self.writes if one.token != write.token))


def read_history(folder: Path) -> History:
    """Return the writes that the folder remembers.

    Raises
    ------
    OSError
        If the disk refuses.
    """
    content = history_bytes(folder)
    if content is None:
        return History()
    try:
        return History(writes=tuple(_write(one) for one in json.loads(content)["writes"]))
    except (ValueError, KeyError, TypeError, OverflowError, RecursionError):
        return History(damaged=True)


def history_bytes(folder: Path) -> bytes | None:
    """Return the file of the writes as it stands, ``None`` where there is none.

    What cannot be such a file (a link, a pipe, one of many megabytes) is not read: it counts as
    damaged.

    Raises
    ------
    OSError
        If the disk refuses.
    """
    path = folder / HISTORY_FILE
    try:
        found = path.lstat()
        usual = stat.S_ISREG(found.st_mode) and found.st_size <= _TOO_LARGE
        return path.read_bytes() if usual else b""
    except (FileNotFoundError, NotADirectoryError):
        return None


def left_over(folder: Path) -> Path:
    """Where the next history waits until it is whole; a stop may leave it lying about."""
    return folder / f"{HISTORY_FILE}.tmp"


def save_history(folder: Path, history: History) -> None:
    """Write down the writes, whole or not at all; only who holds the lock may.

    Raises
    ------
    OSError
        If the disk refuses.
    """
    path = folder / HISTORY_FILE
    fresh = left_over(folder)
    document = {"schema": SCHEMA, "writes": [asdict(one) for one in history.writes]}
    try:
        take_away(fresh)
        write_durably(fresh, (json.dumps(document, indent=1) + "\n").encode())
        if history.damaged and path.exists():
            put_in_place(path, free_name(path, ""))
        put_in_place(fresh, path)
    except BaseException:
        take_away(fresh)
        raise
    sync_folders([path])


def _write(told: dict[str, Any]) -> Write:
    if not _TOKEN.fullmatch(told["token"]):
        raise ValueError(told["token"])
    return Write(
        token=told["token"],
        told=str(told["told"]),
        when=str(told["when"]),
        process=int(told["process"]),
        stage=Stage(told["stage"]),
        files=tuple(_change(one) for one in told["files"]),
        takes_back=str(told["takes_back"]),
    )


def _change(told: dict[str, Any]) -> FileChange:
    """Return a change; only plain names are taken, so that no other folder is ever reached."""
    name, copy = str(told["name"]), told["copy"]
    if not _plain(name) or not (copy is None or (_plain(copy) and copy.endswith(".bak"))):
        raise ValueError(name)
    digests = (told["before"], told["after"])
    if not all(one is None or isinstance(one, str) for one in digests):
        raise ValueError(name)
    return FileChange(name=name, before=digests[0], after=digests[1], copy=copy)


def _plain(name: object) -> bool:
    return (
        isinstance(name, str)
        and name not in {"", ".", ".."}
        and not any(mark in name for mark in "/\\:\0")
    )
