"""Write several files so that all of them change or none does."""

from __future__ import annotations

import hashlib
import os
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.errors import UsageError
from matchmaker.tables.write import write_text_atomically

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path


@dataclass(frozen=True, slots=True, kw_only=True)
class Replaced:
    """A file that was written, and the kept copy of the one before (``None``: there was none)."""

    path: Path
    copy: Path | None


def write_together(
    files: Sequence[tuple[Path, str]], inputs: Mapping[str, str], *, stamp: str = ""
) -> tuple[Replaced, ...]:
    """Replace files one after the other, each at once; if one cannot be, put the others back.

    ``inputs`` maps the name of each file to the SHA-256 of what it held when the texts were made;
    a name that is missing means that there was no such file. After a failure the folder is as it
    was, the copies made on the way are gone too.

    Raises
    ------
    UsageError
        If a file was changed since, or one cannot be written; nothing is changed then.
    """
    for path, _ in files:
        if _digest(path) != inputs.get(path.name):
            raise UsageError(f"{path} was changed while this command ran: run it again")
    before = {path: _copies(path) for path, _ in files}
    done: list[Replaced] = []
    try:
        for path, text in files:
            copy = write_text_atomically(path, text, overwrite=True, stamp=stamp)
            done.append(Replaced(path=path, copy=copy))
    except BaseException as error:
        made = {path: _copies(path) - before[path] for path, _ in files}
        for path, copies in made.items():
            _put_back(path, inputs.get(path.name), copies)
        stuck = [path for path in made if _digest(path) != inputs.get(path.name)]
        if stuck:
            raise UsageError(_stuck_text(error, stuck, made)) from error
        raise
    return tuple(done)


def _digest(path: Path) -> str | None:
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest() if path.exists() else None
    except OSError as error:
        raise UsageError(f"{path} cannot be read: {error.strerror or error}") from error


def _copies(path: Path) -> frozenset[Path]:
    """The kept copies beside a file."""
    own = path.resolve()
    return frozenset(one for one in own.parent.iterdir() if _is_copy(one.name, own.name))


def _is_copy(name: str, of: str) -> bool:
    return name.startswith(f"{of}.") and name.endswith(".bak")


def _put_back(path: Path, digest: str | None, copies: frozenset[Path]) -> None:
    """Undo what was done to one file; ``copies`` were made of it on the way.

    The copy takes the old name again, which needs no room on the disk. What cannot be undone is
    left with its copy beside it.
    """
    own = path.resolve()
    with suppress(OSError, UsageError):
        if digest is None:
            own.unlink(missing_ok=True)
        elif _digest(own) != digest:
            for copy in copies:
                _same_mode(own, copy)
                os.replace(copy, own)  # noqa: PTH105  not Path.replace, which has just failed
        for copy in copies:
            copy.unlink(missing_ok=True)


def _stuck_text(
    error: BaseException, stuck: Sequence[Path], made: Mapping[Path, frozenset[Path]]
) -> str:
    """Which files could not be put back, and where what they held is."""
    held = "; ".join(
        f"{path} (what it held is in {', '.join(sorted(one.name for one in made[path]))})"
        if made[path]
        else f"{path} (there was none before: delete it)"
        for path in stuck
    )
    return f"{error}. Put these back by hand: {held}"


def _same_mode(path: Path, copy: Path) -> None:
    copy.chmod(path.stat().st_mode & 0o777)
