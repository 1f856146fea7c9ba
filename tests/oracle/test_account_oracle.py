"""Each step of an account against full enumeration with the records taken so far."""

from __future__ import annotations

import pytest

from matchmaker.genetics.genotypes.account import account
from matchmaker.genetics.genotypes.genotype import genotype_probabilities
from matchmaker.genetics.inference.factors import ContradictionError
from tests.oracle.flocks_at_random import draw
from tests.oracle.genotype_enumeration import Enumeration

ROUNDING = 1e-12
"""Sums of at most a few thousand products of doubles."""


@pytest.mark.parametrize("seed", range(3000, 3025))
def test_every_step_is_that_of_full_enumeration(seed: int) -> None:
    case = draw(seed, birds=5)
    try:
        genotypes = genotype_probabilities(case.pedigree, case.locus, case.evidence, "sussex")
    except ContradictionError:
        assert Enumeration(case.pedigree, case.locus, case.evidence, "sussex").total == 0
        return
    for bird in case.pedigree.birds[::2]:
        found = account(genotypes, bird)
        unseen = Enumeration(case.pedigree, case.locus, [], "sussex")
        assert found.start == pytest.approx(tuple(unseen.marginal(bird)), abs=ROUNDING)
        taken = []
        for step in found.steps:
            taken += [record.evidence for record in step.records]
            slow = Enumeration(case.pedigree, case.locus, taken, "sussex")
            assert step.after == pytest.approx(tuple(slow.marginal(bird)), abs=ROUNDING)
        assert sorted(map(repr, taken)) == sorted(map(repr, case.evidence))
