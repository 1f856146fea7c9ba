"""The engine against full enumeration of all genotypes of small random pedigrees."""

from __future__ import annotations

import numpy as np
import pytest

from matchmaker.genetics.contradiction import contradiction
from matchmaker.genetics.factors import ContradictionError
from matchmaker.genetics.genotype import genotype_probabilities
from matchmaker.tables.records import Sex
from tests.oracle.flocks_at_random import draw
from tests.oracle.genotype_enumeration import Enumeration

ROUNDING = 1e-12
"""Sums of at most a few thousand products of doubles."""


@pytest.mark.parametrize("seed", range(120))
def test_every_marginal_is_that_of_full_enumeration(seed: int) -> None:
    case = draw(seed, birds=5 + seed % 12 // 11 * 2)
    slow = Enumeration(case.pedigree, case.locus, case.evidence, "sussex")
    if slow.total == 0:
        with pytest.raises(ContradictionError):
            genotype_probabilities(case.pedigree, case.locus, case.evidence, "sussex")
        return
    fast = genotype_probabilities(case.pedigree, case.locus, case.evidence, "sussex")
    expected = np.array([slow.marginal(bird) for bird in case.pedigree.birds])
    assert np.abs(fast.probabilities - expected).max() < ROUNDING


@pytest.mark.parametrize("seed", range(1000, 1050))
def test_every_joint_is_that_of_full_enumeration(seed: int) -> None:
    case = draw(seed)
    slow = Enumeration(case.pedigree, case.locus, case.evidence, "sussex")
    if slow.total == 0:
        with pytest.raises(ContradictionError):
            genotype_probabilities(case.pedigree, case.locus, case.evidence, "sussex")
        return
    pairs = list(zip(case.pedigree.birds, case.pedigree.sexes, strict=True))
    hens = [bird for bird, sex in pairs if sex is Sex.HEN]
    cocks = [bird for bird, sex in pairs if sex is Sex.COCK]
    fast = genotype_probabilities(case.pedigree, case.locus, case.evidence, "sussex")
    table = fast.joint(hens, cocks)
    assert table.shape == (len(hens), len(cocks), 3, 3)
    for row, hen in enumerate(hens):
        for column, cock in enumerate(cocks):
            expected = np.array(slow.joint(hen, cock))
            assert np.abs(table[row, column] - expected).max() < ROUNDING


@pytest.mark.parametrize("seed", range(2000, 2060))
def test_contradictory_records_are_impossible_and_none_can_be_left_out(seed: int) -> None:
    case = draw(seed, birds=5)
    slow = Enumeration(case.pedigree, case.locus, case.evidence, "sussex")
    unseen = Enumeration(case.pedigree, case.locus, [], "sussex")
    guilty = contradiction(case.pedigree, case.locus, case.evidence, "sussex")
    assert bool(guilty) == (slow.total == 0 and unseen.total > 0)
    if guilty:
        together = Enumeration(case.pedigree, case.locus, list(guilty), "sussex")
        assert together.total == 0
        for spared in guilty:
            rest = [one for one in guilty if one is not spared]
            assert Enumeration(case.pedigree, case.locus, rest, "sussex").total > 0
