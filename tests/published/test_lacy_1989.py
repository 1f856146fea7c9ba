"""Lacy 1989, Zoo Biol 8:111 (abstract read): founder equivalents and founder genome equivalents.

For k full sibs of two founders, our own exact arithmetic from the definitions: each founder gave
half, one of its two alleles is left with 1 − 2⁻ᵏ, so that the effective number of founders is 2
and the founder genome equivalent 1, 3/2, 7/4, 15/8. One over twice the mean kinship (each bird
with itself included) is another number: 1, 4/3, 3/2, 8/5.
"""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from matchmaker.genetics.kin.diversity import gene_diversity
from matchmaker.genetics.kin.founders import founder_genes
from matchmaker.genetics.kin.kinship import kinship_matrix
from tests.published.pedigrees import kinship, pedigree_of

SIBS = [1, 2, 3, 4]
BY_KINSHIP = [(1, "1"), (2, "4/3"), (3, "3/2"), (4, "8/5")]
BY_ALLELES = [(1, "1"), (2, "3/2"), (3, "7/4"), (4, "15/8")]


def family(sibs: int) -> tuple[list[tuple[str, str, str]], list[str]]:
    names = [f"S{at}" for at in range(sibs)]
    return [("C", "", ""), ("H", "", ""), *((name, "C", "H") for name in names)], names


@pytest.mark.parametrize(("sibs", "genomes"), BY_KINSHIP)
def test_genomes_left_in_full_sibs(sibs: int, genomes: str) -> None:
    rows, names = family(sibs)
    matrix = kinship(rows, names)
    mean = sum(cell for row in matrix for cell in row) / sibs**2
    assert 1 / (2 * mean) == Fraction(genomes)


@pytest.mark.parametrize(("sibs", "genomes"), BY_KINSHIP)
def test_genome_equivalents_by_mean_kinship(sibs: int, genomes: str) -> None:
    rows, names = family(sibs)
    found = gene_diversity(kinship_matrix(pedigree_of(rows), names), names)
    assert found is not None
    assert found.genome_equivalents == pytest.approx(float(Fraction(genomes)), abs=1e-12)


@pytest.mark.parametrize("sibs", SIBS)
def test_retention_in_full_sibs(sibs: int) -> None:
    rows, names = family(sibs)
    found = founder_genes(pedigree_of(rows), names, np.random.default_rng(1), 40_000)
    assert [part.founder.bird for part in found.parts] == ["C", "H"]
    for part in found.parts:
        assert part.contribution == 0.5
        assert abs(part.retention - (1 - 0.5**sibs)) <= 5 * part.retention_error
    assert found.effective_founders == 2.0


@pytest.mark.parametrize(("sibs", "genomes"), BY_ALLELES)
def test_founder_genome_equivalents_of_full_sibs(sibs: int, genomes: str) -> None:
    rows, names = family(sibs)
    found = founder_genes(pedigree_of(rows), names, np.random.default_rng(2), 40_000)
    error = 5 * found.genome_equivalents_error + 1e-12
    assert abs(found.genome_equivalents - float(Fraction(genomes))) <= error
    assert error < 0.05
