"""Measure all genotype probabilities of invented flocks: ``python -m tests.bench genotypes``.

Each flock is worked out in a process of its own, so that its peak memory is its own. pgmpy's
variable elimination is asked for some of the birds, one by one, and its time scaled to all.
"""

from __future__ import annotations

import argparse
import json
import math
import resource
import statistics
import subprocess
import sys
import time
from typing import Any

import numpy as np

from matchmaker.genetics.genotypes.genotype import genotype_probabilities
from matchmaker.genetics.genotypes.network import Problem, narrowest
from matchmaker.genetics.inference.elimination import TooTangledError
from tests.bayesian import Described, pgmpy
from tests.bench.genotype_flocks import (
    Known,
    certain,
    flock,
    heavy,
    plain,
    unsure,
)

KEEPINGS = {"certain": certain, "plain": plain, "heavy": heavy, "unsure": unsure}
ASKED = 3
"""Birds that the other library is asked for."""


def main(arguments: list[str]) -> None:
    """Print a line a kind of flock and size, then one beside the other library."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench genotypes")
    parser.add_argument("--sizes", default="50,200,1000,5000")
    parser.add_argument("--kinds", default="certain,plain,heavy")
    parser.add_argument("--seeds", type=int, default=5)
    parser.add_argument("--repeats", type=int, default=3)
    parser.add_argument("--beside", default="50,200", help="sizes for the other library")
    parser.add_argument("--one", help="KIND:SIZE:SEED:METHOD, in this process")
    args = parser.parse_args(arguments)
    if args.one:
        kind, size, seed, method = args.one.split(":")
        known = flock(KEEPINGS[kind](int(size)), int(seed))
        found = ours(known, args.repeats) if method == "ours" else beside(known, args.repeats)
        print(json.dumps(found))  # noqa: T201
        return
    for kind in args.kinds.split(","):
        older: tuple[int, float] | None = None
        for size in map(int, filter(None, args.sizes.split(","))):
            older = report(kind, size, args.seeds, args.repeats, older)
    for size in map(int, filter(None, args.beside.split(","))):
        report_beside(size, args.repeats)


def ours(known: Known, repeats: int) -> dict[str, Any]:
    """Least seconds of all probabilities, how they were found, and the cells of the cliques."""
    seconds = math.inf
    method, error = "refused", 0.0
    for _ in range(repeats):
        begun = time.perf_counter()
        try:
            found = _probabilities(known)
            method = found.method
            error = max(map(found.standard_error, found.birds))
        except TooTangledError:
            pass
        seconds = min(seconds, time.perf_counter() - begun)
    return {
        "seconds": seconds,
        "method": method,
        "error": error,
        "cells": _cells(known),
        "memory": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024,
    }


def beside(known: Known, repeats: int) -> dict[str, Any]:
    """Our time for all birds, the library's for some scaled to all, and the largest difference."""
    theirs = Described(pgmpy(), known)
    step = max(1, len(known.pedigree.birds) // ASKED)
    asked = known.pedigree.birds[step - 1 :: step]
    begun = time.perf_counter()
    answers = [theirs.marginal(bird) for bird in asked]
    spent = (time.perf_counter() - begun) * len(known.pedigree.birds) / len(asked)
    found = _probabilities(known)
    differences = [np.abs(found.of(b) - a).max() for b, a in zip(asked, answers, strict=True)]
    return {
        "ours": ours(known, repeats)["seconds"],
        "theirs": spent,
        "difference": float(max(differences)),
    }


def report(
    kind: str, size: int, seeds: int, repeats: int, older: tuple[int, float] | None
) -> tuple[int, float]:
    """Print median and worst over the seeds, and how time grows (1: in proportion)."""
    runs = [_in_child(f"{kind}:{size}:{seed}:ours", repeats) for seed in range(seeds)]
    seconds = [run["seconds"] for run in runs]
    median = statistics.median(seconds)
    growth = math.nan
    if older is not None:
        growth = math.log(median / older[1]) / math.log(size / older[0])
    methods = [run["method"] for run in runs]
    print(  # noqa: T201
        f"{kind:>6} {size:>5,} birds  median {median:8.3f} s  worst {max(seconds):8.3f} s"
        f"  growth {growth:5.2f}  exact {methods.count('exact')}, sampled"
        f" {methods.count('sampled')} (error {max(run['error'] for run in runs):.3f}), refused"
        f" {methods.count('refused')}  cells {statistics.median(r['cells'] for r in runs):.0e}"
        f"  memory {max(run['memory'] for run in runs):5.0f} MB",
        flush=True,
    )
    return size, median


def report_beside(size: int, repeats: int) -> None:
    """Print one line: ours, the library's, how they compare."""
    found = _in_child(f"plain:{size}:0:beside", repeats)
    print(  # noqa: T201
        f" plain {size:>5,} birds  ours {found['ours']:8.3f} s  pgmpy {found['theirs']:8.1f} s"
        f" (scaled from {ASKED} birds)  {found['theirs'] / found['ours']:.0f} times as fast"
        f"  difference {found['difference']:.0e}",
        flush=True,
    )


def _probabilities(known: Known) -> Any:
    return genotype_probabilities(known.pedigree, known.locus, known.evidence, "recurrent")


def _cells(known: Known) -> float:
    problem = Problem(
        pedigree=known.pedigree,
        recurrent="recurrent",
        loci=(known.locus,),
        evidence=(known.evidence,),
    )
    first = known.pedigree.first_bird
    try:
        return narrowest(problem, range(first, first + len(known.pedigree.birds)))[1].cells
    except TooTangledError as error:
        return error.cells


def _in_child(one: str, repeats: int) -> dict[str, Any]:
    command = [sys.executable, "-m", "tests.bench", "genotypes", "--one", one]
    done = subprocess.run(
        [*command, "--repeats", str(repeats)], check=True, capture_output=True, text=True
    )
    found: dict[str, Any] = json.loads(done.stdout)
    return found
