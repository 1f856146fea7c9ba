"""Chicks of a large generation, beside what theory says of their breeding values.

Bounds are five standard errors of what is counted.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from scipy import stats

from matchmaker.ahead.chicks import hatch, square_root
from matchmaker.genetics.drop.reading import labels_at, recurrent_share
from tests.ahead_birds import nature, unrelated

if TYPE_CHECKING:
    from matchmaker.ahead.birds import Birds

MANY = 20_000


def test_arrays_of_chicks_have_the_shapes_of_their_parents() -> None:
    of, rng = nature(), np.random.default_rng(1)
    parents = unrelated(4, of, rng)
    chicks = hatch(parents, of, np.array([0, 0, 2]), np.array([1, 3, 1]), rng)
    assert len(chicks) == 3
    for name in ("bits", "alleles", "values", "lasting"):
        assert getattr(chicks, name).shape[1:] == getattr(parents, name).shape[1:]
        assert getattr(chicks, name).dtype == getattr(parents, name).dtype


def test_no_pair_has_no_chicks() -> None:
    of, rng = nature(), np.random.default_rng(1)
    none = np.zeros(0, dtype=np.int64)
    assert len(hatch(unrelated(4, of, rng), of, none, none, rng)) == 0


def test_half_of_the_chicks_are_hens_and_daughters_have_the_z_of_their_sire() -> None:
    of, rng = nature(), np.random.default_rng(2)
    parents = unrelated(2, of, rng, alleles=(1, 0))
    chicks = hatch(parents, of, np.zeros(MANY, dtype=int), np.ones(MANY, dtype=int), rng)
    share = chicks.hens.mean()
    assert abs(share - 0.5) < 5 * 0.5 / MANY**0.5
    daughters, sons = chicks.take(chicks.hens), chicks.take(~chicks.hens)
    assert (daughters.alleles[:, 1, 1] == -1).all()
    assert (sons.alleles[:, 1, 1] == 1).all()  # the dam's only Z has the allele 1
    assert abs(daughters.alleles[:, 0, 1].mean() - 0.5) < 5 * 0.5 / len(daughters) ** 0.5


def test_alleles_are_read_off_the_same_strands_as_breed_and_label() -> None:
    """All strands of the recurrent breed have allele 0, all others 1; so it stays in the chicks."""
    of, rng = nature(), np.random.default_rng(3)
    birds = unrelated(40, of, rng, recurrent=(True, False))
    for _ in range(3):
        pairs = (
            rng.choice(np.flatnonzero(~birds.hens), 40),
            rng.choice(np.flatnonzero(birds.hens), 40),
        )
        birds = hatch(birds, of, *pairs, rng)
    labels = labels_at(birds.bits, of.grid.placed_at)
    there = birds.alleles >= 0
    assert there.sum() == birds.alleles.size - birds.hens.sum()
    assert (labels[there] == birds.alleles[there]).all()


def test_breeding_values_vary_within_a_family_by_half_of_what_parents_are_not_inbred() -> None:
    """½ σ² (1 − F̄) (Henderson 1976, Biometrics 32:69): 2 of 4, with an inbred dam 1."""
    of, rng = nature(), np.random.default_rng(4)
    sire = unrelated(1, of, rng)
    for labels, expected in (((0, 1), 2.0), ((1, 1), 1.0)):
        dam = unrelated(2, of, rng, labels=labels).take(np.array([1]))
        pair = sire.joined(dam)
        chicks = hatch(pair, of, np.zeros(MANY, dtype=int), np.ones(MANY, dtype=int), rng)
        middle = pair.values.mean(axis=0)
        assert abs(chicks.values.mean() - middle[0]) < 5 * (expected / MANY) ** 0.5
        assert chicks.values.var(ddof=1) == pytest.approx(expected, rel=5 * (2 / MANY) ** 0.5)


def test_what_adds_to_two_traits_goes_together_as_their_genes_do() -> None:
    genetic = np.array([[4.0, -3.0], [-3.0, 9.0]])
    of, rng = nature(genetic.tolist()), np.random.default_rng(5)
    pair = unrelated(2, of, rng)
    chicks = hatch(pair, of, np.zeros(MANY, dtype=int), np.ones(MANY, dtype=int), rng)
    found = np.cov(chicks.values.T)
    error = np.sqrt((np.outer(genetic.diagonal(), genetic.diagonal()) + genetic**2) / MANY) / 2
    assert (np.abs(found - genetic / 2) < 5 * error).all()


def test_what_lasts_in_a_chick_is_its_own() -> None:
    of, rng = nature(lasting=1.5), np.random.default_rng(6)
    pair = unrelated(2, of, rng)
    chicks = hatch(pair, of, np.zeros(MANY, dtype=int), np.ones(MANY, dtype=int), rng)
    assert abs(chicks.lasting.mean()) < 5 * 1.5 / MANY**0.5
    assert chicks.lasting.std() == pytest.approx(1.5, rel=5 * (0.5 / MANY) ** 0.5)


def best_half_mated(part: float, rng: np.random.Generator) -> tuple[Birds, Birds, float]:
    """A generation, the chicks of the best part of either sex by one score, and its h²."""
    of = nature(lasting=0.0, residual=2.0)
    birds = unrelated(MANY, of, rng)
    scores = (of.levels(birds) + of.residual_sd * rng.standard_normal(birds.values.shape))[:, 0]
    chosen = [
        np.flatnonzero(sex)[np.argsort(-scores[sex])[: int(part * sex.sum())]]
        for sex in (~birds.hens, birds.hens)
    ]
    sires, dams = (rng.choice(some, MANY) for some in chosen)
    return birds, hatch(birds, of, sires, dams, rng), 4.0 / (4.0 + 4.0)


def test_selection_by_one_score_moves_the_mean_as_the_breeders_equation_says() -> None:
    """R = i h² σₚ (Lush 1937, Animal Breeding Plans; Falconer & Mackay 1996; from memory)."""
    part = 0.2
    parents, chicks, h2 = best_half_mated(part, np.random.default_rng(7))
    x = stats.norm.isf(part)
    intensity = stats.norm.pdf(x) / part
    response = chicks.values.mean() - parents.values.mean()
    # parents are few: the mean of a fifth of each sex errs more than that of the chicks
    error = 2.0 * (2 / (part * MANY)) ** 0.5
    assert abs(response - intensity * h2 * 8.0**0.5) < 5 * error


def test_selection_takes_variance_from_the_next_generation() -> None:
    """σ² (1 − ½ h² k), k = i (i − x) (Bulmer 1971, Am Nat 105:201, from memory)."""
    part = 0.2
    _, chicks, h2 = best_half_mated(part, np.random.default_rng(8))
    x = stats.norm.isf(part)
    intensity = stats.norm.pdf(x) / part
    expected = 4.0 * (1 - h2 * intensity * (intensity - x) / 2)
    assert chicks.values.var(ddof=1) == pytest.approx(expected, rel=5 * (2 / (part * MANY)) ** 0.5)
    assert expected < 0.85 * 4.0


def test_without_selection_mean_and_variance_stay() -> None:
    _, chicks, _ = best_half_mated(1.0, np.random.default_rng(9))
    assert chicks.values.var(ddof=1) == pytest.approx(4.0, rel=5 * (2 / MANY) ** 0.5)


def test_shares_of_backcross_chicks_have_a_mean_of_three_quarters() -> None:
    of, rng = nature(), np.random.default_rng(10)
    crossed = unrelated(2, of, rng, recurrent=(True, False))
    pure = unrelated(2, of, rng)
    pair = crossed.take(np.array([0])).joined(pure.take(np.array([1])))
    chicks = hatch(pair, of, np.zeros(MANY, dtype=int), np.ones(MANY, dtype=int), rng)
    shares = recurrent_share(of.grid, chicks.bits)
    assert abs(shares.mean() - 0.75) < 5 * shares.std() / MANY**0.5
    assert shares.std() > 0.05


def test_a_root_of_covariances_that_are_not_of_full_rank() -> None:
    alike = np.array([[1.0, 2.0], [2.0, 4.0]])
    root = square_root(alike)
    assert root @ root.T == pytest.approx(alike)
