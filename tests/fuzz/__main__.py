"""Give the readers a million inputs: ``python -m tests.fuzz --inputs 1000000 --workers 2``."""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from tests.fuzz.arcs import PACKAGE, in_readers, lines_of
from tests.fuzz.targets import TARGETS
from tests.fuzz.trial import Broken, tried
from tests.fuzz.worker import Order, digests, say, work

if TYPE_CHECKING:
    from collections.abc import Sequence

EVERY: Final = 60.0
"""Seconds between two words on how far the work is."""

SILENT: Final = 180.0
"""Seconds without a word after which a process counts as hung."""


@dataclass(slots=True)
class Tally:
    """What all processes told."""

    room: Path
    done: dict[int, Counter[str]] = field(default_factory=dict)
    spent: dict[int, Counter[str]] = field(default_factory=dict)
    stock: dict[int, Counter[str]] = field(default_factory=dict)
    lines: dict[str, set[int]] = field(default_factory=dict)
    found: dict[str, dict[str, str]] = field(default_factory=dict)

    def hear(self, seed: int, words: dict[str, Any]) -> None:
        """Take in one line of a process."""
        if "done" in words:
            self.done[seed] = Counter(words["done"])
            self.spent[seed] = Counter(words["spent"])
            self.stock[seed] = Counter(words["stock"])
        if "lines" in words:
            for file, lines in words["lines"].items():
                self.lines.setdefault(file, set()).update(lines)
        if "found" in words and words["found"] not in self.found:
            self.found[words["found"]] = words
            _tell(f"FOUND {words['found']}\n  {words['file']}\n  {words['input']}")

    @property
    def total(self) -> int:
        """Inputs tried so far."""
        return sum(sum(done.values()) for done in self.done.values())


@dataclass(slots=True)
class Crew:
    """The processes at work, each started anew where it dies."""

    tally: Tally
    asked: argparse.Namespace
    until: float

    def run(self) -> None:
        """Run one thread for each process, and wait for all."""
        threads = [
            threading.Thread(target=self._keep, args=(at,)) for at in range(self.asked.workers)
        ]
        for thread in threads:
            thread.start()
        start = told = time.monotonic()
        while any(thread.is_alive() for thread in threads):
            time.sleep(1)
            now = time.monotonic()
            if now - told > EVERY:
                told = now
                rate = self.tally.total / (now - start)
                _tell(f"{self.tally.total} inputs, {rate:.0f} a second")

    def _keep(self, at: int) -> None:
        seed = self.asked.seed * 1000 + at
        left = self.asked.inputs // self.asked.workers
        while left > 0 and time.monotonic() < self.until:
            code = self._one(seed, left)
            left -= sum(self.tally.done.get(seed, Counter()).values())
            if code == 0:
                return
            self._dead(seed, code)
            seed += 10 * self.asked.workers

    def _one(self, seed: int, inputs: int) -> int:
        words = [sys.executable, "-m", "tests.fuzz", "--order", str(self.tally.room)]
        words += ["--seed", str(seed), "--inputs", str(inputs), "--target", *self.asked.target]
        words += ["--seconds", str(max(1.0, self.until - time.monotonic()))]
        errors = (self.tally.room / f"errors-{seed}.txt").open("w")
        with (
            errors,
            subprocess.Popen(words, stdout=subprocess.PIPE, stderr=errors, text=True) as process,
        ):
            assert process.stdout is not None
            watch = threading.Timer(SILENT, process.kill)
            watch.start()
            for line in process.stdout:
                watch.cancel()
                watch = threading.Timer(SILENT, process.kill)
                watch.start()
                self.tally.hear(seed, json.loads(line))
            watch.cancel()
            process.wait()
        return process.returncode

    def _dead(self, seed: int, code: int) -> None:
        """Keep the input over which a process died or hung."""
        note = self.tally.room / f"note-{seed}"
        name, _, rest = note.read_bytes().partition(b"\n")
        size, _, content = rest.partition(b"\n")
        target = name.decode() or "nothing"
        file = self.tally.room / f"{target}--died-{seed}.bin"
        file.write_bytes(content[: int(size or b"0")])
        told = {"file": str(file), "input": repr(content[:100]), "story": f"exit {code}"}
        self.tally.hear(
            seed, {"found": f"{target}: the process died ({code}), seed {seed}", **told}
        )


