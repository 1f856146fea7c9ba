"""Measure predicted breeding values, beside the textbook way: ``python -m tests.bench merit``.

The textbook way writes down the whole mixed-model equations, levels, breeding values and lasting
surroundings of every bird, and factors them at once with a sparse solver; reliabilities then take a
column of the inverse for each bird, above 2,500 birds for fifty of them (their time is scaled to
all; in the largest flock there are none). Both start from the pedigree, which gives inbreeding and
the inverse of relationship.

Flocks and scores are simulated: seven birds in ten have a score, a fifth of these a second one,
groups are season by sex, and one covariate is regressed on. Times are the least of several repeats
in turn in one process, on one processor; peak memory is measured in a process for each, beyond what
it took before.
"""

from __future__ import annotations

import argparse
import json
import math
import os
import resource
import subprocess
import sys
import time
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from scipy import sparse
from scipy.sparse.linalg import splu, spsolve_triangular

from matchmaker.genetics.traits.kindred import kindred_of
from matchmaker.genetics.traits.model import predict
from matchmaker.genetics.traits.records import Heredity, Records
from tests.kinship_helpers import simulated_flock

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from matchmaker.genetics.kin.ancestry import Ancestry
    from matchmaker.genetics.traits.kindred import Kindred

    Matrix = NDArray[np.float64]

SEED = 1
HEREDITY = Heredity(h2=0.3, repeatability=0.4)
ALL_MAX = 2_500
"""Birds up to which the textbook way solves for a column of the inverse for every bird."""
COLUMNS = 50
"""Columns solved for above that, and at a time."""
ONCE = 10.0
"""Seconds beyond which a method is not repeated."""
SOME_MAX = 50_000
"""Birds up to which it solves for any."""


@dataclass(frozen=True)
class Case:
    """A simulated flock and its scores, trait by trait."""

    ancestry: Ancestry
    traits: tuple[Records, ...]


@dataclass
class Result:
    """Values and reliabilities, a row for each trait; of the latter maybe those of some birds.

    ``scaled`` are seconds that the reliabilities of the other birds would have taken.
    """

    values: Matrix
    reliabilities: Matrix
    birds: NDArray[np.int64]
    scaled: float = 0.0


