"""Chicks of a pair at one locus."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from matchmaker.genetics.genotypes.chicks import chick_distribution, lethal_fraction
from matchmaker.genetics.genotypes.genotype import genotype_probabilities
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.genetics.loci.locus import Locus
from tests.descent_helpers import pedigree
from tests.locus_helpers import chicks_of, evidence
from tests.published.crosses import chi_square


@pytest.mark.parametrize(("hen", "cock"), list(itertools.product(range(3), repeat=2)))
def test_autosomal_chicks_are_those_of_all_gametes(hen: int, cock: int) -> None:
    """Four gamete pairs of two alleles each, counted."""
    alleles = ([0, 0], [0, 1], [1, 1])
    counts = [0.0, 0.0, 0.0]
    for from_hen, from_cock in itertools.product(alleles[hen], alleles[cock]):
        counts[from_hen + from_cock] += 1 / 4
    chicks = chicks_of("P", hen, cock)
    assert chicks.sons.tolist() == chicks.daughters.tolist() == counts


@pytest.mark.parametrize(("hen", "cock"), list(itertools.product(range(2), range(3))))
def test_z_linked_chicks_are_those_of_all_gametes(hen: int, cock: int) -> None:
    sons, daughters = [0.0] * 3, [0.0] * 3
    for from_cock in ([0, 0], [0, 1], [1, 1])[cock]:
        sons[hen + from_cock] += 1 / 2
        daughters[from_cock] += 1 / 2
    chicks = chicks_of("S", hen, cock)
    assert (chicks.sons.tolist(), chicks.daughters.tolist()) == (sons, daughters)


@pytest.mark.parametrize("symbol", ["P", "S"])
def test_many_pairs_at_once_are_each_alone(symbol: str) -> None:
    rng = np.random.default_rng(5)
    joint = rng.dirichlet(np.ones(9), size=(4, 6)).reshape(4, 6, 3, 3)
    if catalogue()[symbol].z_linked:
        joint[..., 2, :] = 0
        joint /= joint.sum(axis=(-1, -2), keepdims=True)
    together = chick_distribution(joint, catalogue()[symbol])
    assert together.sons.shape == together.daughters.shape == (4, 6, 3)
    assert together.sons.sum(axis=-1) == pytest.approx(np.ones((4, 6)))
    for hen, cock in itertools.product(range(4), range(6)):
        alone = chick_distribution(joint[hen, cock], catalogue()[symbol])
        assert together.sons[hen, cock] == pytest.approx(alone.sons)
        assert together.daughters[hen, cock] == pytest.approx(alone.daughters)


def test_the_joint_matters_and_not_the_margins() -> None:
    """Both carry or neither: a quarter of half the chicks, not a quarter of a quarter."""
    joint = np.zeros((3, 3))
    joint[0, 0] = joint[1, 1] = 0.5
    assert chick_distribution(joint, catalogue()["P"]).sons[2] == 0.125
    apart = np.outer(joint.sum(axis=1), joint.sum(axis=0))
    assert chick_distribution(apart, catalogue()["P"]).sons[2] == 0.0625


@pytest.mark.parametrize(
    ("symbol", "hen", "cock", "fraction"),
    [
        ("Cp", 1, 1, 0.25),
        ("Cp", 1, 0, 0.0),
        ("F", 1, 1, 0.25),
        ("F", 2, 1, 0.5),
        ("O", 2, 2, 0.0),
        ("n", 0, 1, 0.25),
        ("n", 1, 1, 0.5),
        ("n", 1, 0, 0.0),
    ],
)
def test_lethal_fraction(symbol: str, hen: int, cock: int, fraction: float) -> None:
    joint = np.zeros((3, 3))
    joint[hen, cock] = 1.0
    assert lethal_fraction(joint, catalogue()[symbol]) == fraction


def test_a_locus_without_lethal_genotypes_kills_nobody() -> None:
    joint = np.full((2, 3, 3, 3), 1 / 9)
    assert lethal_fraction(joint, Locus(symbol="X", name="X")).tolist() == [[0.0] * 3] * 2


def test_landauers_creepers_fit_two_to_one_and_not_three_to_one() -> None:
    """775 creepers, 388 normal (Landauer and Dunn; counts from memory, not confirmed)."""
    creeper_locus = catalogue()["Cp"]
    flock = pedigree("Q cock donor donor", "W hen donor donor", "C hen Q W")
    told = evidence(flock, creeper_locus, {"Q": "creeper", "W": "creeper"})
    normal, creeper, _ = genotype_probabilities(flock, creeper_locus, told, "recurrent").of("C")
    assert chi_square((775, 388), (creeper, normal)) == pytest.approx(0.0004, abs=5e-5)
    assert chi_square((775, 388), (3 / 4, 1 / 4)) == pytest.approx(43.37, abs=5e-3)
