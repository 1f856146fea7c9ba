"""Seconds and memory of a whole command, as whoever types it waits for it."""

from __future__ import annotations

import subprocess
import sys
from typing import TYPE_CHECKING

from matchmaker.errors import ExitCode
from tests.bench.measuring import least_spent, peak_of_children
from tests.bench.own_process import in_own_process
from tests.bench.rows import Row

if TYPE_CHECKING:
    from tests.bench.rows import Size


def command_row(task: str, size: Size, words: list[str], times: int) -> Row:
    """The row of a command; the words are those behind the name of the program."""
    spent = in_own_process(command, words, times)
    return Row(
        task=task,
        size=size,
        ours=(spent["wall"],),
        memory=spent["memory"],
        note=f"{spent['processor']:.2f} s of processors",
    )


def command(words: list[str], times: int) -> dict[str, float]:
    """The least of a few runs; started from a small process the memory is the command's own.

    That it finds faults in the tables is an answer too.
    """
    spent = least_spent(lambda: _answered(words), times)
    return {"wall": spent.wall, "processor": spent.processor, "memory": peak_of_children()}


def _answered(words: list[str]) -> None:
    ended = subprocess.run(
        [sys.executable, "-m", "matchmaker", *words], capture_output=True, text=True, check=False
    )
    if ended.returncode not in {ExitCode.DONE, ExitCode.FAULTS}:
        raise RuntimeError(f"{' '.join(words)} ended with {ended.returncode}: {ended.stderr}")
