"""Measure one spring, stage by stage: ``python -m tests.bench spring``.

Each stage is what the coming seasons repeat for every season and replicate: the flock from its
tables, genotypes, merit, kinship and prospects, the pairs, the problem, and a plan.
"""

from __future__ import annotations

import argparse
import time
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from matchmaker.checking import tables_of
from matchmaker.flock.flock import build_flock, flock_of_sound
from matchmaker.genetics.genotypes.inferred import infer
from matchmaker.genetics.genotypes.reading import read_loci
from matchmaker.genetics.study import study_flock
from matchmaker.genetics.traits.forecast import forecast
from matchmaker.pairs.table import judge_pairs
from matchmaker.plan.posing.pose import pose_problem
from matchmaker.plan.searching.quick import quick_plan
from matchmaker.plan.searching.solve import solve_plan

if TYPE_CHECKING:
    from collections.abc import Callable

    from matchmaker.flock.flock import Flock
    from matchmaker.genetics.genotypes.inferred import Inferred

EXAMPLES = Path(__file__).parents[2] / "examples"
NAMES = ("holm-fen", "skarn-farm", "tarn-croft")

Found = TypeVar("Found")


def main(arguments: list[str]) -> None:
    """Print a line a folder: milliseconds of processor time a stage."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench spring")
    parser.add_argument("folders", nargs="*", type=Path, default=[EXAMPLES / one for one in NAMES])
    parser.add_argument("--times", type=int, default=7, help="how often each stage is run")
    parser.add_argument("--proved", action="store_true", help="also the plan that is proved best")
    args = parser.parse_args(arguments)
    for folder in args.folders:
        stages, sizes = spring(folder, args.times, proved=args.proved)
        times = ", ".join(f"{name} {1000 * seconds:.1f}" for name, seconds in stages.items())
        print(f"{folder.name} ({sizes}): {times} ms", flush=True)  # noqa: T201


def spring(folder: Path, times: int, *, proved: bool = False) -> tuple[dict[str, float], str]:
    """Seconds of each stage, the least of so many runs, and the size of the flock in words.

    The study repeats genotypes and merit, so its own stage is what it adds to the two.
    """
    stages: dict[str, float] = {}

    def run(name: str, stage: Callable[[], Found]) -> Found:
        found = stage()  # what is kept from run to run in a process is there now
        seconds = []
        for _ in range(times):
            begun = time.process_time()
            stage()
            seconds.append(time.process_time() - begun)
        stages[name] = min(seconds)
        return found

    tables = tables_of(folder)
    flock = run("flock", lambda: build_flock(tables))
    run("unchecked", lambda: flock_of_sound(tables, flock.settings))
    run("genotypes", lambda: _genotypes(flock))
    run("merit", lambda: forecast(flock))
    study = run("kinship and prospects", lambda: study_flock(flock))
    stages["kinship and prospects"] -= stages["genotypes"] + stages["merit"]
    run("pairs", lambda: judge_pairs(study))
    table = run("open pairs", lambda: judge_pairs(study, open_only=True))
    problem = run("problem", lambda: pose_problem(table, fresh=True))
    run("quick plan", lambda: quick_plan(problem))
    if proved:
        run("proved plan", lambda: solve_plan(problem, stages=False))
    sizes = f"{len(flock.birds)} birds, {len(flock.living)} living"
    return stages, f"{sizes}, {len(problem.candidates)} pairs"


def _genotypes(flock: Flock) -> Inferred:
    reading = read_loci(flock.tables)
    return infer(flock.pedigree, reading.loci, reading.evidence, flock.settings.recurrent)
