"""Measure kinship on simulated flocks, beside a general library: ``python -m tests.bench kinship``.

The flocks have 25 seasons, so that larger ones have more breeders at a time; with ``--chicks`` (of
a season) they have the same number of breeders and more seasons instead.

Times are the least of several repeats, ours and the library's in turn in one process, after a call
that lets the library compile itself (what it compiled is kept for the next process); results are
compared as well. Peak memory is measured in a process for each, and given beyond what that process
took before the call.
"""

from __future__ import annotations

import os
import tempfile
import warnings
from functools import partial
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from matchmaker.genetics.kin.ancestry import ancestry_of_parents
from matchmaker.genetics.kin.kinship import inbreeding_of, kinship_of
from tests.bench.measuring import agreed, in_turn, peak_memory
from tests.bench.own_process import in_own_process
from tests.bench.rows import Row, of_birds
from tests.bench.running import Bench, Option
from tests.kinship_helpers import simulated_flock

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Callable, Iterator

    from numpy.typing import NDArray

    from tests.kinship_helpers import Flock

    Task = Callable[[Flock], NDArray[np.float64]]

ALL, SOME = "inbreeding of all", "kinship of 500"
CANDIDATES = "kinship and inbreeding of 2,000"
SEED = 1
SEASONS = 25
WITHIN: Final = 1e-12
"""What the results of both may differ by."""


def rows(chosen: Namespace) -> Iterator[Row]:
    """Ours beside the library, then ours alone at sizes that are not among those."""
    with tempfile.TemporaryDirectory() as place:
        os.environ.update(SGKIT_DISABLE_NUMBA_CACHE="0", NUMBA_CACHE_DIR=place)
        for size in chosen.sizes:
            yield beside(ALL, size, chosen)
        yield beside(SOME, chosen.some, chosen)
    for task, known in ((ALL, chosen.sizes), (CANDIDATES, ())):
        for size in chosen.alone:
            if size not in known:
                found = in_own_process(measure, task, size, ["ours"], chosen.repeats, chosen.chicks)
                yield Row(
                    task=task,
                    size=of_birds(size),
                    ours=(found["seconds"]["ours"],),
                    memory=found["memory"],
                    note=f"process {found['process']:.0f} MB",
                )


def beside(task: str, size: int, chosen: Namespace) -> Row:
    """Ours and the library's time in one process, the memory of each in its own."""
    both, ours, theirs = (
        in_own_process(measure, task, size, methods, chosen.repeats, chosen.chicks)
        for methods in (["ours", "library"], ["ours"], ["library"])
    )
    return Row(
        task=task,
        size=of_birds(size),
        ours=(both["seconds"]["ours"],),
        peer="sgkit",
        theirs=(both["seconds"]["library"],),
        memory=ours["memory"],
        peer_memory=theirs["memory"],
        agreement=agreed([both["difference"]], WITHIN),
        note=f"processes {ours['process']:.0f} / {theirs['process']:.0f} MB",
    )


def measure(task: str, size: int, methods: list[str], repeats: int, chicks: int) -> dict[str, Any]:
    """Least seconds of each method, largest difference of their results, memory of the calls."""
    seasons = size // chicks if chicks else SEASONS
    flock = simulated_flock(size, seasons=seasons, seed=SEED)
    runs = {method: TASKS[task, method] for method in methods}
    for run in runs.values():
        run(simulated_flock(100, seed=SEED))
    before = peak_memory()
    seconds, results = in_turn(
        {method: partial(run, flock) for method, run in runs.items()}, repeats
    )
    first = results[methods[0]]
    return {
        "seconds": seconds,
        "difference": max(float(np.abs(first - one).max()) for one in results.values()),
        "memory": peak_memory() - before,
        "process": peak_memory(),
    }


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

BENCH: Final = Bench(
    rows=rows,
    options=(
        Option(
            name="sizes",
            help="birds, beside the library",
            whole=(2_000, 20_000, 200_000),
            short=(2_000, 20_000),
            full=(2_000, 20_000, 200_000, 1_000_000),
        ),
        Option(
            name="alone",
            help="birds, ours only",
            whole=(20, 300, 2_000, 20_000, 200_000),
            short=(300, 2_000, 20_000),
            full=(20, 300, 2_000, 20_000, 200_000, 1_000_000),
        ),
        Option(name="some", help="birds of which 500 are asked for", whole=10_000, short=2_000),
        Option(name="repeats", help="how often each is run", whole=5, short=2),
        Option(name="chicks", help="chicks of a season; 0: birds / 25", whole=0),
    ),
)
