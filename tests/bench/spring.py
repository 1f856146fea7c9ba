"""Measure one spring, stage by stage: ``python -m tests.bench spring``.

Each stage is what the coming seasons repeat for every season and replicate: the flock from its
tables, genotypes, merit, kinship and prospects, the pairs, the problem, and a plan.
"""

from __future__ import annotations

import time
from typing import TYPE_CHECKING, Final, TypeVar

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
from tests.bench.folder_flocks import EXAMPLES
from tests.bench.measuring import least
from tests.bench.rows import OF_PROCESSOR, Row, Size
from tests.bench.running import Bench, Option

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from matchmaker.flock.flock import Flock
    from matchmaker.genetics.genotypes.inferred import Inferred

Found = TypeVar("Found")


def rows(chosen: Namespace) -> Iterator[Row]:
    """A row a stage, folder by folder."""
    for name in chosen.folders:
        stages, sizes = spring(EXAMPLES / name, chosen.times, proved=chosen.proved)
        for stage, seconds in stages.items():
            yield Row(task=stage, size=Size(name), unit=OF_PROCESSOR, ours=(seconds,), note=sizes)


def spring(folder: Path, times: int, *, proved: bool) -> tuple[dict[str, float], str]:
    """Seconds of each stage, the least of so many runs, and the size of the flock in words.

    The study repeats genotypes and merit, so its own stage is what it adds to the two.
    """
    stages: dict[str, float] = {}

    def run(name: str, stage: Callable[[], Found]) -> Found:
        stage()  # what is kept from run to run in a process is there now
        stages[name], found = least(stage, times, time.process_time)
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


BENCH: Final = Bench(
    rows=rows,
    options=(
        Option(
            name="folders",
            help="of examples",
            whole=("holm-fen", "skarn-farm", "tarn-croft"),
            short=("tarn-croft",),
        ),
        Option(name="times", help="how often each stage is run", whole=7, short=2),
        Option(name="proved", help="also the plan that is proved best", whole=False, full=True),
    ),
)
