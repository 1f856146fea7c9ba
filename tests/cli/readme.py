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

ROOT = Path(__file__).parents[2]
README = ROOT / "README.md"
BLOCK = re.compile(r"^```console\n\$ (?P<command>[^\n]*)\n(?P<output>.*?)^```$", re.M | re.S)
SECONDS = re.compile(r"\d+\.\d\d s\b")


@dataclass(frozen=True)
class Console:
    """One command of the README and the output printed under it."""

    command: str
    output: str


def consoles() -> list[Console]:
    """All console blocks, in order."""
    text = README.read_text(encoding="utf-8")
    return [Console(found["command"], found["output"]) for found in BLOCK.finditer(text)]


def run(command: str) -> str:
    """Standard output of a command, 80 columns wide, without trailing spaces."""
    words = shlex.split(command)
    program = Path(sys.executable).with_name(words[0])
    environment = {**os.environ, "COLUMNS": "80", "PYTHONIOENCODING": "utf-8"}
    done = subprocess.run(
        [program, *words[1:]], cwd=ROOT, env=environment, capture_output=True, check=True
    )
    lines = (line.rstrip() for line in done.stdout.decode("utf-8").splitlines())
    return "".join(f"{line}\n" for line in lines)


def timeless(output: str) -> str:
    """The output without the time that a solve took."""
    return SECONDS.sub("… s", output)


def refresh() -> None:
    """Write the real output under each command."""

    def renewed(found: re.Match[str]) -> str:
        return f"```console\n$ {found['command']}\n{run(found['command'])}```"

    README.write_text(BLOCK.sub(renewed, README.read_text(encoding="utf-8")), encoding="utf-8")


if __name__ == "__main__":
    refresh()