def main(words: Sequence[str] | None = None) -> int:
    """Do what the command line asks; return its exit code."""
    asked = _asked(words)
    if asked.order:
        targets = tuple(asked.target)
        work(
            Order(
                seed=asked.seed,
                inputs=asked.inputs,
                seconds=asked.seconds,
                targets=targets,
                room=asked.order,
            )
        )
        return 0
    if asked.digests:
        say(digests(asked.digests))
        return 0
    if asked.replay:
        return _replay(asked.replay)
    return _fuzz(asked)


def _asked(words: Sequence[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    parser.add_argument("--inputs", type=int, default=1_000_000, help="how many in all")
    parser.add_argument("--seed", type=int, default=1, help="another seed makes other inputs")
    parser.add_argument("--seconds", type=float, default=3600.0, help="stop after so long")
    parser.add_argument("--target", nargs="+", choices=list(TARGETS), default=list(TARGETS))
    parser.add_argument("--workers", type=int, default=2, help="processes")
    parser.add_argument("--replay", nargs="+", type=Path, help="files called TARGET--WHAT.bin")
    parser.add_argument("--out", type=Path, help="where inputs that break something are kept")
    parser.add_argument("--order", type=Path, help=argparse.SUPPRESS)
    parser.add_argument("--digests", type=Path, help=argparse.SUPPRESS)
    return parser.parse_args(words)


def _replay(files: Sequence[Path]) -> int:
    code = 0
    for file in files:
        outcome = tried(TARGETS[file.name.partition("--")[0]], file.read_bytes())
        broken = isinstance(outcome, Broken)
        code = code or int(broken)
        _tell(f"{file}: {outcome.story if isinstance(outcome, Broken) else sorted(outcome[0])}")
    return code


def _fuzz(asked: argparse.Namespace) -> int:
    room = asked.out or Path(tempfile.mkdtemp(prefix="fuzz-"))
    room.mkdir(parents=True, exist_ok=True)
    tally = Tally(room)
    start = time.monotonic()
    Crew(tally, asked, start + asked.seconds).run()
    spent = time.monotonic() - start
    _report(tally, spent)
    unlike = _unlike(room)
    for name in unlike:
        _tell(f"FOUND {name} gives something else in another process")
    _tell(f"{len(tally.found) + len(unlike)} findings; inputs and stock are in {room}")
    return int(bool(tally.found or unlike))


def _unlike(room: Path) -> list[str]:
    """Read the stock in two processes that order their sets otherwise, and compare."""
    found = []
    for folder in sorted(room.glob("stock-*")):
        told = [
            json.loads(
                subprocess.run(
                    [sys.executable, "-m", "tests.fuzz", "--digests", str(folder)],
                    env={**os.environ, "PYTHONHASHSEED": seed},
                    capture_output=True,
                    check=True,
                ).stdout
            )
            for seed in ("1", "2")
        ]
        found += [f"{folder}/{name}" for name in told[0] if told[0][name] != told[1][name]]
    return found


def _report(tally: Tally, spent: float) -> None:
    _tell(f"\n{tally.total} inputs in {spent:.0f} s: {tally.total / spent:.0f} a second")
    for name in TARGETS:
        done = sum(counts[name] for counts in tally.done.values())
        seconds = sum(counts[name] for counts in tally.spent.values())
        stock = sum(counts[name] for counts in tally.stock.values())
        if done:
            _tell(f"  {name:10} {done:9} inputs {1e6 * seconds / done:9.0f} µs each {stock:6} kept")
    reached = wanted = 0
    for file in sorted(PACKAGE.rglob("*.py")):
        lines = lines_of(file) if in_readers(str(file)) else set()
        if lines:
            there = tally.lines.get(str(file), set()) & lines
            reached, wanted = reached + len(there), wanted + len(lines)
            missing = ", ".join(map(str, sorted(lines - there)))[:100]
            within = file.relative_to(PACKAGE)
            _tell(f"  {within!s:32} {len(there):4} of {len(lines):4} lines  {missing}")
    share = 100 * reached / wanted
    _tell(f"  all together {reached} of {wanted} lines of the readers ({share:.1f} %)")


def _tell(text: str) -> None:
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    raise SystemExit(main())
