"""Several traits against one covariance of all their scores; invented data."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pytest
from scipy.linalg import block_diag

from matchmaker.genetics.kin.ancestry import ancestry_of
from matchmaker.genetics.traits.kindred import kindred_of
from matchmaker.genetics.traits.model import predict
from matchmaker.genetics.traits.records import Heredity
from matchmaker.genetics.traits.together import predict_together
from tests.oracle.animal_model import random_records, relationship, tangled_pedigree

if TYPE_CHECKING:
    from matchmaker.genetics.traits.records import Records
    from tests.oracle.animal_model import Matrix

HEREDITIES = (
    Heredity(h2=0.3, repeatability=0.5),
    Heredity(h2=0.6, repeatability=0.6),
    Heredity(h2=0.1, repeatability=0.4),
)
CORRELATIONS = np.array([[1.0, -0.4, 0.3], [-0.4, 1.0, 0.2], [0.3, 0.2, 1.0]])


BIRDS = 24
EACH = np.arange(BIRDS)


@dataclass(frozen=True)
class Expected:
    """What all scores together say: of breeding values (traits, birds), of levels and slopes."""

    values: Matrix
    errors: Matrix
    effects: Matrix
    spread: Matrix
    joint: Matrix


def all_in_one(related: Matrix, traits: list[Records], sds: list[float]) -> Expected:
    """Generalised least squares over the scores of all traits."""
    roots = np.array(sds) * np.sqrt([one.h2 for one in HEREDITIES])
    genetic = np.kron(roots[:, None] * CORRELATIONS * roots, related)
    of = np.repeat(np.arange(3), [len(one.values) for one in traits])
    birds = np.concatenate([one.birds for one in traits])
    z = np.eye(3 * BIRDS)[of * BIRDS + birds]
    columns = [np.hstack((np.eye(3)[one.groups], one.covariates)) for one in traits]
    x = block_diag(*columns)
    same_trait = of[:, None] == of
    same_bird = same_trait & (birds[:, None] == birds)
    scale = np.array(sds)[of] ** 2
    lasting = np.array([one.repeatability - one.h2 for one in HEREDITIES])[of] * scale
    passing = np.array([1 - one.repeatability for one in HEREDITIES])[of] * scale
    inverse = np.linalg.inv(z @ genetic @ z.T + same_bird * lasting + np.diag(passing))
    information = np.linalg.inv(x.T @ inverse @ x)
    projection = inverse - inverse @ x @ information @ x.T @ inverse
    y = np.concatenate([one.values for one in traits])
    toward = genetic @ z.T
    return Expected(
        values=(toward @ projection @ y).reshape(3, BIRDS),
        errors=(genetic - toward @ projection @ toward.T).reshape(3, BIRDS, 3, BIRDS),
        effects=information @ x.T @ inverse @ y,
        spread=np.sqrt(information.diagonal()),
        joint=np.block(
            [
                [genetic - toward @ projection @ toward.T, -toward @ inverse @ x @ information],
                [-information @ x.T @ inverse @ toward.T, information],
            ]
        ),
    )


@pytest.mark.parametrize("seed", range(6))
def test_values_errors_levels_and_slopes(seed: int) -> None:
    pedigree = tangled_pedigree(seed, birds=BIRDS)
    related = relationship(pedigree)
    traits = [random_records(10 * seed + at, BIRDS, covariates=at) for at in range(3)]
    kindred = kindred_of(ancestry_of(pedigree))
    alone = [predict(kindred, *one) for one in zip(traits, HEREDITIES, strict=True)]
    found, errors = predict_together(kindred, traits, HEREDITIES, CORRELATIONS)
    expected = all_in_one(related, traits, [one.phenotypic_sd for one in alone])
    np.testing.assert_allclose(errors, expected.errors[:, EACH, :, EACH], atol=1e-8)
    effects = [part for one in found for part in (one.levels, one.slopes)]
    np.testing.assert_allclose(np.concatenate(effects), expected.effects, atol=1e-8)
    slopes = np.concatenate([np.repeat([False, True], [3, at]) for at in range(3)])
    spread = np.concatenate([one.slope_errors for one in found])
    np.testing.assert_allclose(spread, expected.spread[slopes], atol=1e-8)
    for at, one in enumerate(found):
        np.testing.assert_allclose(one.values, expected.values[at], atol=1e-8)
        np.testing.assert_allclose(one.solved.errors(EACH), expected.errors[at, :, at], atol=1e-8)
        variances = alone[at].genetic_sd ** 2 * related.diagonal()
        trusted = 1 - expected.errors[at, :, at].diagonal() / variances
        np.testing.assert_allclose(one.reliability, trusted, atol=1e-8)


@pytest.mark.parametrize("seed", range(3))
def test_errors_of_sums_with_slopes(seed: int) -> None:
    pedigree = tangled_pedigree(seed, birds=BIRDS)
    traits = [random_records(10 * seed + at, BIRDS, covariates=at) for at in range(3)]
    kindred = kindred_of(ancestry_of(pedigree))
    alone = [predict(kindred, *one) for one in zip(traits, HEREDITIES, strict=True)]
    found, _ = predict_together(kindred, traits, HEREDITIES, CORRELATIONS)
    expected = all_in_one(relationship(pedigree), traits, [one.phenotypic_sd for one in alone])
    rng, before = np.random.default_rng(seed), 3 * BIRDS
    for at, one in enumerate(found):
        given, slopes = rng.normal(size=BIRDS), rng.normal(size=at)
        whole = np.zeros(len(expected.joint))
        whole[at * BIRDS : (at + 1) * BIRDS] = given
        whole[before + 3 : before + 3 + at] = slopes
        before += 3 + at
        told = one.solved.spread(EACH, given, slopes)
        assert told == pytest.approx(whole @ expected.joint @ whole, rel=1e-9)
