"""Measure all genotype probabilities of invented flocks: ``python -m tests.bench genotypes``.

Each flock is worked out in a process of its own, so that its peak memory is its own. pgmpy's
variable elimination is asked for some of the birds, one by one, and its time scaled to all.
"""

from __future__ import annotations

from statistics import median
from typing import TYPE_CHECKING, Any, Final

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
from tests.bench.measuring import agreed, least, peak_memory, timed
from tests.bench.own_process import in_own_process
from tests.bench.rows import Row, of_birds
from tests.bench.running import Bench, Option

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Iterator

KEEPINGS = {
    "certain": (certain, "every sire known"),
    "plain": (plain, "a tenth of the sires unsure"),
    "heavy": (heavy, "heavy loops"),
    "unsure": (unsure, "every dam one of eight"),
}
WITHIN: Final = 1e-9
"""What the probabilities of both may differ by."""
ASKED = 3
"""Birds that the other library is asked for."""


def rows(chosen: Namespace) -> Iterator[Row]:
    """A row a kind of flock and size, then those beside the other library."""
    for kind in chosen.kinds:
        for size in chosen.sizes:
            yield alone(kind, size, chosen)
    for size in chosen.beside:
        found = in_own_process(both, size, chosen.repeats)
        yield Row(
            task="a tenth of the sires unsure, beside a peer",
            size=of_birds(size),
            ours=(found["ours"],),
            peer="pgmpy, variable elimination",
            theirs=(found["theirs"],),
            agreement=agreed([found["difference"]], WITHIN),
            note=f"the peer asked for {ASKED} birds, one by one, scaled up to all",
        )


def alone(kind: str, size: int, chosen: Namespace) -> Row:
    """Ours on several flocks, and how the probabilities were found."""
    runs = [in_own_process(ours, kind, size, seed, chosen.repeats) for seed in range(chosen.seeds)]
    methods = [run["method"] for run in runs]
    error = max(run["error"] for run in runs)
    ways = {
        "exact": "",
        "sampled": f" (standard error {error:.3f} at most)",
        "refused": "",
    }
    told = (f"{way} {methods.count(way)}{more}" for way, more in ways.items() if way in methods)
    return Row(
        task=KEEPINGS[kind][1],
        size=of_birds(size),
        ours=tuple(run["seconds"] for run in runs),
        memory=max(run["memory"] for run in runs),
        note=f"{', '.join(told)}; {median(run['cells'] for run in runs):.0e} cells",
    )


def ours(kind: str, size: int, seed: int, repeats: int) -> dict[str, Any]:
    """Least seconds of all probabilities, how they were found, and the cells of the cliques."""
    known = flock(KEEPINGS[kind][0](size), seed)
    seconds, found = least(lambda: _if_not_refused(known), repeats)
    return {
        "seconds": seconds,
        "method": found.method if found else "refused",
        "error": max(map(found.standard_error, found.birds)) if found else 0.0,
        "memory": peak_memory(),
        "cells": _cells(known),
    }


def both(size: int, repeats: int) -> dict[str, float]:
    """Our time for all birds, the library's for some scaled to all, and the largest difference."""
    known = flock(plain(size), 0)
    theirs = Described(pgmpy(), known)
    step = max(1, len(known.pedigree.birds) // ASKED)
    asked = known.pedigree.birds[step - 1 :: step]
    spent, answers = timed(lambda: [theirs.marginal(bird) for bird in asked])
    seconds, found = least(lambda: _probabilities(known), repeats)
    differences = [np.abs(found.of(b) - a).max() for b, a in zip(asked, answers, strict=True)]
    return {
        "ours": seconds,
        "theirs": spent * len(known.pedigree.birds) / len(asked),
        "difference": float(max(differences)),
    }


def _if_not_refused(known: Known) -> Any:
    try:
        return _probabilities(known)
    except TooTangledError:
        return None


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


BENCH: Final = Bench(
    rows=rows,
    options=(
        Option(
            name="sizes",
            help="birds",
            whole=(50, 200, 500, 1_000),
            short=(50, 100, 200),
            full=(50, 200, 500, 1_000, 5_000),
        ),
        Option(
            name="kinds",
            help=f"of flocks: {', '.join(KEEPINGS)}",
            whole=("certain", "plain", "heavy"),
            full=tuple(KEEPINGS),
        ),
        Option(name="seeds", help="flocks of a kind and size", whole=3, short=2, full=5),
        Option(name="repeats", help="how often each is run", whole=3, short=1),
        Option(
            name="beside",
            help="birds, for the other library",
            whole=(50, 75, 100),
            short=(20, 35, 50),
            full=(50, 100, 200),
        ),
    ),
)
