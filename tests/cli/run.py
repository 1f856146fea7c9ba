"""The installed command as a real process, and folders for it to work on."""

from __future__ import annotations

import csv
import io
import json
import os
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

from matchmaker.cli.app import answered
from matchmaker.tables.history import OWN_MARK

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

MATCHMAKER = Path(sys.executable).with_name("matchmaker")
EXAMPLES_FOLDER = Path(__file__).parents[2] / "examples"
LIMIT = 60
"""Seconds after which a process counts as hung."""

Cells: TypeAlias = list[dict[str, str]]


@dataclass(frozen=True, slots=True)
class Ran:
    """What a process left behind."""

    code: int
    out: str
    err: str

    @property
    def document(self) -> dict[str, Any]:
        """Return the JSON document that is the whole of standard output."""
        found: dict[str, Any] = json.loads(self.out)
        return found

    @property
    def lines(self) -> list[str]:
        """Return the lines of standard output."""
        return self.out.splitlines()


def environment(**more: str) -> dict[str, str]:
    """Return the environment of a plain pipe: no width, no colour wishes but those given."""
    dropped = {"COLUMNS", "LINES", "NO_COLOR", "FORCE_COLOR", "PYTHONIOENCODING"}
    kept = {key: value for key, value in os.environ.items() if key not in dropped}
    return {**kept, **more}


def run(*arguments: object, cwd: Path | None = None, **more: str) -> Ran:
    """Run the command to its end; ``more`` are environment variables."""
    done = subprocess.run(
        [MATCHMAKER, *map(str, arguments)],
        cwd=cwd,
        env=environment(**more),
        stdin=subprocess.DEVNULL,
        capture_output=True,
        timeout=LIMIT,
        check=False,
    )
    return Ran(done.returncode, done.stdout.decode("utf-8"), done.stderr.decode("utf-8"))


def run_here(*arguments: object, cwd: Path | None = None, **more: str) -> Ran:
    """Answer the command as ``run`` does, but in this process, which need not start anew.

    What belongs to a process of its own (signals, banners of C libraries, encodings of a terminal)
    is not looked at; ``test_process`` and the tests that use ``run`` do that.
    """
    out, err = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8", newline="") for _ in range(2))
    before, there = dict(os.environ), Path.cwd()
    streams = (sys.stdout, sys.stderr, sys.stdin)
    try:
        os.environ.clear()
        os.environ.update(environment(**more))
        os.chdir(cwd or there)
        sys.stdout, sys.stderr, sys.stdin = out, err, io.StringIO()
        code = answered([str(argument) for argument in arguments])
    finally:
        sys.stdout, sys.stderr, sys.stdin = streams
        os.chdir(there)
        os.environ.clear()
        os.environ.update(before)
    told = [_text(stream) for stream in (out, err)]
    return Ran(int(code or 0), told[0], told[1])


def _text(stream: io.TextIOWrapper) -> str:
    stream.flush()
    written = stream.buffer
    assert isinstance(written, io.BytesIO)
    return written.getvalue().decode("utf-8")


def example(name: str, target: Path) -> Path:
    """Copy a shipped example."""
    shutil.copytree(EXAMPLES_FOLDER / name, target)
    return target


def read_rows(path: Path) -> Cells:
    """Return the rows of a CSV table, commas between."""
    return list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8-sig"))))


def write_rows(path: Path, rows: Sequence[Mapping[str, str]]) -> None:
    """Write rows as a CSV table."""
    stream = io.StringIO()
    writer = csv.DictWriter(stream, list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    path.write_text(stream.getvalue(), encoding="utf-8")


def edit_rows(path: Path, change: Callable[[Cells], object]) -> Path:
    """Read a table, let ``change`` work on its rows, and write it back."""
    rows = read_rows(path)
    change(rows)
    write_rows(path, rows)
    return path


def edit_text(path: Path, old: str, new: str) -> None:
    """Replace a text that stands once in a file."""
    text = path.read_text(encoding="utf-8")
    assert text.count(old) == 1, old
    path.write_text(text.replace(old, new), encoding="utf-8")


def contents(folder: Path) -> dict[str, bytes]:
    """Return every file of a folder with its bytes, but for our own lock and history."""
    files = (file for file in sorted(folder.iterdir()) if not file.name.startswith(OWN_MARK))
    return {file.name: file.read_bytes() for file in files}
