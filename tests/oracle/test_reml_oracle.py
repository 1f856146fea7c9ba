"""Heredity estimated from scores against the likelihood written out, and against invented truth."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from scipy.optimize import minimize

from matchmaker.genetics.kin.ancestry import ancestry_of, ancestry_of_parents
from matchmaker.genetics.traits.aims import HIGHEST
from matchmaker.genetics.traits.kindred import kindred_of
from matchmaker.genetics.traits.likelihood import likelihood_of
from matchmaker.genetics.traits.records import Heredity, Records
from matchmaker.genetics.traits.reml import WITHIN_95, estimate_heredity
from tests.breeding_values import scores_of, true_values
from tests.kinship_helpers import simulated_flock
from tests.oracle.animal_model import random_records, relationship, tangled_pedigree, written_out

if TYPE_CHECKING:
    from matchmaker.genetics.kin.ancestry import Nodes
    from tests.oracle.animal_model import Matrix

TRUTH = Heredity(h2=0.4, repeatability=0.55)
BEST = 1e-6
"""How near the interpolated ridge comes to the top, in units of log-likelihood."""


@pytest.mark.parametrize("seed", range(6))
def test_the_likelihood_at_any_heredity(seed: int) -> None:
    pedigree = tangled_pedigree(seed)
    records = random_records(seed, len(pedigree.birds), covariates=seed % 3)
    related = relationship(pedigree)
    likelihood = likelihood_of(kindred_of(ancestry_of(pedigree)), records)
    assert likelihood is not None
    for lasting in (0.0, 0.3, 0.9):
        spectrum = likelihood.spectrum(lasting)
        for h2 in (0.0, 0.2, 0.6, 0.95):
            heredity = Heredity(h2=h2, repeatability=h2 + lasting * (1 - h2))
            expected = written_out(related, records, heredity)
            assert spectrum.at(h2) == pytest.approx(expected.loglik, abs=1e-6)
            assert spectrum.variance(h2) ** 0.5 == pytest.approx(expected.phenotypic_sd, abs=1e-6)


@pytest.mark.parametrize("seed", range(3))
def test_the_best_and_its_interval_with_repeated_scores(seed: int) -> None:
    rng = np.random.default_rng(seed)
    flock = simulated_flock(60, seed=seed)
    values = true_values(flock, rng)
    records = scores_of(values, TRUTH, rng, groups=np.arange(60) // 20, repeats=2)
    related = relationship_of(flock.sires, flock.dams)
    found = estimate_heredity(kindred_of(flock.ancestry), records, repeated=True, expected=0.3)

    def height(h2: float, lasting: float) -> float:
        heredity = Heredity(h2=h2, repeatability=h2 + lasting * (1 - h2))
        return written_out(related, records, heredity).loglik

    def profile(h2: float) -> float:
        def drop(at: Matrix) -> float:
            return -height(h2, float(at[0]))

        return float(-minimize(drop, [0.3], bounds=[(0, 0.95)], tol=1e-10).fun)

    def depth(at: Matrix) -> float:
        return -height(float(at[0]), float(at[1]))

    grid = [(h2, lasting) for h2 in np.arange(0, 0.96, 0.05) for lasting in np.arange(0, 0.95, 0.1)]
    start = max(grid, key=lambda at: height(*at))
    best = minimize(depth, start, bounds=[(0, HIGHEST), (0, 0.95)], tol=1e-12)
    assert found.loglik == pytest.approx(-best.fun, abs=BEST)
    assert found.h2 == pytest.approx(best.x[0], abs=2e-3)
    lasting = best.x[0] + best.x[1] * (1 - best.x[0])
    assert found.repeatability == pytest.approx(lasting, abs=2e-3)
    assert found.loglik_without == pytest.approx(profile(0.0), abs=1e-3)
    for end in (found.low, found.high):
        if 0 < end < HIGHEST:
            assert profile(end) == pytest.approx(found.loglik - WITHIN_95, abs=1e-3)


def relationship_of(sires: Nodes, dams: Nodes) -> Matrix:
    """Relationships by the tabular method, bird by bird."""
    size = len(sires)
    related = np.zeros((size, size))
    for bird, parents in enumerate(zip(sires, dams, strict=True)):
        known = [parent for parent in parents if parent >= 0]
        related[bird, :bird] = related[:bird, bird] = related[known, :bird].sum(axis=0) / 2
        related[bird, bird] = 1 + (related[parents] / 2 if len(known) == 2 else 0)
    return related


def test_half_sibs_give_what_the_analysis_of_variance_gives() -> None:
    """In balanced data, inside the bounds, both are the same (Searle et al. 1992, from memory)."""
    sires, chicks = 40, 8
    rng = np.random.default_rng(5)
    between = np.repeat(rng.normal(0, 0.35, sires), chicks)
    values = 20 + between + rng.normal(0, 0.93, sires * chicks)
    parents = np.concatenate((np.full(sires, -1), np.repeat(np.arange(sires), chicks)))
    records = Records(
        trait="weight",
        birds=np.arange(sires, len(parents)),
        values=values,
        groups=np.zeros(len(values), dtype=np.int64),
        covariates=np.empty((len(values), 0)),
    )
    flock = kindred_of(ancestry_of_parents(parents, np.full(len(parents), -1)))
    found = estimate_heredity(flock, records, repeated=False, expected=0.3)
    table = values.reshape(sires, chicks)
    within = ((table - table.mean(axis=1, keepdims=True)) ** 2).sum() / (sires * (chicks - 1))
    among = chicks * table.mean(axis=1).var(ddof=1)
    of_sires = (among - within) / chicks
    assert 0 < 4 * of_sires / (of_sires + within) < HIGHEST
    assert found.h2 == pytest.approx(4 * of_sires / (of_sires + within), abs=1e-5)
    assert found.phenotypic_sd == pytest.approx((of_sires + within) ** 0.5, abs=1e-5)


@pytest.mark.slow
@pytest.mark.parametrize("repeats", [1, 2])
def test_the_interval_holds_the_truth_about_as_often_as_it_says(repeats: int) -> None:
    flocks, birds = 60, 120
    truth = TRUTH if repeats > 1 else Heredity(h2=0.4, repeatability=0.4)
    held = 0
    rng = np.random.default_rng(repeats)
    for seed in range(flocks):
        flock = simulated_flock(birds, seed=seed)
        groups = np.arange(birds) // 24
        records = scores_of(true_values(flock, rng), truth, rng, groups=groups, repeats=repeats)
        kindred = kindred_of(flock.ancestry)
        found = estimate_heredity(kindred, records, repeated=repeats > 1, expected=0.3)
        held += found.low <= truth.h2 <= found.high
    bound = 5 * (0.95 * 0.05 / flocks) ** 0.5
    assert held / flocks == pytest.approx(0.95, abs=bound)
