"""Breeding values and selection indices beside textbook examples and a second way of solving."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.genetics.kin.ancestry import ancestry_of
from matchmaker.genetics.traits.hazel import (
    correlated_prediction,
    index_accuracy,
    index_weights,
)
from matchmaker.genetics.traits.kindred import kindred_of
from matchmaker.genetics.traits.model import predict
from matchmaker.genetics.traits.published import published_traits
from tests.bench.merit import case, ours, textbook
from tests.oracle.animal_model import (
    HEREDITIES,
    random_records,
    relationship,
    tangled_pedigree,
    written_out,
)
from tests.published import test_layer_heritabilities, test_mrode_index, test_mrode_selection
from tests.validation.checks import Effort, Near, Origin, Section, Standing
from tests.validation.plots import against

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tests.bench.merit import Result
    from tests.validation.checks import Check, Figure

EXAMPLE = Origin(source="published/test_mrode_selection.py")
INDEX = Origin(source="published/test_mrode_index.py")
SECOND = Origin(source="oracle/test_model_oracle.py", standing=Standing.SECOND)
WHOLE_EQUATIONS = Origin(source="bench/merit.py", standing=Standing.SECOND)
BIRDS = {True: "600", False: "100"}
"""Birds of the simulated flock, with and without slow peers."""


def section(effort: Effort) -> Section:
    """Merit: breeding values and indices."""
    birds = BIRDS[effort.peers]
    return Section(
        key="merit",
        title="Merit: breeding values and indices",
        about="What a bird would pass on in a trait, predicted from its own scores and those of "
        "its kin (the animal model), how far to trust that, and how several traits are weighed.",
        checks=(*_example(), *_index(), *_written_out(), *_large(birds), *_defaults()),
        figures=(_figure_of_example(), _figure_of_flock(birds)),
    )


def _example() -> Iterator[Check]:
    solved = test_mrode_selection.example_solved()
    for what, found, printed, tolerance in (
        ("levels of males and females", solved.levels, test_mrode_selection.LEVELS, 5.1e-6),
        ("breeding values of eight calves", solved.values, test_mrode_selection.VALUES, 1.01e-8),
        (
            "error variances, in units of the residual",
            test_mrode_selection.errors_in_units(solved),
            test_mrode_selection.ERRORS,
            5.1e-6,
        ),
        ("reliabilities", solved.reliability, test_mrode_selection.RELIABILITIES, 5.1e-5),
    ):
        yield EXAMPLE.check(
            f"example 3.1, {what}", found, printed, tolerance=tolerance, near=Near.PRINTED
        )


def _index() -> Iterator[Check]:
    own = test_mrode_index
    both = (own.PHENOTYPIC, own.GENETIC)
    yield INDEX.check(
        "weights of two records in an index of two traits (p. 18)",
        index_weights(*both, own.WORTH),
        own.INDEX,
        tolerance=6e-4,
        near=Near.PRINTED,
    )
    for number, (wanted, weights, tolerance) in enumerate(own.SUB_INDICES, 1):
        yield INDEX.check(
            f"the same for trait {number} alone",
            index_weights(*both, wanted),
            weights,
            tolerance=tolerance,
            near=Near.PRINTED,
        )
    yield Origin(source=INDEX.source, standing=Standing.OWN).check(
        "accuracy of the index, for trait 1 and for the whole",
        [
            index_accuracy(index_weights(*both, wanted), *both, wanted)
            for wanted, _ in own.ACCURACIES
        ],
        [accuracy for _, accuracy in own.ACCURACIES],
        tolerance=5.1e-5,
        near=Near.PRINTED,
    )
    found = correlated_prediction(own.DEVIATION, own.WEIGHED, own.WANTED, own.TIED)
    yield INDEX.check(
        "prediction from a correlated trait, example 1.5 (p. 11): slope, value, accuracy",
        [found.slope, found.value, found.accuracy],
        [own.PREDICTED[name] for name in ("slope", "value", "accuracy")],
        tolerance=[5.1e-4, 0.0101, 5.1e-4],
        near=Near.PRINTED,
    )


def _written_out() -> Iterator[Check]:
    """Predictions of tangled pedigrees beside all covariances written out as matrices."""
    values, trusts = [], []
    for seed, heredity in enumerate(HEREDITIES):
        pedigree = tangled_pedigree(seed)
        records = random_records(seed, len(pedigree.birds), covariates=seed % 3)
        found = predict(kindred_of(ancestry_of(pedigree)), records, heredity)
        other = written_out(relationship(pedigree), records, heredity)
        values.append((found.values, other.values))
        trusts.append((found.reliability, other.reliability))
    for what, pairs in (("breeding values", values), ("reliabilities", trusts)):
        yield SECOND.check(
            f"{what} of four tangled pedigrees of 30 birds, by generalised least squares",
            [ours for ours, _ in pairs],
            [theirs for _, theirs in pairs],
            tolerance=1e-6,
        )


@cache
def _flock(birds: str) -> tuple[Result, Result]:
    flock = case(birds)
    return ours(flock), textbook(flock)


def _large(birds: str) -> Iterator[Check]:
    own, other = _flock(birds)
    yield WHOLE_EQUATIONS.check(
        f"breeding values of {birds} simulated birds, by the whole mixed-model equations",
        own.values,
        other.values,
        tolerance=1e-6 * float(np.abs(other.values).max()),
        unit="g",
    )
    yield WHOLE_EQUATIONS.check(
        "their reliabilities",
        own.reliabilities[:, other.birds],
        other.reliabilities,
        tolerance=1e-9,
    )


def _defaults() -> Iterator[Check]:
    read = test_layer_heritabilities.READ
    yield Origin(source="published/test_layer_heritabilities.py").check(
        f"heritabilities taken, beside the middle of those read: {', '.join(read)}",
        [published_traits()[trait].h2 for trait in read],
        [float(np.median(values)) for values in read.values()],
        tolerance=0.00501,
        near=Near.PRINTED,
    )


def _figure_of_example() -> Figure:
    solved = test_mrode_selection.example_solved()
    printed = test_mrode_selection.VALUES
    return against(
        "example",
        "Breeding values of eight calves",
        ("Ours above those printed, to eight digits: all lie on the line where both are the same."),
        [
            (str(calf), float(value), float(own))
            for calf, (own, value) in enumerate(zip(solved.values, printed, strict=True), 1)
        ],
        counted="breeding value",
        digits=8,
        heads=("calf", "printed", "ours"),
    )


def _figure_of_flock(birds: str) -> Figure:
    own, other = _flock(birds)
    every = range(0, own.values.shape[1], max(1, own.values.shape[1] // 100))
    return against(
        "flock",
        f"Breeding values of a simulated flock of {birds} birds",
        "About every sixth bird of the flock; the outside way solves all equations at once."
        if birds == BIRDS[True]
        else "All birds; the outside way solves all equations at once.",
        [(str(at + 1), float(other.values[0, at]), float(own.values[0, at])) for at in every],
        counted="breeding value, g",
        digits=4,
        heads=("bird", "the whole equations", "ours"),
    )
