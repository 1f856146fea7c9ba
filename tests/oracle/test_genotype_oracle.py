"""The engine against full enumeration of all genotypes of small random pedigrees."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from matchmaker.genetics.clash.contradiction import contradiction
from matchmaker.genetics.genotypes.genotype import genotype_probabilities
from matchmaker.genetics.genotypes.linked import LinkedGenotypes, linked_genotypes
from matchmaker.genetics.inference.factors import ContradictionError
from matchmaker.tables.records import Sex
from tests.oracle.flocks_at_random import draw
from tests.oracle.genotype_enumeration import Enumeration
from tests.oracle.richer_flocks import draw_clutch, draw_linked, draw_series

if TYPE_CHECKING:
    from matchmaker.flock.pedigree import Pedigree
    from matchmaker.genetics.genotypes.genotype import Genotypes
    from tests.oracle.flocks_at_random import Case

ROUNDING = 1e-12
"""Sums of at most a few thousand products of doubles."""


def solved(case: Case) -> tuple[Genotypes, Enumeration] | None:
    """Both answers, or none where both find the records impossible."""
    slow = Enumeration(case.pedigree, case.locus, case.evidence, "sussex")
    if slow.total == 0:
        with pytest.raises(ContradictionError):
            genotype_probabilities(case.pedigree, case.locus, case.evidence, "sussex")
        return None
    return genotype_probabilities(case.pedigree, case.locus, case.evidence, "sussex"), slow


def hens_and_cocks(pedigree: Pedigree) -> tuple[list[str], list[str]]:
    pairs = list(zip(pedigree.birds, pedigree.sexes, strict=True))
    hens = [bird for bird, sex in pairs if sex is Sex.HEN]
    return hens, [bird for bird, sex in pairs if sex is Sex.COCK]


def check_marginals(fast: Genotypes, slow: Enumeration, place: int = 0) -> None:
    expected = np.array([slow.marginal(bird, place) for bird in fast.birds])
    assert np.abs(fast.probabilities - expected).max() < ROUNDING


def check_joints(fast: Genotypes, slow: Enumeration, place: int = 0) -> None:
    hens, cocks = hens_and_cocks(fast.pedigree)
    table = fast.joint(hens, cocks)
    assert table.shape == (len(hens), len(cocks), 3, 3)
    for row, hen in enumerate(hens):
        for column, cock in enumerate(cocks):
            expected = np.array(slow.joint(hen, cock, place))
            assert np.abs(table[row, column] - expected).max() < ROUNDING


def check_names(named: dict[str, float], slow: Enumeration, bird: str) -> None:
    """Names like "A B/a b" against the haplotypes of the enumeration."""
    found = {
        tuple(sorted(tuple(part.split()) for part in name.split("/") if part != "W")): chance
        for name, chance in named.items()
    }
    expected = {tuple(sorted(held)): chance for held, chance in slow.held(bird).items()}
    assert found == pytest.approx(expected, abs=ROUNDING)


@pytest.mark.parametrize("seed", range(120))
def test_every_marginal_is_that_of_full_enumeration(seed: int) -> None:
    both = solved(draw(seed, birds=5 + seed % 12 // 11 * 2))
    if both:
        check_marginals(*both)


@pytest.mark.parametrize("seed", range(1000, 1050))
def test_every_joint_is_that_of_full_enumeration(seed: int) -> None:
    both = solved(draw(seed))
    if both:
        check_joints(*both)


@pytest.mark.parametrize("seed", range(4000, 4080))
def test_chicks_of_a_clutch_have_one_sire_and_one_dam(seed: int) -> None:
    both = solved(draw_clutch(seed))
    if both:
        check_marginals(*both)
        check_joints(*both)


@pytest.mark.parametrize("seed", range(5000, 5080))
def test_three_alleles_are_those_of_full_enumeration(seed: int) -> None:
    both = solved(draw_series(seed))
    if both:
        check_marginals(*both)
        check_joints(*both)
        fast, slow = both
        for bird in fast.birds:
            check_names(fast.alleles(bird), slow, bird)


def solved_linked(seed: int) -> tuple[LinkedGenotypes, Enumeration] | None:
    case, second, seen = draw_linked(seed, birds=4 + seed % 2)
    recombination = case.locus.recombination
    assert recombination is not None
    slow = Enumeration(
        case.pedigree, case.locus, case.evidence, "sussex", (second, seen, recombination)
    )
    loci, told = (case.locus, second), (case.evidence, seen)
    if slow.total == 0:
        with pytest.raises(ContradictionError):
            linked_genotypes(case.pedigree, loci, told, "sussex")
        return None
    return linked_genotypes(case.pedigree, loci, told, "sussex"), slow


@pytest.mark.parametrize("seed", range(6000, 6060))
def test_two_linked_loci_are_those_of_full_enumeration(seed: int) -> None:
    both = solved_linked(seed)
    if both:
        fast, slow = both
        for place, symbol in enumerate("XY"):
            check_marginals(fast.of(symbol), slow, place)
            check_joints(fast.of(symbol), slow, place)
        for bird in slow.at:
            check_names(fast.haplotypes(bird), slow, bird)


@pytest.mark.parametrize("seed", range(7000, 7060))
def test_chicks_of_two_linked_loci_are_those_of_full_enumeration(seed: int) -> None:
    both = solved_linked(seed)
    if both:
        fast, slow = both
        hens, cocks = hens_and_cocks(slow.pedigree)
        chicks = fast.chicks(hens, cocks)
        for row, hen in enumerate(hens):
            for column, cock in enumerate(cocks):
                for sex, table in ((Sex.COCK, chicks.sons), (Sex.HEN, chicks.daughters)):
                    expected = np.array(slow.chicks(hen, cock, sex))
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
