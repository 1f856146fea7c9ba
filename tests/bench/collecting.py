"""Run the benchmarks one after the other: ``python -m tests.bench all``.

Each runs in a process of its own, so that none begins with the memory of another and one that
fails stops no other. What they found is written after each: an end midway loses nothing.
"""

from __future__ import annotations

import argparse
import json
import os
import signal
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

from tests.bench.machine import PROJECT, machine
from tests.bench.rows import Row
from tests.bench.running import ROWS_OPTION, Scale
from tests.bench.writing import Outcome, json_beside, write_down

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence

    CommandOf = Callable[[str, Path], Sequence[str | Path]]
    """The words that run a benchmark, by its name and the file that its rows go to."""

WAITS: Final = {Scale.SHORT: 300.0, Scale.WHOLE: 1800.0, Scale.FULL: 14_400.0}
"""Seconds after which one benchmark is ended and called failed."""

SCALES: Final = {
    Scale.SHORT: "small sizes alone, three minutes",
    Scale.FULL: "the largest as well, for hours",
}

INTERRUPTED: Final = "interrupted"

LAST_WORDS: Final = 2
"""Lines of what a failed benchmark said that are kept, those of where it was left out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Round:
    """What is run: names with what each measures, their commands, and how long one may take."""

    names: dict[str, str]
    command_of: CommandOf
    wait: float


def main(words: list[str], benchmarks: dict[str, str]) -> int:
    """Run what was asked for and write it down; 1 if a benchmark failed, 130 if interrupted."""
    asked = _asked(words, benchmarks)
    scale: Scale = asked.scale
    names = {name: benchmarks[name] for name in asked.only.split(",")}
    outcomes: list[Outcome] = []
    about = {"scale": str(scale), **machine()}
    asked.out.parent.mkdir(parents=True, exist_ok=True)
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    for outcome in collected(Round(names=names, command_of=_words(scale), wait=WAITS[scale])):
        outcomes.append(outcome)
        write_down(asked.out, about, outcomes)
    sys.stdout.write(f"written: {asked.out} and {json_beside(asked.out)}\n")
    failed = [one.benchmark for one in outcomes if one.failure]
    if failed:
        sys.stderr.write(f"failed: {', '.join(failed)}\n")
    return 130 if outcomes[-1].failure == INTERRUPTED else 1 if failed else 0


def _asked(words: list[str], benchmarks: dict[str, str]) -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        prog="python -m tests.bench all",
        description="Run all benchmarks and write a table of ratios and the growth curves, as"
        " Markdown and as JSON. Without --short or --full it takes about 20 minutes on two cores.",
    )
    scales = parser.add_mutually_exclusive_group()
    for scale, told in SCALES.items():
        scales.add_argument(
            f"--{scale}", dest="scale", action="store_const", const=scale, help=told
        )
    parser.set_defaults(scale=Scale.WHOLE)
    parser.add_argument(
        "-o", dest="out", type=file_of, default=Path("benchmarks.md"),
        help="a folder, or the Markdown file; the JSON stands beside it",
    )  # fmt: skip
    parser.add_argument(
        "--only", default=",".join(benchmarks), metavar="NAME,NAME", help="these benchmarks alone"
    )
    asked = parser.parse_args(words)
    unknown = [name for name in asked.only.split(",") if name not in benchmarks]
    if unknown:
        parser.error(f"no such benchmark: {', '.join(unknown)}; there are {', '.join(benchmarks)}")
    return asked


def file_of(words: str) -> Path:
    """The Markdown file that is meant: in a folder, ``benchmarks.md``.

    >>> file_of("measured/run.md").as_posix(), file_of("measured").as_posix()
    ('measured/run.md', 'measured/benchmarks.md')
    """
    path = Path(words)
    return path if path.suffix == ".md" else path / "benchmarks.md"


def _words(scale: Scale) -> CommandOf:
    more = [] if scale is Scale.WHOLE else [f"--{scale}"]
    return lambda name, file: [
        sys.executable, "-m", "tests.bench", name, *more, ROWS_OPTION, file
    ]  # fmt: skip


def collected(asked: Round) -> Iterator[Outcome]:
    """What each benchmark found, as soon as it has ended; after an interruption no more are run."""
    for name, about in asked.names.items():
        sys.stdout.write(f"== {name}: {about}\n")
        sys.stdout.flush()
        with tempfile.TemporaryDirectory() as place:
            file, said = Path(place) / "rows", Path(place) / "said"
            begun = time.perf_counter()
            failure = _failure(asked.command_of(name, file), said, asked.wait)
            if failure:
                sys.stderr.write(f"{name} failed: {failure}\n")
            yield Outcome(
                benchmark=name,
                about=about,
                rows=tuple(_rows(file)),
                seconds=time.perf_counter() - begun,
                failure=failure,
            )
        if failure == INTERRUPTED:
            return


def _failure(command: Sequence[str | Path], said: Path, wait: float) -> str:
    """Run a benchmark to its end; why it failed, if it did.

    It and what it starts are a group of processes, and are ended together.
    """
    env = {**os.environ, "PYTHONHASHSEED": "0"}  # some peers take things in the order of a set
    with said.open("w", encoding="utf-8") as errors:
        child = subprocess.Popen(
            command, stderr=errors, cwd=PROJECT, env=env, start_new_session=True
        )
        try:
            code = child.wait(timeout=wait)
        except subprocess.TimeoutExpired:
            return f"ended after {wait:g} s"
        except KeyboardInterrupt:
            return INTERRUPTED
        finally:
            if child.poll() is None:
                os.killpg(child.pid, signal.SIGKILL)
                child.wait()
    if code == 0:
        return ""
    lines = said.read_text(encoding="utf-8", errors="replace").splitlines()
    words = [one for one in lines if one.strip() and not one.startswith((" ", "Traceback"))]
    return f"exit code {code}: {' / '.join(words[-LAST_WORDS:])}"


def _rows(file: Path) -> Iterable[Row]:
    """The rows that were written; those before a failure as well."""
    if not file.exists():
        return []
    lines = file.read_text(encoding="utf-8").splitlines()
    return [Row.of_json(json.loads(one)) for one in lines]
