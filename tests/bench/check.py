"""Measure what is found in books of many years: ``python -m tests.bench check``.

Seconds of reading the tables, of looking for faults and doubts, of working out genes and pairs as
far as a check does (``Depth.QUICK``), and of the whole command; beside them what pandas takes to
read the same workbooks into frames, which is the reading of the cells alone.
"""

from __future__ import annotations

import argparse
import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING, Final

import pandas as pd

from matchmaker.checking import Depth, check_tables, tables_of
from matchmaker.flock.flock import check_flock
from tests.bench.long_books import long_books, with_faults, write_long_books

if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import TypeVar

    Found = TypeVar("Found")

SLIPS: Final = 100
"""One row in so many has a fault, in the second of the two books."""


def main(arguments: list[str]) -> None:
    """Print a few lines a book: one that is sound, and one with faults."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench check")
    parser.add_argument("--birds", type=int, default=10_000)
    parser.add_argument("--times", type=int, default=3, help="how often each part is run")
    parser.add_argument("--faults", type=int, default=SLIPS, help="one row in so many")
    args = parser.parse_args(arguments)
    sound = long_books(args.birds)
    books = {"sound": sound, f"1 row in {args.faults} wrong": with_faults(sound, every=args.faults)}
    with tempfile.TemporaryDirectory() as place:
        for at, (name, rows) in enumerate(books.items()):
            folder = write_long_books(Path(place) / str(at), rows)
            print(f"{name}: {len(rows):,} birds", flush=True)  # noqa: T201
            for line in _parts(folder, args.times):
                print(f"  {line}", flush=True)  # noqa: T201


def _parts(folder: Path, times: int) -> list[str]:
    frames = _least(lambda: _frames(folder), times)
    reading = _least(lambda: tables_of(folder), times)
    tables = tables_of(folder)
    finding = _least(lambda: check_flock(tables), times)
    whole = _least(lambda: check_tables(tables, Depth.QUICK), times)
    found = check_tables(tables, Depth.QUICK)
    unseen = len(found.not_looked_at)
    command = _least(lambda: _command(folder), times)
    most = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss // 1024
    ratio = reading[1] / frames[1]
    return [
        f"reading {_told(reading)}; cells alone, by pandas, {_told(frames)}: ratio {ratio:.1f}",
        f"finding in the pedigree {_told(finding)}; with genes and pairs, if quick, {_told(whole)}",
        f"{len(found.faults)} faults, {len(found.doubts)} doubts; {unseen} things not looked at",
        f"the command: {_told(command)}, {most} MB at most",
    ]


def _frames(folder: Path) -> list[pd.DataFrame]:
    return [
        pd.read_excel(folder / f"{name}.xlsx", engine="calamine", dtype=str, keep_default_na=False)
        for name in ("birds", "scores")
    ]


def _command(folder: Path) -> None:
    subprocess.run(
        [sys.executable, "-m", "matchmaker", "check", "--in", folder],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        check=False,
    )


def _least(work: Callable[[], Found], times: int) -> tuple[float, float]:
    """The least seconds of wall and of processor, that of children with it."""
    runs = []
    for _ in range(times):
        wall, used = time.perf_counter(), _used()
        work()
        runs.append((time.perf_counter() - wall, _used() - used))
    return min(one[0] for one in runs), min(one[1] for one in runs)


def _used() -> float:
    return sum(os.times()[:4])


def _told(seconds: tuple[float, float]) -> str:
    return f"{seconds[0]:.2f} s ({seconds[1]:.2f} of processor)"
