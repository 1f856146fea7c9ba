"""Kill writing programs, hundreds of times, and look whether anything is lost.

``python -m tests.kill --times 500`` kills (by SIGKILL) real processes that write to a real flock
folder. A part of them is the command line as keepers run it (``--commands``), killed at any moment
of its run or just while it writes. The others are small programs that only write: each is killed at
one call to the system after the other, then at random moments. After each kill the folder must read
without a fault, its tables must all be old or all new, no copy may be damaged, no file may lie
about, and no bird may be missing.
"""

from __future__ import annotations

import argparse
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Final

from matchmaker.tables.history import HISTORY_FILE
from matchmaker.tables.read import read_folder
from tests.cli.run import environment, example
from tests.failing_disk import whole_files
from tests.kill_child import small_write

if TYPE_CHECKING:
    from collections.abc import Sequence

MATCHMAKER: Final = (sys.executable, "-m", "matchmaker")
SET: Final = ("--pen", "2", "--set-on", "2027-03-02", "--eggs", "23")
HATCH: Final = (
    "--pen",
    "2",
    "--fertile",
    "20",
    "--hatched",
    "17",
    "--bands",
    "C27-001..C27-012",
    "--line",
    "Alder",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """Something that writes: a command, the folder before, and the tables that it should make."""

    name: str
    command: tuple[str, ...]
    start: Path
    old: dict[str, bytes]
    new: dict[str, bytes]
    birds: frozenset[str]
    faults: frozenset[str]
    seconds: float

    @classmethod
    def prepare(cls, name: str, command: Sequence[str], start: Path) -> Work:
        """Do the work once, undisturbed."""
        done = shutil.copytree(start, start.with_name(f"{start.name} done {name}"))
        begun = time.monotonic()
        run(*command, str(done))
        seconds = time.monotonic() - begun
        work = cls(
            name=name,
            command=tuple(command),
            start=start,
            old=tables(start),
            new=tables(done),
            birds=bands(start) & bands(done),
            faults=frozenset(fault.kind for fault in read_folder(start).faults),
            seconds=seconds,
        )
        if work.old == work.new:
            raise AssertionError(f"{name} writes nothing")
        return work


@dataclass(slots=True, kw_only=True)
class Tally:
    """What became of the folders."""

    outcomes: Counter[str] = field(default_factory=Counter)
    lost: list[str] = field(default_factory=list)

    @property
    def killed(self) -> int:
        """How many were really killed: some end by themselves just before."""
        return sum(n for outcome, n in self.outcomes.items() if ": killed" in outcome)

    def count(self, work: Work, folder: Path, *, killed: bool) -> None:
        """Look into a folder after a kill."""
        before = history_stage(folder)
        problem = found_wrong(work, folder)
        if problem:
            self.lost.append(f"{work.name}: {problem}")
        state = "new" if tables(folder) == work.new else "old"
        when = f"killed {before}" if killed else "ended before the kill"
        self.outcomes[f"{work.name}: {when}, then {state}"] += 1


def run(*command: str) -> None:
    """Run a command to its end; it must do what it should."""
    subprocess.run(command, env=environment(), check=True, capture_output=True)


def tables(folder: Path) -> dict[str, bytes]:
    """All files of a folder but kept copies and our own."""
    found = whole_files(folder)
    return {name: text for name, text in found.items() if not name.endswith(".bak")}


def bands(folder: Path) -> frozenset[str]:
    """All birds of a folder."""
    return frozenset(bird.bird for bird in read_folder(folder).birds)


def history_stage(folder: Path) -> str:
    """Where the kill came: before, in or after the writing."""
    path = folder / HISTORY_FILE
    text = path.read_text("utf-8") if path.exists() else ""
    if '"preparing"' in text:
        return "in the preparing"
    return "in the writing" if '"writing"' in text else "before or after the writing"


def found_wrong(work: Work, folder: Path) -> str:
    """Return what is lost or damaged, if anything is."""
    read = read_folder(folder)
    fresh = {fault.kind for fault in read.faults} - work.faults
    if fresh:
        return f"faults: {sorted(fresh)}"
    now = tables(folder)
    if now not in (work.old, work.new):
        other = {name for name in {*now, *work.old} if now.get(name) != work.old.get(name)}
        return f"neither all old nor all new: {sorted(other)}"
    before = whole_files(work.start)
    for name, text in whole_files(folder).items():
        if (
            name.endswith(".bak")
            and before.get(name, before.get(name.split(".csv")[0] + ".csv")) != text
        ):
            return f"the copy {name} is damaged"
    missing = work.birds - {bird.bird for bird in read.birds}
    return f"birds are missing: {sorted(missing)}" if missing else ""


def kill(work: Work, folder: Path, tally: Tally, chance: random.Random, *, densely: bool) -> None:
    """Run the work on a copy and kill it at a random moment; ``densely``: while it writes."""
    shutil.copytree(work.start, folder)
    child = subprocess.Popen(
        [*work.command, str(folder)],
        env=environment(),
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    if densely:
        own = folder / f"{HISTORY_FILE}.tmp"
        known = stamp_of(folder)
        while child.poll() is None and not own.exists() and stamp_of(folder) == known:
            time.sleep(0.0005)
        time.sleep(chance.uniform(0, 0.06))
    else:
        time.sleep(chance.uniform(0, work.seconds * 1.05))
    child.kill()
    code = child.wait()
    tally.count(work, folder, killed=code == -signal.SIGKILL)
    shutil.rmtree(folder)


def stamp_of(folder: Path) -> int:
    """Changes whenever the history does."""
    path = folder / HISTORY_FILE
    return path.stat().st_mtime_ns if path.exists() else 0


def kill_at_calls(work: Work, folder: Path, tally: Tally, calls: Sequence[int]) -> None:
    """Run the small program, and let it be killed at one call to the system after the other."""
    for at in calls:
        shutil.copytree(work.start, folder)
        done = subprocess.run([*work.command, str(folder), str(at)], env=environment(), check=False)
        tally.count(work, folder, killed=done.returncode == -signal.SIGKILL)
        shutil.rmtree(folder)


def small_works(room: Path) -> list[Work]:
    """The small programs: one that writes, one that takes back."""
    fresh = example("holm-fen", room / "fresh")
    written = shutil.copytree(fresh, room / "written")
    small_write(written)
    itself = (sys.executable, "-m", "tests.kill_child")
    return [
        Work.prepare("small write", (*itself, "write"), fresh),
        Work.prepare("small undo", (*itself, "undo"), written),
    ]


def command_works(room: Path) -> list[Work]:
    """The command line: what keepers run."""
    fresh = example("holm-fen", room / "shipped")
    penned = shutil.copytree(fresh, room / "penned")
    run(*MATCHMAKER, "plan", "--pen-up", "2027-02-08", "--in", str(penned))
    eggs = shutil.copytree(penned, room / "eggs")
    run(*MATCHMAKER, "hatch", *SET, "--in", str(eggs))
    doubled = shutil.copytree(fresh, room / "doubled")
    rows = (doubled / "birds.csv").read_bytes()
    (doubled / "birds.csv").write_bytes(rows + rows.splitlines(keepends=True)[-1])
    return [
        Work.prepare("check --fix", (*MATCHMAKER, "check", "--fix", "--write", "--in"), doubled),
        Work.prepare("plan --write", (*MATCHMAKER, "plan", "--fresh", "--write", "--in"), fresh),
        Work.prepare(
            "plan --pen-up", (*MATCHMAKER, "plan", "--pen-up", "2027-02-08", "--in"), fresh
        ),
        Work.prepare("hatch", (*MATCHMAKER, "hatch", *HATCH, "--in"), eggs),
        Work.prepare("plan --undo", (*MATCHMAKER, "plan", "--undo", "--in"), penned),
    ]


def campaign(times: int, commands: int, seed: int) -> Tally:
    """Kill ``times`` programs, ``commands`` of them the command line.

    Of the small ones half are killed at a call; there are ``CALLS`` calls in each of the two works.
    """
    chance, tally = random.Random(seed), Tally()  # noqa: S311  no secret hangs on it
    with tempfile.TemporaryDirectory() as name:
        room = Path(name)
        small = small_works(room)
        works = command_works(room) if commands else []
        at_calls = min(times - commands, 4 * CALLS) // 4
        for work in small:
            calls = [1 + at * CALLS // at_calls for at in range(at_calls)]
            kill_at_calls(work, room / "killed", tally, calls)
        for several, enough in ((small, times - commands), (works, times)):
            number = 0
            while several and tally.killed < enough and number < 3 * times:
                work = several[number % len(several)]
                densely = number // len(several) % 2 == 0
                kill(work, room / "killed", tally, chance, densely=densely)
                number += 1
    return tally


CALLS: Final = 60
"""Calls to the system that a small write makes, and some more."""


def main() -> None:
    """Kill, tell what became of it, and fail if anything is lost."""
    parser = argparse.ArgumentParser(prog="python -m tests.kill", description=__doc__)
    parser.add_argument("--times", type=int, default=500)
    parser.add_argument("--commands", type=int, help="how many of them the command line; a third")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    commands = asked.times // 3 if asked.commands is None else asked.commands
    tally = campaign(asked.times, commands, asked.seed)
    for outcome, number in sorted(tally.outcomes.items()):
        sys.stdout.write(f"{number:5} {outcome}\n")
    total = f"{tally.outcomes.total()} runs, {tally.killed} killed, {len(tally.lost)} with a loss"
    sys.stdout.write(f"{total}\n")
    if tally.lost:
        sys.exit("\n".join(tally.lost))


if __name__ == "__main__":
    main()
