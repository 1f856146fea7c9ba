"""Classical crosses as pedigrees: the ratios our own engine gives for them."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from matchmaker.genetics.genotypes.genotype import genotype_probabilities
from matchmaker.tables.records import Sex
from tests.descent_helpers import pedigree

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.genetics.loci.locus import Locus

CROSSES = pedigree(
    "DONOR-COCK cock donor donor",
    "DONOR-HEN hen donor donor",
    "PLAIN-COCK cock recurrent recurrent",
    "PLAIN-HEN hen recurrent recurrent",
    # F1 both ways: the first out of a donor cock, the second out of a donor hen
    "F1-COCK cock DONOR-COCK PLAIN-HEN",
    "F1-HEN hen DONOR-COCK PLAIN-HEN",
    "F1-COCK-2 cock PLAIN-COCK DONOR-HEN",
    "F1-HEN-2 hen PLAIN-COCK DONOR-HEN",
)


def chicks(locus: Locus, sire: str, dam: str, sex: str) -> tuple[float, ...]:
    """P(0, 1, 2 copies) of a chick of two birds of ``CROSSES``, from a pure donor."""
    lines = len(CROSSES.birds)
    nodes = CROSSES.node_of()
    whole = replace(
        CROSSES,
        birds=(*CROSSES.birds, "CHICK"),
        sexes=(*CROSSES.sexes, Sex(sex)),
        sires=(*CROSSES.sires, ((nodes[sire], 1.0),)),
        dams=(*CROSSES.dams, ((nodes[dam], 1.0),)),
    )
    pure = replace(locus, frequency={"donor": 1.0, "recurrent": 0.0})
    found = genotype_probabilities(whole, pure, (), "recurrent").probabilities[lines]
    return tuple(found.tolist())


def shown(locus: Locus, sire: str, dam: str, sex: str = "cock") -> float:
    """P(a chick shows the locus)."""
    row = chicks(locus, sire, dam, sex)
    return sum(
        p for copies, p in enumerate(row) if p and locus.phenotype(copies, Sex(sex)) != "hidden"
    )


def chi_square(observed: Sequence[int], chances: Sequence[float]) -> float:
    """Pearson's chi-square of counts against chances that sum to one."""
    assert math.isclose(sum(chances), 1.0)
    total = sum(observed)
    return sum((o - total * p) ** 2 / (total * p) for o, p in zip(observed, chances, strict=True))


def p_value(statistic: float, classes: int) -> float:
    """Upper tail of chi-square for two or three classes (closed forms, 1 and 2 degrees)."""
    if classes == 2:
        return math.erfc(math.sqrt(statistic / 2))
    assert classes == 3
    return math.exp(-statistic / 2)
