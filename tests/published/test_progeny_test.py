"""How many clean chicks prove a bird pure, and how many to hatch to have enough of a class.

The rule P = (1/2)^n was read in lecture slides on progeny testing; the counts 5 and 7 are from
memory and were recomputed; the posteriors for a prior of two thirds were worked out apart. The
numbers to hatch for so many of a class are those of Sedcole 1977, Crop Sci 17:667, from memory
and recomputed from the binomial.
"""

from __future__ import annotations

import pytest

from matchmaker.genetics.genotypes.genotype import genotype_probabilities
from matchmaker.genetics.genotypes.progeny import (
    ProgenyTest,
    Question,
    chicks_to_hatch,
    progeny_tests,
)
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.tables.records import Sex
from tests.descent_helpers import pedigree
from tests.locus_helpers import evidence, seen_row

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


POSTERIORS = [(0, 0.6667), (5, 0.0588), (6, 0.0303), (7, 0.0154), (8, 0.0078)]
"""Clean chicks of a bird without the gene, and the chance that the F2 cock has one copy."""


@pytest.mark.parametrize(("chicks", "printed"), POSTERIORS)
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


def f2_cock(mate_copies: int, carrier: float) -> ProgenyTest:
    """A pea-combed cock that is to be proved to have two copies, by hens with so many."""
    tests = progeny_tests((0, carrier, 1 - carrier), PEA, Sex.COCK, Question.BREEDS_TRUE)
    return next(test for test in tests if test.mate_copies == mate_copies)


CLEAN = [(0, 0.05, 5), (0, 0.01, 7), (0, 0.001, 10), (1, 0.05, 11), (1, 0.01, 17)]
"""Copies of the mate, how seldom luck may do it, and the least number of clean chicks."""


@pytest.mark.parametrize(("mate_copies", "level", "chicks"), CLEAN)
def test_clean_chicks_before_luck_is_out(mate_copies: int, level: float, chicks: int) -> None:
    test = f2_cock(mate_copies, 0.5)
    assert test.luck(chicks) < level <= test.luck(chicks - 1)


def test_sixteen_clean_chicks_are_not_enough_by_luck_alone() -> None:
    """From even odds sixteen leave P(pure) just above 99 %: 1 / (1 + 0.010023) = 0.990077."""
    test = f2_cock(1, 0.5)
    assert test.luck(16) == pytest.approx(0.010023, abs=5e-7)
    assert test.proof(16) == pytest.approx(0.990077, abs=5e-7)
    assert test.chicks(0.99) == 16


@pytest.mark.parametrize(("chicks", "printed"), POSTERIORS[1:])
def test_an_f2_cock_by_single_combed_hens(chicks: int, printed: float) -> None:
    test = f2_cock(0, 2 / 3)
    assert 1 - test.proof(chicks) == pytest.approx(printed, abs=5e-5)
    assert (test.chicks(0.95), test.chicks(0.99)) == (6, 8)


@pytest.mark.parametrize(("carrier", "chicks"), [(0.5, (5, 7)), (2 / 3, (6, 8))])
def test_the_number_agrees_with_counted_chicks(carrier: float, chicks: tuple[int, int]) -> None:
    """The same posterior as the engine has it from a written count of chicks."""
    test = f2_cock(0, carrier)
    assert (test.chicks(0.95), test.chicks(0.99)) == chicks
    if carrier == 2 / 3:
        assert 1 - test.proof(chicks[0]) == pytest.approx(heterozygous("TESTER", chicks[0]))


NEEDED = [
    (1 / 2, 1, 5, 7),
    (1 / 2, 2, 8, 11),
    (1 / 2, 5, 16, 19),
    (1 / 2, 15, 40, 45),
    (1 / 4, 1, 11, 17),
    (1 / 4, 3, 23, 31),
    (1 / 4, 10, 60, 70),
    (1 / 8, 4, 60, 77),
    (1 / 8, 8, 103, 124),
    (1 / 16, 1, 47, 72),
    (1 / 16, 15, 347, 402),
    (1 / 32, 1, 95, 146),
    (1 / 64, 1, 191, 293),
]
"""Chance of a class, how many are wanted, chicks for them with 95 and with 99 per cent."""


@pytest.mark.parametrize(("chance", "needed", "at_95", "at_99"), NEEDED)
def test_chicks_to_hatch_for_so_many_of_a_class(
    chance: float, needed: int, at_95: int, at_99: int
) -> None:
    assert chicks_to_hatch(needed, chance, 0.95) == at_95
    assert chicks_to_hatch(needed, chance, 0.99) == at_99