def main(arguments: list[str]) -> None:
    """Print a line a size, or one measurement as JSON (``--one``)."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench merit")
    parser.add_argument("--sizes", default="200x5,2000,20000,200000", help="BIRDS[xTRAITS], ...")
    parser.add_argument("--repeats", type=int, default=3)
    parser.add_argument("--one", help="SIZE:METHOD, in this process")
    args = parser.parse_args(arguments)
    if args.one:
        size, method = args.one.split(":")
        print(json.dumps(measure(case(size), method.split("+"), args.repeats)))  # noqa: T201
        return
    older: tuple[int, float] | None = None
    for size in args.sizes.split(","):
        older = report(size, ["--repeats", str(args.repeats)], older)


def case(size: str) -> Case:
    """Simulate a flock of "BIRDS" or "BIRDSxTRAITS"."""
    birds, _, traits = size.partition("x")
    flock = simulated_flock(int(birds), seed=SEED)
    kindred = kindred_of(flock.ancestry)
    rng = np.random.default_rng(SEED)
    groups = 2 * flock.season_of + flock.sexes - 1
    return Case(
        ancestry=flock.ancestry,
        traits=tuple(scores(kindred, groups, rng) for _ in range(int(traits or 1))),
    )


def scores(kindred: Kindred, groups: NDArray[np.int64], rng: np.random.Generator) -> Records:
    """Scores of one trait with the heritability and repeatability that are then supposed."""
    birds = len(groups)
    once = np.flatnonzero(rng.random(birds) < 0.7)
    owners = np.sort(np.concatenate((once, once[rng.random(len(once)) < 0.2])))
    owners_groups = np.unique(groups[owners], return_inverse=True)[1]
    covariate = rng.random(birds)[owners]
    h2, t = HEREDITY.h2, HEREDITY.repeatability
    starts, terms, parts = kindred.differences()
    descent = sparse.csr_array((parts, terms, starts), shape=(kindred.unknowns, kindred.unknowns))
    parts_of_own = np.sqrt(kindred.within) * rng.normal(size=kindred.unknowns)
    genes = spsolve_triangular(descent, parts_of_own, lower=True)[kindred.birds]
    lasting = math.sqrt(t - h2) * rng.normal(size=birds)
    chance = math.sqrt(1 - t) * rng.normal(size=len(owners))
    return Records(
        trait="weight",
        birds=owners,
        values=2000
        + 30.0 * owners_groups
        + 100 * covariate
        + 250 * ((math.sqrt(h2) * genes + lasting)[owners] + chance),
        groups=owners_groups,
        covariates=covariate[:, np.newaxis],
        names=("share",),
    )


def ours(flock: Case) -> Result:
    """All from the pedigree to reliabilities of all birds."""
    kindred = kindred_of(flock.ancestry)
    found = [predict(kindred, records, HEREDITY) for records in flock.traits]
    return Result(
        values=np.array([one.values for one in found]),
        reliabilities=np.array([one.reliability for one in found]),
        birds=np.arange(len(kindred.birds)),
    )


def textbook(flock: Case) -> Result:
    """The same by the whole mixed-model equations."""
    kindred = kindred_of(flock.ancestry)
    inverse = kindred.inverse()
    solved = [whole_equations(kindred, inverse, records) for records in flock.traits]
    return Result(
        values=np.array([one.values[0] for one in solved]),
        reliabilities=np.array([one.reliabilities[0] for one in solved]),
        birds=solved[0].birds,
        scaled=sum(one.scaled for one in solved),
    )


def whole_equations(kindred: Kindred, inverse: sparse.csc_array, records: Records) -> Result:
    """One trait: levels and slopes, breeding values, lasting surroundings of scored birds."""
    count, size = len(records.values), kindred.unknowns
    scored, place = np.unique(records.birds, return_inverse=True)
    rows, ones = np.arange(count), np.ones(count)
    groups = sparse.csr_array((ones, (rows, records.groups)))
    x = sparse.hstack((groups, sparse.csr_array(records.covariates)))
    z = sparse.csr_array((ones, (rows, kindred.birds[records.birds])), shape=(count, size))
    w = sparse.csr_array((ones, (rows, place)), shape=(count, len(scored)))
    columns = sparse.hstack((x, z, w)).tocsr()
    chance = 1 - HEREDITY.repeatability
    lasting = HEREDITY.repeatability - HEREDITY.h2
    fixed = x.shape[1]
    prior = sparse.block_diag(
        (
            sparse.csc_array((fixed, fixed)),
            inverse * (chance / HEREDITY.h2),
            sparse.eye_array(len(scored)) * (chance / lasting),
        )
    )
    whole = sparse.csc_array(columns.T @ columns + prior)
    factor = splu(
        whole,
        permc_spec="MMD_AT_PLUS_A",
        diag_pivot_thresh=0.0,
        options={"SymmetricMode": True},
    )
    solution = factor.solve(np.asarray(columns.T @ records.values))
    at = fixed + kindred.birds
    begun = time.perf_counter()
    birds, variances = error_variances(factor, at)
    spent = time.perf_counter() - begun
    reliabilities = np.asarray(1 - chance * variances / (HEREDITY.h2 * kindred.own[birds]))
    return Result(
        values=solution[at][np.newaxis],
        reliabilities=reliabilities[np.newaxis],
        birds=birds,
        scaled=spent * (len(at) / len(birds) - 1) if len(birds) else 0.0,
    )


def error_variances(factor: Any, at: NDArray[np.int64]) -> tuple[NDArray[np.int64], Matrix]:
    """Diagonal of the inverse: of all birds, of some, or of none, by the size of the flock."""
    count = COLUMNS if len(at) > ALL_MAX else len(at)
    birds = np.linspace(0, len(at) - 1, 0 if len(at) > SOME_MAX else count).astype(np.int64)
    found = np.empty(len(birds))
    for start in range(0, len(birds), COLUMNS):
        some = at[birds[start : start + COLUMNS]]
        asked = np.zeros((factor.shape[0], len(some)))
        asked[some, np.arange(len(some))] = 1.0
        found[start : start + len(some)] = factor.solve(asked)[some, np.arange(len(some))]
    return birds, found


METHODS: dict[str, Callable[[Case], Result]] = {"ours": ours, "textbook": textbook}


def measure(flock: Case, methods: list[str], repeats: int) -> dict[str, Any]:
    """Least seconds of each method, largest differences, memory of the calls."""
    for method in methods:
        METHODS[method](case("100"))
    before = _peak_memory()
    seconds = dict.fromkeys(methods, math.inf)
    results: dict[str, Result] = {}
    for _ in range(repeats):
        for method in methods:
            if method in results and seconds[method] > ONCE:
                continue
            begun = time.perf_counter()
            results[method] = METHODS[method](flock)
            spent = time.perf_counter() - begun + results[method].scaled
            seconds[method] = min(seconds[method], spent)
    first, last = results[methods[0]], results[methods[-1]]
    at = np.searchsorted(first.birds, last.birds)
    reliabilities = first.reliabilities[:, at] - last.reliabilities
    sds = first.values.std(axis=1, keepdims=True)
    return {
        "seconds": seconds,
        "values": float(np.abs((first.values - last.values) / sds).max()),
        "reliabilities": float(np.abs(reliabilities).max(initial=0.0)),
        "compared": len(last.birds),
        "memory": _peak_memory() - before,
    }


def report(size: str, options: list[str], older: tuple[int, float] | None) -> tuple[int, float]:
    """Print one line: ours, the textbook's, how they compare, how ours grows with the flock."""
    both = _in_child(f"{size}:ours+textbook", options)
    memory = [_in_child(f"{size}:{method}", options)["memory"] for method in METHODS]
    mine, theirs = both["seconds"]["ours"], both["seconds"]["textbook"]
    birds = int(size.partition("x")[0])
    growth = math.log(mine / older[1]) / math.log(birds / older[0]) if older else math.nan
    known = {0: "without reliabilities", birds: "all solved for"}
    print(  # noqa: T201
        f"{size:>8} birds  ours {mine:8.4f} s  textbook {theirs:9.3f} s"
        f" ({known.get(both['compared'], 'scaled')})  {theirs / mine:7.1f} times as fast"
        f"  differences {both['values']:.0e} SD, {both['reliabilities']:.0e}"
        f"  memory {memory[0]:5.0f} / {memory[1]:5.0f} MB  growth {growth:5.2f}",
        flush=True,
    )
    return birds, mine


def _in_child(one: str, options: list[str]) -> dict[str, Any]:
    command = [sys.executable, "-m", "tests.bench", "merit", "--one", one, *options]
    alone = {**os.environ, "OPENBLAS_NUM_THREADS": "1"}
    done = subprocess.run(command, check=True, capture_output=True, text=True, env=alone)
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def _peak_memory() -> float:
    """Peak of this process so far, MB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
