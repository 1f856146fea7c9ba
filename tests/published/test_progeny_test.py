"""How many clean chicks prove a bird pure.

The rule P = (1/2)^n was read in lecture slides on progeny testing; the counts 5 and 7 are from
memory and were recomputed; the posteriors for a prior of two thirds were worked out apart.
"""

from __future__ import annotations

import pytest

from matchmaker.genetics.genotype import genotype_probabilities
from matchmaker.genetics.loci import catalogue
from tests.locus_helpers import evidence, pedigree, seen_row

FLOCK = pedigree(
    "A cock donor donor",
    "R hen recurrent recurrent",
    "F1-COCK cock A R",
    "F1-HEN hen A R",
    "X cock F1-COCK F1-HEN",
    "TESTER hen recurrent recurrent",
    "CARRIER hen A R",
)
PEA = catalogue()["P"]


def heterozygous(mate: str, chicks: int) -> float:
    """P(X has one copy), a pea-combed F2 cock, after so many pea-combed chicks of one mate."""
    rows = [seen_row(pair=(mate, "X"), what=(("pea", chicks),), how="day-old", locus="P")]
    told = evidence(FLOCK, PEA, {"X": "pea"}, *rows)
    return float(genotype_probabilities(FLOCK, PEA, told, "recurrent").of("X")[1])


@pytest.mark.parametrize(
    ("chicks", "printed"), [(0, 0.6667), (5, 0.0588), (6, 0.0303), (7, 0.0154), (8, 0.0078)]
)
def test_posterior_of_an_f2_bird_after_clean_test_chicks(chicks: int, printed: float) -> None:
    assert heterozygous("TESTER", chicks) == pytest.approx(printed, abs=5e-5)


@pytest.mark.parametrize(
    ("mate", "chance", "chicks", "level"),
    [
        ("TESTER", 1 / 2, 5, 0.05),
        ("TESTER", 1 / 2, 7, 0.01),
        ("TESTER", 1 / 2, 10, 0.001),
        ("CARRIER", 3 / 4, 11, 0.05),
        ("CARRIER", 3 / 4, 17, 0.01),
    ],
)
def test_least_number_of_clean_chicks(mate: str, chance: float, chicks: int, level: float) -> None:
    """Posterior odds over prior odds (2 to 1) are the chance of n clean chicks of a carrier."""
    for count, below in ((chicks, True), (chicks - 1, False)):
        odds = heterozygous(mate, count) / (1 - heterozygous(mate, count))
        assert odds / 2 == pytest.approx(chance**count)
        assert (odds / 2 < level) is below


def test_sixteen_clean_chicks_of_carriers_are_just_short_of_99_percent() -> None:
    """Often printed as enough: (3/4)^16 is 0.010023."""
    odds = heterozygous("CARRIER", 16) / (1 - heterozygous("CARRIER", 16))
    assert odds / 2 == pytest.approx(0.010023, abs=5e-7)
