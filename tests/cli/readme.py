"""The README's console blocks: read, run and, as a command, written anew.

``python -m tests.cli.readme`` puts the real output under each command of the README.
"""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

ROOT = Path(__file__).parents[2]
README = ROOT / "README.md"
BLOCK = re.compile(
    r"^```console\n(?P<commands>(?:\$ [^\n]*\n)+)(?P<output>.*?)^```$", re.MULTILINE | re.DOTALL
)
SECONDS = re.compile(r"\d+\.\d\d s\b")


@dataclass(frozen=True)
class Console:
    """Commands of the README that stand together, and the output of the last printed under them."""

    commands: tuple[str, ...]
    output: str

    @property
    def command(self) -> str:
        """The command whose output is printed."""
        return self.commands[-1]


def consoles() -> list[Console]:
    """All console blocks, in order."""
    text = README.read_text(encoding="utf-8")
    return [Console(_commands(found), found["output"]) for found in BLOCK.finditer(text)]


def _commands(found: re.Match[str]) -> tuple[str, ...]:
    return tuple(line.removeprefix("$ ") for line in found["commands"].splitlines())


def run_all(commands: Sequence[str], run: Callable[[str, Path], str]) -> str:
    """Output of the last command; several are run one after another in an empty folder.

    Of the last one no more is kept than the lines that ``| head -n LINES`` behind it leaves.
    """
    last, _, lines = commands[-1].partition(" | head -n ")
    commands = [*commands[:-1], last]
    if len(commands) == 1:
        return _first(lines, run(last, ROOT))
    with TemporaryDirectory() as folder:
        return _first(lines, [run(command, Path(folder)) for command in commands][-1])


def _first(lines: str, output: str) -> str:
    return "".join(output.splitlines(keepends=True)[: int(lines)]) if lines else output


def run_alone(command: str, folder: Path) -> str:
    """Standard output of a command, 80 columns wide, without trailing spaces."""
    words = shlex.split(command)
    program = Path(sys.executable).with_name(words[0])
    environment = {**os.environ, "COLUMNS": "80", "PYTHONIOENCODING": "utf-8"}
    done = subprocess.run(
        [program, *words[1:]], cwd=folder, env=environment, capture_output=True, check=True
    )
    return trimmed(done.stdout.decode("utf-8"))


def trimmed(output: str) -> str:
    """The output without trailing spaces."""
    lines = (line.rstrip() for line in output.splitlines())
    return "".join(f"{line}\n" for line in lines)


def timeless(output: str) -> str:
    """The output without the time that a solve took."""
    return SECONDS.sub("… s", output)


def refresh() -> None:
    """Write the real output under each command."""

    def renewed(found: re.Match[str]) -> str:
        return f"```console\n{found['commands']}{run_all(_commands(found), run_alone)}```"

    README.write_text(BLOCK.sub(renewed, README.read_text(encoding="utf-8")), encoding="utf-8")


if __name__ == "__main__":
    refresh()
