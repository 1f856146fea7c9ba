"""Lacy 1989, Zoo Biol 8:111 (abstract read): founder genomes that are left in descendants.

For k full sibs of two founders, one over twice their mean kinship (each with itself included)
is 1, 4/3, 3/2, 8/5: our own exact arithmetic. It is not the founder genome equivalent 1, 3/2,
7/4, 15/8 of the same family, which counts alleles lost.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from tests.published.pedigrees import kinship


@pytest.mark.parametrize(("sibs", "genomes"), [(1, "1"), (2, "4/3"), (3, "3/2"), (4, "8/5")])
def test_genomes_left_in_full_sibs(sibs: int, genomes: str) -> None:
    names = [f"S{at}" for at in range(sibs)]
    rows = [("C", "", ""), ("H", "", ""), *((name, "C", "H") for name in names)]
    matrix = kinship(rows, names)
    mean = sum(cell for row in matrix for cell in row) / sibs**2
    assert 1 / (2 * mean) == Fraction(genomes)
