"""Sampled genotype probabilities against exact ones, on flocks tangled by unsure parents.

Cliques are kept far smaller than need be, so that most of what is exact elsewhere is sampled here.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from matchmaker.genetics.inference.elimination import TooTangledError
from matchmaker.genetics.inference.exact import marginals, reduced
from matchmaker.genetics.inference.sampling import Sampled, sampled
from tests.sampling_helpers import Errors, errors_of, exact_of, ladder, network_of, tangled

NARROW = 27
SEEDS = range(6)
ON_Z = [False, True]
TOLERANCE = 0.025
"""Limit for the largest of some hundred errors; the standard error aimed at is 0.01."""


@cache
def answer(birds: int, seed: int, *, z_linked: bool) -> tuple[Sampled, Errors]:
    network = network_of(tangled(birds, seed, z_linked=z_linked))
    found = sampled(network, np.random.default_rng(seed), narrow=NARROW)
    return found, errors_of(found, exact_of(network))


@pytest.mark.parametrize("z_linked", ON_Z)
@pytest.mark.parametrize("seed", SEEDS)
def test_sampled_probabilities_are_near_the_exact_ones(seed: int, *, z_linked: bool) -> None:
    _, errors = answer(30, seed, z_linked=z_linked)
    assert errors.off.max() < TOLERANCE
    assert (errors.off < 5 * errors.stated).all()


@pytest.mark.parametrize("z_linked", ON_Z)
def test_most_errors_are_within_two_standard_errors(*, z_linked: bool) -> None:
    ratios = [
        errors.off / errors.stated
        for _, errors in (answer(30, seed, z_linked=z_linked) for seed in SEEDS)
    ]
    assert np.mean(np.concatenate(ratios) < 2) > 0.9


@pytest.mark.parametrize("z_linked", ON_Z)
def test_stated_errors_are_not_far_too_large(*, z_linked: bool) -> None:
    ratios = [
        errors.off / errors.stated
        for _, errors in (answer(30, seed, z_linked=z_linked) for seed in SEEDS)
    ]
    # Of a normal variable 32 % lie beyond one standard deviation.
    assert np.mean(np.concatenate(ratios) > 1) > 0.15


@pytest.mark.parametrize("seed", SEEDS)
def test_runs_from_different_starts_agree(seed: int) -> None:
    network = network_of(tangled(30, seed))
    one, _ = answer(30, seed, z_linked=False)
    two = sampled(network, np.random.default_rng(seed + 1000), narrow=NARROW)
    apart = np.abs(np.concatenate(one.marginals) - np.concatenate(two.marginals))
    stated = np.hypot(np.concatenate(one.errors), np.concatenate(two.errors))
    assert (apart[stated > 0] < 5 * stated[stated > 0]).all()


def test_a_ladder_of_random_weights_is_near_the_exact_answer() -> None:
    network = ladder(12, seed=1)
    errors = errors_of(sampled(network, np.random.default_rng(1), narrow=9), exact_of(network))
    assert errors.off.max() < TOLERANCE
    assert len(errors.off) > 0


def test_joint_draws_are_near_the_exact_joint_probabilities() -> None:
    network = network_of(tangled(30, 2))
    found, _ = answer(30, 2, z_linked=False)
    unsure = [v for v, row in enumerate(found.marginals) if row.size == 3 and row.max() < 0.8]
    one, two = unsure[0], unsure[1]
    first = exact_of(network)[one]
    held = np.flatnonzero(first > 1e-9).tolist()
    expected = np.zeros((3, 3))
    given = marginals(reduced(network), [(one, state) for state in held])[two]
    expected[held] = first[held, None] * given
    counted = np.zeros((3, 3))
    np.add.at(counted, tuple(found.samples[:, [one, two]].T), 1 / len(found.samples))
    assert counted == pytest.approx(expected, abs=0.04)


@pytest.mark.parametrize("seed", range(3))
def test_a_flock_refused_for_its_size_is_sampled_right(seed: int) -> None:
    network = network_of(tangled(36, seed))
    cells = reduced(network).cells
    with pytest.raises(TooTangledError):
        reduced(network, cells_max=cells // 2)
    found = sampled(network, np.random.default_rng(seed), narrow=NARROW)
    assert errors_of(found, exact_of(network)).off.max() < TOLERANCE
