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

import math
import time
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from scipy import sparse
from scipy.sparse.linalg import splu, spsolve_triangular

from matchmaker.genetics.traits.kindred import kindred_of
from matchmaker.genetics.traits.model import predict
from matchmaker.genetics.traits.records import Heredity, Records
from tests.bench.measuring import agreed, in_turn, peak_memory
from tests.bench.own_process import in_own_process
from tests.bench.rows import Row, of_birds
from tests.bench.running import Bench, Option
from tests.kinship_helpers import simulated_flock

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Callable, Iterator

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
WITHIN: Final = 1e-7
"""What the results may differ by: breeding values in genetic SDs, reliabilities."""
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


def rows(chosen: Namespace) -> Iterator[Row]:
    """A row a size, ours beside the textbook way."""
    for size in chosen.sizes:
        both, mine, theirs = (
            in_own_process(measure, size, methods, chosen.repeats)
            for methods in (["ours", "textbook"], ["ours"], ["textbook"])
        )
        birds, _, traits = size.partition("x")
        known = {0: "without reliabilities", int(birds): ""}
        scaled = f"reliabilities of {both['compared']} birds, scaled up"
        yield Row(
            task=f"{traits or 1} trait{'s' if traits else ''}",
            size=of_birds(int(birds)),
            ours=(both["seconds"]["ours"],),
            peer="whole equations by scipy",
            theirs=(both["seconds"]["textbook"],),
            memory=mine["memory"],
            peer_memory=theirs["memory"],
            agreement=agreed([both["values"], both["reliabilities"]], WITHIN),
            note=known.get(both["compared"], scaled),
        )


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


def measure(size: str, methods: list[str], repeats: int) -> dict[str, Any]:
    """Least seconds of each method, largest differences, memory of the calls."""
    flock = case(size)
    for method in methods:
        METHODS[method](case("100"))
    before = peak_memory()
    seconds, results = in_turn(
        {method: partial(METHODS[method], flock) for method in methods}, repeats
    )
    first, last = results[methods[0]], results[methods[-1]]
    at = np.searchsorted(first.birds, last.birds)
    reliabilities = first.reliabilities[:, at] - last.reliabilities
    sds = first.values.std(axis=1, keepdims=True)
    return {
        "seconds": {method: seconds[method] + results[method].scaled for method in methods},
        "values": float(np.abs((first.values - last.values) / sds).max()),
        "reliabilities": float(np.abs(reliabilities).max(initial=0.0)),
        "compared": len(last.birds),
        "memory": peak_memory() - before,
    }


BENCH: Final = Bench(
    rows=rows,
    options=(
        Option(
            name="sizes",
            help="BIRDS or BIRDSxTRAITS",
            whole=("200x5", "200", "2000", "20000", "200000"),
            short=("200x5", "200", "2000", "5000"),
        ),
        Option(name="repeats", help="how often each is run", whole=3, short=2),
    ),
)
