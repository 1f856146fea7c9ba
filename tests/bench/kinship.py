"""Measure kinship on simulated flocks, beside a general library: ``python -m tests.bench kinship``.

The flocks have 25 seasons, so that larger ones have more breeders at a time; with ``--chicks`` (of
a season) they have the same number of breeders and more seasons instead.

Times are the least of several repeats, ours and the library's in turn in one process, after a call
that lets the library compile itself; results are compared as well. Peak memory is measured in a
process for each, and given beyond what that process took before the call.
"""

from __future__ import annotations

import argparse
import json
import math
import resource
import subprocess
import sys
import time
import warnings
from typing import TYPE_CHECKING, Any

import numpy as np

from matchmaker.genetics.kin.ancestry import ancestry_of_parents
from matchmaker.genetics.kin.kinship import inbreeding_of, kinship_of
from tests.kinship_helpers import simulated_flock

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from tests.kinship_helpers import Flock

    Task = Callable[[Flock], NDArray[np.float64]]

ALL, SOME = "inbreeding of all", "kinship of 500"
CANDIDATES = "kinship and inbreeding of 2,000"
SEED = 1
SEASONS = 25


def main(arguments: list[str]) -> None:
    """Print the table, or one measurement as JSON (``--one``)."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench kinship")
    parser.add_argument("--sizes", default="2000,20000,200000", help="birds, by commas")
    parser.add_argument("--alone", default="20,300,2000,20000,200000,1000000", help="ours only")
    parser.add_argument("--repeats", type=int, default=5)
    parser.add_argument("--chicks", type=int, help="chicks of a season (default: birds / 25)")
    parser.add_argument("--one", help="TASK:SIZE:METHOD, in this process")
    args = parser.parse_args(arguments)
    if args.one:
        task, size, method = args.one.split(":")
        seasons = int(size) // args.chicks if args.chicks else SEASONS
        flock = simulated_flock(int(size), seasons=seasons, seed=SEED)
        measured = measure(task, flock, method.split("+"), args.repeats)
        print(json.dumps(measured))  # noqa: T201
        return
    options = ["--repeats", str(args.repeats)]
    options += ["--chicks", str(args.chicks)] if args.chicks else []
    for size in filter(None, args.sizes.split(",")):
        report_beside(ALL, int(size), options)
    if args.sizes:
        report_beside(SOME, 10_000, options)
    report_alone([int(size) for size in args.alone.split(",")], options)


def measure(task: str, flock: Flock, methods: list[str], repeats: int) -> dict[str, Any]:
    """Least seconds of each method, largest difference of their results, memory of the calls."""
    runs = {method: TASKS[task, method] for method in methods}
    for run in runs.values():
        run(simulated_flock(100, seed=SEED))
    before = _peak_memory()
    seconds = dict.fromkeys(methods, math.inf)
    results: list[NDArray[np.float64]] = []
    for _ in range(repeats):
        results.clear()
        for method, run in runs.items():
            begun = time.perf_counter()
            results.append(run(flock))
            seconds[method] = min(seconds[method], time.perf_counter() - begun)
    return {
        "seconds": seconds,
        "difference": max(float(np.abs(results[0] - one).max()) for one in results),
        "memory": _peak_memory() - before,
        "process": _peak_memory(),
    }


def report_beside(task: str, size: int, options: list[str]) -> None:
    """Print one line: ours, the library's, how they compare."""
    both = _in_child(f"{task}:{size}:ours+library", options)
    memory = [_in_child(f"{task}:{size}:{method}", options) for method in ("ours", "library")]
    ours, library = both["seconds"]["ours"], both["seconds"]["library"]
    print(  # noqa: T201
        f"{task:<32} {size:>9,} birds  ours {ours:9.4f} s  library {library:9.4f} s"
        f"  {library / ours:6.1f} times as fast  difference {both['difference']:.0e}"
        f"  memory {memory[0]['memory']:5.0f} / {memory[1]['memory']:5.0f} MB"
        f"  (processes {memory[0]['process']:.0f} / {memory[1]['process']:.0f})",
        flush=True,
    )


def report_alone(sizes: list[int], options: list[str]) -> None:
    """Print a line a size and how fast time grows with it (1: in proportion)."""
    for task in (ALL, CANDIDATES):
        older: tuple[int, float] | None = None
        for size in sizes:
            found = _in_child(f"{task}:{size}:ours", options)
            seconds = found["seconds"]["ours"]
            growth = math.nan if older is None else _growth(older, (size, seconds))
            print(  # noqa: T201
                f"{task:<32} {size:>9,} birds  ours {seconds:9.4f} s  growth {growth:5.2f}"
                f"  memory {found['memory']:5.0f} MB  (process {found['process']:.0f})",
                flush=True,
            )
            older = size, seconds


def _growth(older: tuple[int, float], newer: tuple[int, float]) -> float:
    return math.log(newer[1] / older[1]) / math.log(newer[0] / older[0])


def _in_child(one: str, options: list[str]) -> dict[str, Any]:
    command = [sys.executable, "-m", "tests.bench", "kinship", "--one", one, *options]
    done = subprocess.run(command, check=True, capture_output=True, text=True)
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def _peak_memory() -> float:
    """Peak of this process so far, MB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def our_inbreeding(flock: Flock) -> NDArray[np.float64]:
    """Inbreeding of all, from the two arrays of parents."""
    return inbreeding_of(ancestry_of_parents(flock.sires, flock.dams))


def our_kinship_of(count: int) -> Task:
    """Kinship of birds of the last two seasons; the diagonal holds their inbreeding."""

    def task(flock: Flock) -> NDArray[np.float64]:
        nodes = flock.of_last_seasons(count, SEED) + 1
        return kinship_of(ancestry_of_parents(flock.sires, flock.dams), nodes)

    return task


def their_inbreeding(flock: Flock) -> NDArray[np.float64]:
    """Inbreeding of all as the library gives it."""
    sgkit, data = _library(flock)
    found: NDArray[np.float64] = sgkit.pedigree_inbreeding(data).stat_pedigree_inbreeding.values
    return found


def their_kinship(flock: Flock) -> NDArray[np.float64]:
    """Kinship of 500 birds out of the library's whole matrix."""
    sgkit, data = _library(flock)
    birds = flock.of_last_seasons(500, SEED)
    whole: NDArray[np.float64] = sgkit.pedigree_kinship(data).stat_pedigree_kinship.values
    return whole.take(birds, axis=0).take(birds, axis=1)


def _library(flock: Flock) -> tuple[Any, Any]:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import sgkit
        import xarray
    data = xarray.Dataset()
    data["parent"] = (("samples", "parents"), np.stack((flock.sires, flock.dams), axis=1))
    return sgkit, data


TASKS: dict[tuple[str, str], Task] = {
    (ALL, "ours"): our_inbreeding,
    (ALL, "library"): their_inbreeding,
    (SOME, "ours"): our_kinship_of(500),
    (SOME, "library"): their_kinship,
    (CANDIDATES, "ours"): our_kinship_of(2000),
}
