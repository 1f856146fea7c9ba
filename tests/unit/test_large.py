"""Large flocks: the sparse steps one by one, and what has no answer."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from scipy import sparse

from matchmaker.genetics.kin.ancestry import ancestry_of_parents
from matchmaker.genetics.traits.absorbed import absorb
from matchmaker.genetics.traits.factor import Factor
from matchmaker.genetics.traits.kindred import kindred_of
from matchmaker.genetics.traits.large import Large, predict_large
from matchmaker.genetics.traits.model import predict
from matchmaker.genetics.traits.records import Heredity, Records
from tests.kinship_helpers import simulated_flock

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from matchmaker.genetics.traits.kindred import Kindred

HEREDITY = Heredity(h2=0.3, repeatability=0.4)


def scores(
    birds: int, *, rng: np.random.Generator, groups: int = 4, covariates: int = 1
) -> Records:
    """Scores of some birds, a few of them twice; invented."""
    owners = rng.integers(0, birds, birds)
    return Records(
        trait="weight",
        birds=owners,
        values=rng.normal(2500, 300, birds),
        groups=rng.permutation(np.arange(birds) % groups),
        covariates=rng.random((birds, covariates)),
    )


def pattern(size: int, density: float, rng: np.random.Generator) -> NDArray[np.float64]:
    """A random sparse matrix that is positive definite."""
    values = rng.normal(size=(size, size)) * (rng.random((size, size)) < density)
    return np.asarray(values @ values.T + np.eye(size))


@pytest.mark.parametrize("density", [0.0, 0.01, 0.03, 0.1, 0.5])
@pytest.mark.parametrize("size", [1, 7, 60, 250])
def test_entries_of_the_inverse(size: int, density: float) -> None:
    whole = pattern(size, density, np.random.default_rng(size))
    rows, columns = np.nonzero(whole)
    found = Factor(sparse.csc_array(whole)).inverse_at(rows, columns)
    np.testing.assert_allclose(found, np.linalg.inv(whole)[rows, columns], atol=1e-10)


def test_places_whose_entry_is_zero_count_too() -> None:
    """An entry may cancel, and so may what elimination puts into others."""
    whole = np.array([[2.0, 1, 1, 0], [1, 2.5, 0.5, 1], [1, 0.5, 3, 1], [0, 1, 1, 4]])
    rows, columns = (axis.ravel() for axis in np.indices((4, 4)))
    entries = sparse.coo_array((whole.ravel(), (rows, columns)), shape=(4, 4))
    factor = Factor(sparse.csc_array(entries))
    found = factor.inverse_at(rows, columns)
    np.testing.assert_allclose(found, np.linalg.inv(whole).ravel(), atol=1e-12)


def test_places_without_an_entry_are_refused() -> None:
    factor = Factor(sparse.csc_array(np.eye(3)))
    with pytest.raises(ValueError, match="no entry"):
        factor.inverse_at(np.array([2]), np.array([0]))


@pytest.mark.parametrize("whole", [[[1.0, 2], [2, 1]], [[0.0, 1], [1, 0]], [[-1.0, 0], [0, 1]]])
def test_what_is_not_positive_definite_is_refused(whole: list[list[float]]) -> None:
    with pytest.raises(ValueError, match="positive definite"):
        Factor(sparse.csc_array(np.array(whole)))


def test_parents_keep_an_entry_with_each_mate() -> None:
    """Their only chick has no score, so it tells nothing: the entry is there, and is zero."""
    trio = kindred_of(ancestry_of_parents([-1, -1, 0], [-1, -1, 1]))
    system = absorb(trio, 0.5, np.array([1.0, 1.0, 0.0]))
    assert system.matrix.nnz == 4
    assert system.matrix.toarray().tolist() == [[3, 0], [0, 3]]


@pytest.mark.parametrize("seed", range(2))
def test_thousands_of_birds_as_the_whole_equations_have_them(seed: int) -> None:
    """Beyond 1,500 unknowns ``predict`` goes this way itself, so the dense way is called here."""
    rng = np.random.default_rng(seed)
    kindred = kindred_of(simulated_flock(1_400, seed=seed).ancestry)
    records = scores(1_400, rng=rng, groups=50)
    ours, whole = predict_large(kindred, records, HEREDITY), predict(kindred, records, HEREDITY)
    np.testing.assert_allclose(ours.values, whole.values, atol=1e-8)
    np.testing.assert_allclose(ours.reliability, whole.reliability, atol=1e-10)
    np.testing.assert_allclose(ours.levels, whole.levels, atol=1e-8)
    np.testing.assert_allclose(ours.slope_errors, whole.slope_errors, atol=1e-8)
    some = rng.integers(0, 1_400, 20)
    np.testing.assert_allclose(
        ours.solved.errors(some), whole.solved.errors(some), rtol=1e-10, atol=1e-8
    )
    np.testing.assert_allclose(ours.solved.weights(7), whole.solved.weights(7), atol=1e-12)


def test_reliabilities_of_20_000_birds_are_those_of_solves() -> None:
    """The errors of some birds are solved for one by one, without the selected inverse."""
    rng = np.random.default_rng(5)
    kindred = kindred_of(simulated_flock(20_000, seed=5).ancestry)
    found = predict_large(kindred, scores(20_000, rng=rng, groups=60), HEREDITY)
    some = rng.integers(0, 20_000, 60)
    errors = found.solved.errors(some).diagonal()
    expected = 1 - errors / (kindred.own[some] * found.genetic_sd**2)
    np.testing.assert_allclose(found.reliability[some], expected, atol=1e-11)


def trio() -> Kindred:
    return kindred_of(ancestry_of_parents([-1, -1, 0], [-1, -1, 1]))


def scored(birds: list[int], values: list[float]) -> Records:
    return Records(
        trait="weight",
        birds=np.array(birds, dtype=np.int64),
        values=np.array(values),
        groups=np.zeros(len(birds), dtype=np.int64),
        covariates=np.empty((len(birds), 0)),
    )


def test_without_heritability_nothing_is_predicted() -> None:
    found = predict_large(trio(), scored([0, 0, 2], [1, 2, 6]), Heredity(h2=0, repeatability=0.5))
    assert found.values.tolist() == found.reliability.tolist() == [0, 0, 0]
    assert found.solved.errors(np.arange(3)).tolist() == [[0] * 3] * 3
    assert found.solved.weights(2).tolist() == [0, 0, 0]
    # two scores of one bird count as one and a third of a score of another
    assert found.levels.tolist() == pytest.approx([(1.5 * 4 / 3 + 6) / (4 / 3 + 1)])


def test_without_heritability_scores_still_tell_of_each_other() -> None:
    """P written out for two scores of one bird, alike by a half, and one of another."""
    records = scored([0, 0, 2], [1, 2, 6])
    found = predict_large(trio(), records, Heredity(h2=0, repeatability=0.5))
    inverse = np.linalg.inv(np.array([[1, 0.5, 0], [0.5, 1, 0], [0, 0, 1]]))
    level = inverse.sum(axis=1)
    projection = inverse - np.outer(level, level) / level.sum()
    variance = records.values @ projection @ records.values / 2
    assert found.phenotypic_sd == pytest.approx(variance**0.5)
    assert isinstance(found.solved, Large)
    np.testing.assert_allclose(found.solved.precisions(), projection.diagonal() / variance)
    np.testing.assert_allclose(found.solved.projected(1), projection[1] / variance, atol=1e-12)


@pytest.mark.parametrize(
    ("birds", "values"), [([], []), ([2], [5.0]), ([0, 1, 2], [3.0, 3.0, 3.0])]
)
def test_nothing_is_predicted_from_nothing(birds: list[int], values: list[float]) -> None:
    found = predict_large(trio(), scored(birds, values), HEREDITY)
    assert found.phenotypic_sd == 0
    assert found.values.tolist() == found.reliability.tolist() == [0, 0, 0]
    assert found.levels.tolist() == pytest.approx(sorted(set(values)))


def test_a_flock_of_founders_has_no_equations_of_parents() -> None:
    """Two strangers: half of the difference between them is thought to be in their genes."""
    hens = kindred_of(ancestry_of_parents([-1, -1], [-1, -1]))
    found = predict_large(hens, scored([0, 1], [50.0, 56.0]), Heredity(h2=0.5, repeatability=0.5))
    assert found.values.tolist() == pytest.approx([-1.5, 1.5])
    assert found.reliability.tolist() == pytest.approx([0.25, 0.25])
