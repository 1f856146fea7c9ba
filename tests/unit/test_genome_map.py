"""The map of the fowl, and the few points that stand for all pairs of places."""

from __future__ import annotations

from math import exp

import numpy as np
import pytest
from scipy.integrate import quad

from matchmaker.genetics.shares.genome_map import (
    GenomeMap,
    chicken_map,
    genome_pairs,
    pairs_with_place,
)


def test_the_z_is_no_autosome() -> None:
    genome = chicken_map()
    assert len(genome.autosomes) == len(genome.lengths) - 1
    assert sum(genome.autosomes) == pytest.approx((3054 - genome.lengths["Z"]) / 100)


def test_arms_reach_from_the_middle_to_both_ends() -> None:
    genome = GenomeMap(lengths={"7": 80.0})
    assert genome.arms("7") == (40.0, 40.0)
    assert genome.arms("8") is None


@pytest.mark.parametrize("degree", [0, 1, 2, 5, 12, 31])
@pytest.mark.parametrize("lengths", [(1.0,), (0.4, 4.3), chicken_map().autosomes])
def test_powers_up_to_the_degree_are_exact(degree: int, lengths: tuple[float, ...]) -> None:
    """Mean of e⁻²ⁿᵘ over pairs of places: Σ [2nl − 1 + e⁻²ⁿˡ] / (2 n² L²) for n > 0."""
    rule = genome_pairs(lengths, degree)
    assert float(rule.mean(np.ones_like(rule.nearness))) == pytest.approx(1, abs=1e-13)
    for n in range(1, degree + 1):
        exact = sum((2 * n * x - 1 + exp(-2 * n * x)) / (2 * n * n) for x in lengths)
        found = float(rule.mean(rule.nearness**n))
        assert found == pytest.approx(exact / sum(lengths) ** 2, abs=1e-12)


@pytest.mark.parametrize("degree", [1, 4, 9])
def test_pairs_with_a_place_as_by_quadrature(degree: int) -> None:
    rule = pairs_with_place((0.3, 0.9), 5.0, degree)
    for n in range(1, degree + 1):
        exact = sum(quad(lambda u, n=n: exp(-2 * n * u), 0, arm)[0] for arm in (0.3, 0.9)) / 5.0
        assert float(rule.mean(rule.nearness**n)) == pytest.approx(exact, abs=1e-12)


def test_a_gene_at_the_very_end() -> None:
    rule = pairs_with_place((0.0, 1.0), 1.0, 1)
    assert float(rule.mean(rule.nearness)) == pytest.approx((1 - exp(-2)) / 2)


def test_few_points_do() -> None:
    assert len(genome_pairs((1.0, 2.0), 9).nearness) == 5


def test_a_chromosome_without_length_has_nothing_near() -> None:
    rule = pairs_with_place((0.0, 0.0), 1.0, 5)
    assert (rule.nearness.tolist(), rule.weights.tolist()) == ([0.0], [1.0])
