"""Single steps on the disk: each is whole, and safe from a stop, once it returns."""

from __future__ import annotations

import hashlib
import os
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING

from matchmaker.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator


@contextmanager
def in_words(folder: Path) -> Iterator[None]:
    """Within this block a disk that fails is told as what it means for the folder.

    Raises
    ------
    UsageError
        If it does.
    """
    try:
        yield
    except OSError as error:
        raise UsageError(f"{folder} cannot be read or written: {reason(error)}") from error


def digest_of(content: bytes | None) -> str | None:
    """Return the SHA-256 of what a file holds; ``None`` where there is no file.

    Examples
    --------
    >>> digest_of(b"")[:8], digest_of(None)
    ('e3b0c442', None)
    """
    return None if content is None else hashlib.sha256(content).hexdigest()


def content_of(path: Path) -> bytes | None:
    """Return what a file holds; ``None`` where there is none.

    Raises
    ------
    UsageError
        If it cannot be read.
    """
    try:
        if path.exists() and not path.is_file():
            raise UsageError(f"{path} cannot be read: this is not a file")
        return path.read_bytes() if path.exists() else None
    except OSError as error:
        raise UsageError(f"{path} cannot be read: {reason(error)}") from error


def digest(path: Path) -> str | None:
    """Return the SHA-256 of what stands in a file (see ``content_of``)."""
    return digest_of(content_of(path))


def target_of(path: Path) -> Path:
    """Return the file that a name leads to; one that is a link is followed.

    Raises
    ------
    UsageError
        If the link leads nowhere or in a circle, or what is there is not a file.
    """
    target = Path(os.path.realpath(path))
    if path.is_symlink() and not path.exists():
        raise UsageError(f"{path} is a link that leads nowhere: mend the link, or delete it")
    if target.exists() and not target.is_file():
        raise UsageError(f"{path} cannot be written: this is not a file; move it out of the folder")
    return target


def write_durably(path: Path, content: bytes, like: Path | None = None) -> None:
    """Write a new file to the disk itself; with the owner and the permissions of another."""
    with path.open("xb") as stream:
        stream.write(content)
        stream.flush()
        os.fsync(stream.fileno())
    if like is not None and like.exists():
        found = like.stat()
        path.chmod(found.st_mode & 0o777)
        if hasattr(os, "chown"):
            with suppress(OSError):  # only who may give files away can
                os.chown(path, found.st_uid, found.st_gid)


def put_in_place(temporary: Path, target: Path) -> None:
    """Give a file the name of another, which it replaces, in one step."""
    temporary.replace(target)


def take_away(path: Path) -> None:
    """Delete a file, if it is there."""
    path.unlink(missing_ok=True)


def sync_folders(paths: Iterable[Path]) -> None:
    """Let what was named, renamed and deleted in the folders of these files outlive a stop."""
    if os.name == "nt":
        return  # a folder cannot be opened there, nor need it be
    for folder in sorted({path.parent for path in paths}):
        opened = os.open(folder, os.O_RDONLY)
        try:
            with suppress(OSError):  # some network disks have no such thing
                os.fsync(opened)
        finally:
            os.close(opened)


def sync_within(folder: Path) -> None:
    """Put all of a new folder on the disk, before it gets its name."""
    if os.name == "nt":
        return  # only who may write to a file can do so there
    files = [file for file in folder.rglob("*") if file.is_file()]
    for file in files:
        with file.open("rb") as stream:
            os.fsync(stream.fileno())
    sync_folders([folder / "any", *files])


def free_name(path: Path, stamp: str) -> Path:
    """Return a name for the kept copy of a file that no file has."""
    names = (f"{path.name}.{part}.bak" for part in _parts(stamp))
    return next(path.with_name(name) for name in names if not _taken(path.with_name(name)))


def refuse_unwritable(path: Path, target: Path) -> None:
    """Refuse a table that is open in a spreadsheet, or that its keeper has set to be read only.

    Raises
    ------
    UsageError
        Saying what to do.
    """
    for beside in dict.fromkeys((path, target)):
        for mark in (f".~lock.{beside.name}#", f"~${beside.name}"):
            if beside.with_name(mark).exists():
                raise UsageError(
                    f"{path} seems to be open in a spreadsheet, so it is not written: close it "
                    f"there and try again; if it is open nowhere, delete {beside.with_name(mark)}"
                )
    if target.exists() and not target.stat().st_mode & 0o222:
        raise UsageError(
            f"{path} is set to be read only, so it is not written: allow writing to it first"
        )


def reason(error: OSError) -> str:
    """Why something cannot be done, in words."""
    words = error.strerror or str(error)
    if isinstance(error, PermissionError):
        return f"{words} (if it is open in another program, close it there)"
    return words


def _taken(path: Path) -> bool:
    return path.exists() or path.is_symlink()


def _parts(stamp: str) -> Iterator[str]:
    if stamp:
        yield stamp
    number = 1
    while True:
        yield f"{stamp}-{number}" if stamp else str(number)
        number += 1
