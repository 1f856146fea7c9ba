"""The animal model written out: every covariance as a matrix, levels by generalised least squares.

Nothing here knows of Mendelian sampling, of absorbing or of mixed-model equations; relationship is
twice the kinship of the birds. The data are invented.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from numpy.typing import NDArray

from matchmaker.genetics.kin.kinship import kinship_matrix
from matchmaker.genetics.traits.records import Heredity, Records
from tests.kinship_helpers import with_clutches
from tests.strategies import RELATED, UNRELATED, Shape, pedigree_by_seed

if TYPE_CHECKING:
    from matchmaker.flock.pedigree import Pedigree

Matrix: TypeAlias = NDArray[np.float64]


HEREDITIES = (
    Heredity(h2=0.3, repeatability=0.5),
    Heredity(h2=0.25, repeatability=0.25),
    Heredity(h2=0.05, repeatability=0.9),
    Heredity(h2=0.8, repeatability=0.85),
)


@dataclass(frozen=True, kw_only=True)
class Answer:
    """What the model says, with the same meanings as in ``Prediction``.

    ``crossed`` (shape (birds, effects)) are covariances of the errors of predictions and effects:
    those of P-projected scores and of estimates are uncorrelated, so only −Cov(u, estimates) stays.
    """

    phenotypic_sd: float
    effects: Matrix
    effect_errors: Matrix
    values: Matrix
    errors: Matrix
    effect_covariances: Matrix
    crossed: Matrix
    reliability: Matrix
    deviations: Matrix
    loglik: float
    projection: Matrix


def tangled_pedigree(seed: int, birds: int = 30) -> Pedigree:
    """Uncertain parents, clutches, and in every other one founders that are related."""
    shape = Shape(birds=birds, founders=8, bases=RELATED if seed % 2 else UNRELATED)
    return with_clutches(pedigree_by_seed(seed, shape), seed)


def random_records(seed: int, birds: int, *, repeats: bool = True, covariates: int = 2) -> Records:
    """Scores of a part of the birds, some scored up to three times, in three groups."""
    rng = np.random.default_rng(seed)
    scored = rng.permutation(birds)[: max(10, (2 * birds) // 3)]
    owners = np.repeat(scored, rng.integers(1, 4 if repeats else 2, len(scored)))
    rng.shuffle(owners)
    groups = rng.permutation(np.arange(len(owners)) % 3)
    columns = rng.uniform(0, 1, (birds, covariates))[owners]
    values = 50 + 4 * groups + columns @ np.full(covariates, 3.0) + rng.normal(0, 5, len(owners))
    return Records(
        trait="eggs",
        birds=owners,
        values=values,
        groups=groups,
        covariates=columns,
        names=("share", "heterozygosity")[:covariates],
    )


def relationship(pedigree: Pedigree) -> Matrix:
    """Numerator relationships of all birds."""
    return np.asarray(2 * kinship_matrix(pedigree).values)


def written_out(related: Matrix, records: Records, heredity: Heredity) -> Answer:
    """Solve the model with the covariance of the scores as one matrix."""
    scores, birds = len(records.values), len(related)
    z, x = np.zeros((scores, birds)), np.zeros((scores, records.group_count))
    z[np.arange(scores), records.birds] = 1
    x[np.arange(scores), records.groups] = 1
    x = np.hstack((x, records.covariates))
    genes = heredity.h2 * z @ related @ z.T
    lasting = (heredity.repeatability - heredity.h2) * z @ z.T
    cov = genes + lasting + (1 - heredity.repeatability) * np.eye(scores)
    inverse = np.linalg.inv(cov)
    information = x.T @ inverse @ x
    projection = inverse - inverse @ x @ np.linalg.inv(information) @ x.T @ inverse
    left = scores - x.shape[1]
    variance = float(records.values @ projection @ records.values) / left
    toward = heredity.h2 * related @ z.T
    errors = variance * (heredity.h2 * related - toward @ projection @ toward.T)
    genetic = variance * max(heredity.h2, 1e-12) * related.diagonal()
    reliability = 1 - errors.diagonal() / genetic
    effects = np.linalg.solve(information, x.T @ inverse @ records.values)
    determinants = np.linalg.slogdet(cov)[1] + np.linalg.slogdet(information)[1]
    return Answer(
        phenotypic_sd=variance**0.5,
        effects=effects,
        effect_errors=np.sqrt(variance * np.linalg.inv(information).diagonal()),
        values=toward @ projection @ records.values,
        errors=errors,
        effect_covariances=variance * np.linalg.inv(information),
        crossed=-variance * toward @ inverse @ x @ np.linalg.inv(information),
        reliability=reliability if heredity.h2 else np.zeros(birds),
        deviations=records.values - x @ effects,
        loglik=float(-0.5 * (determinants + left * np.log(variance))),
        projection=projection / variance,
    )


def spread_of(expected: Answer, birds: NDArray[np.int64], given: Matrix, slopes: Matrix) -> float:
    """Variance of the error of a sum of predictions and slopes, by the whole covariance matrix."""
    effects = np.concatenate((np.zeros(len(expected.effects) - len(slopes)), slopes))
    return float(
        given @ expected.errors[np.ix_(birds, birds)] @ given
        + effects @ expected.effect_covariances @ effects
        + 2 * given @ expected.crossed[birds] @ effects
    )
