"""A disk that fails, or a program that is stopped, at a call to the system of one's choice."""

from __future__ import annotations

import io
import os
from typing import TYPE_CHECKING, Any, Final

from matchmaker.tables.lock import LOCK_FILE

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

CALLS: Final = ("open", "fsync", "replace", "unlink", "chmod", "chown", "mkdir")
"""Of ``os``; opening a file in other ways, and writing to it, count too."""


class Stopped(BaseException):
    """Nothing of the program runs after this, not even what tidies up."""


class Disk:
    """Counts the calls, and lets the one numbered ``at`` fail (from 1; ``None``: none does).

    An ``OSError`` fails once, or for good if ``lasting``. ``Stopped`` always lasts, and what was
    being written then is on the disk by half.
    """

    def __init__(self, at: int | None, error: BaseException, *, lasting: bool = False) -> None:
        self.at = at
        self.error = error
        self.lasting = lasting or isinstance(error, Stopped)
        self.calls: list[str] = []
        self.on = True

    def count(self, name: str, half: Callable[[], object] = lambda: None) -> None:
        """Note one call, and fail if it is the one."""
        if not self.on or name.endswith(LOCK_FILE):
            return
        self.calls.append(name)
        number = len(self.calls)
        if self.at is not None and (number == self.at or (self.lasting and number > self.at)):
            if number == self.at:
                half()
            self.fail()

    def fail(self) -> None:
        """Let the call fail."""
        raise self.error

    def put_under(self, patch: Callable[[object, str, object], None]) -> None:
        """Let all calls of this process go through this disk."""
        for name in CALLS:
            patch(os, name, self._counted(name, getattr(os, name)))
        whole = io.open

        def opened(file: Any, mode: str = "r", *words: Any, **more: Any) -> Any:
            self.count(f"open {mode} {getattr(file, 'name', file)}")
            stream = whole(file, mode, *words, **more)
            return stream if mode.startswith("r") else _Stream(stream, self)

        patch(io, "open", opened)

    def _counted(self, name: str, whole: Callable[..., Any]) -> Callable[..., Any]:
        def call(*words: Any, **more: Any) -> Any:
            self.count(" ".join([name, *(os.fspath(w) for w in words if _is_path(w))]))
            return whole(*words, **more)

        return call


def _is_path(word: object) -> bool:
    return isinstance(word, str | os.PathLike)


class _Stream:
    """A file being written."""

    def __init__(self, stream: Any, disk: Disk) -> None:
        self._stream = stream
        self._disk = disk

    def write(self, content: bytes) -> int:
        """Write all of it, or half of it and fail."""
        self._disk.count("write", lambda: self._stream.write(content[: len(content) // 2]))
        written: int = self._stream.write(content)
        return written

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)

    def __enter__(self) -> _Stream:
        return self

    def __exit__(self, *_: object) -> None:
        self._stream.close()


def whole_files(folder: Path) -> dict[str, bytes]:
    """Everything in a folder but our own lock and history."""
    own = {".matchmaker.lock", ".matchmaker-writes.json"}
    return {file.name: file.read_bytes() for file in folder.iterdir() if file.name not in own}
