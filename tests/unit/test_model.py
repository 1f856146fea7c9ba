from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from matchmaker.flock.pedigree import Pedigree, Pool
from matchmaker.genetics.kin.ancestry import ancestry_of, ancestry_of_parents
from matchmaker.genetics.traits import model
from matchmaker.genetics.traits.heterozygosity import heterozygosity_of
from matchmaker.genetics.traits.kindred import kindred_of
from matchmaker.genetics.traits.model import predict
from matchmaker.genetics.traits.records import Heredity, Records
from tests.breeding_values import scores_of, true_values
from tests.kinship_helpers import simulated_flock
from tests.oracle.animal_model import random_records, tangled_pedigree

if TYPE_CHECKING:
    from matchmaker.genetics.kin.ancestry import Matrix
    from matchmaker.genetics.traits.prediction import Prediction

HEREDITY = Heredity(h2=0.3, repeatability=0.5)
FOUR = kindred_of(ancestry_of_parents([-1] * 4, [-1] * 4))
HALF = Heredity(h2=0.5, repeatability=0.5)


def scores(birds: list[int], values: list[float], groups: list[int]) -> Records:
    return Records(
        trait="eggs",
        birds=np.array(birds, dtype=np.int64),
        values=np.array(values),
        groups=np.array(groups, dtype=np.int64),
        covariates=np.empty((len(birds), 0)),
    )


def is_nothing(found: Prediction) -> bool:
    return not found.values.any() and not found.reliability.any() and found.genetic_sd == 0


class TestNothingIsPredicted:
    def test_without_scores(self) -> None:
        found = predict(FOUR, scores([], [], []), HALF)
        assert is_nothing(found)
        assert found.phenotypic_sd == 0
        assert len(found.levels) == 0

    def test_without_heritability(self) -> None:
        records = scores([0, 1, 2], [50.0, 53.0, 59.0], [0, 0, 0])
        found = predict(FOUR, records, Heredity(h2=0.0, repeatability=0.4))
        assert is_nothing(found)
        assert found.levels == pytest.approx([54.0])
        assert found.phenotypic_sd == pytest.approx(np.std([50, 53, 59], ddof=1))
        assert not found.solved.errors(np.arange(4)).any()

    def test_from_scores_all_alike(self) -> None:
        found = predict(FOUR, scores([0, 1, 2], [50.1, 50.1, 50.1], [0, 0, 0]), HALF)
        assert is_nothing(found)
        assert found.levels == pytest.approx([50.1])

    def test_from_as_many_scores_as_groups(self) -> None:
        found = predict(FOUR, scores([0, 1], [50.0, 60.0], [0, 1]), HALF)
        assert is_nothing(found)
        assert found.levels == pytest.approx([50, 60])

    def test_from_fewer_scores_than_levels_and_slopes(self) -> None:
        records = replace(
            scores([0, 1], [50.0, 60.0], [0, 1]), covariates=np.array([[0.5], [0.25]])
        )
        assert is_nothing(predict(FOUR, records, HALF))


def test_a_score_alone_in_its_group_tells_nothing_of_the_bird() -> None:
    found = predict(FOUR, scores([0, 1, 2, 3], [50.0, 54.0, 52.0, 90.0], [0, 0, 0, 1]), HALF)
    assert found.values[3] == pytest.approx(0, abs=1e-9)
    assert found.reliability[3] == pytest.approx(0, abs=1e-9)
    assert found.reliability[0] == pytest.approx(1 / 3)


def test_repeatability_of_99_per_cent_makes_a_second_score_worthless() -> None:
    heredity = Heredity(h2=0.5, repeatability=0.99)
    once = predict(FOUR, scores([0, 1, 2], [50.0, 54.0, 52.0], [0] * 3), heredity)
    again = predict(FOUR, scores([0, 0, 1, 2], [50.0, 50.0, 54.0, 52.0], [0] * 4), heredity)
    assert again.reliability == pytest.approx(once.reliability, abs=0.004)


def test_large_flocks_go_to_the_sparse_way(monkeypatch: pytest.MonkeyPatch) -> None:
    pedigree = tangled_pedigree(3)
    kindred, records = kindred_of(ancestry_of(pedigree)), random_records(3, 30)
    dense = predict(kindred, records, HEREDITY)
    assert isinstance(dense.solved, model.Dense)
    monkeypatch.setattr(model, "LARGE", 10)
    sparse = predict(kindred, records, HEREDITY)
    assert not isinstance(sparse.solved, model.Dense)
    np.testing.assert_allclose(sparse.values, dense.values, atol=1e-8)


def test_true_breeding_values_are_met_as_nearly_as_reliability_says() -> None:
    """Invented flocks; the bound is five standard errors of the mean over flocks."""
    rng = np.random.default_rng(7)
    products, squares, told, whole = [], [], [], []
    for seed in range(120):
        flock = simulated_flock(100, seed=seed)
        values = true_values(flock, rng)
        records = scores_of(values, HEREDITY, rng, groups=np.arange(100) // 20)
        kindred = kindred_of(flock.ancestry)
        found = predict(kindred, records, HEREDITY)
        predicted = found.values / (4 * HEREDITY.h2**0.5)
        products.append(float(values @ predicted))
        squares.append(float(predicted @ predicted))
        whole.append(float(values @ values))
        told.append(float(kindred.own @ found.reliability) / float(kindred.own.sum()))
    accuracy = np.sum(products) / np.sqrt(np.sum(squares) * np.sum(whole))
    each = np.array(products) / np.sqrt(np.array(squares) * np.array(whole))
    assert accuracy == pytest.approx(np.mean(told) ** 0.5, abs=5 * standard_error(each))
    # and a prediction of so much means so much: nothing is blown up
    excess = np.array(products) - np.array(squares)
    assert excess.mean() == pytest.approx(0, abs=5 * standard_error(excess))


def standard_error(values: Matrix) -> float:
    return float(values.std(ddof=1) / len(values) ** 0.5)


class TestVigour:
    """Invented: 8 birds of each breed, 24 of the first cross, 24 of the first backcross."""

    PEDIGREE = Pedigree(
        pools=(Pool("araucana"), Pool("sussex")),
        bases=((0.0, 0.0), (0.0, 0.0)),
        birds=tuple(f"B{at:02}" for at in range(64)),
        sexes=(None,) * 64,
        sires=(
            *(((0, 1.0),),) * 8,
            *(((1, 1.0),),) * 8,
            *(((2 + at % 4, 1.0),) for at in range(24)),
            *(((10 + at % 4, 1.0),) for at in range(24)),
        ),
        dams=(
            *(((0, 1.0),),) * 8,
            *(((1, 1.0),),) * 8,
            *(((14 + at % 4, 1.0),) for at in range(24)),
            *(((18 + at, 1.0),) for at in range(24)),
        ),
    )
    CROSSES = slice(16, 40)

    def mean_prediction(self, *, told: bool) -> tuple[float, float]:
        """Mean prediction of first crosses over flocks, and its standard error."""
        kindred = kindred_of(ancestry_of(self.PEDIGREE))
        mixed = heterozygosity_of(self.PEDIGREE)
        assert mixed[self.CROSSES].tolist() == [1.0] * 24
        share = np.repeat([0.0, 1.0, 0.5, 0.75], [8, 8, 24, 24])
        rng = np.random.default_rng(3)
        means = []
        for _ in range(150):
            values = rng.normal(size=64)
            for at in range(16, 64):
                sire, dam = self.PEDIGREE.sires[at][0][0] - 2, self.PEDIGREE.dams[at][0][0] - 2
                values[at] = (values[sire] + values[dam]) / 2 + 0.5**0.5 * values[at]
            records = scores_of(values, HEREDITY, rng, groups=np.arange(64) % 2)
            records = replace(
                records,
                values=records.values + 12 * mixed + 6 * share,
                covariates=np.column_stack((share, mixed))[:, : 2 if told else 1],
                names=("share", "heterozygosity")[: 2 if told else 1],
            )
            means.append(predict(kindred, records, HEREDITY).values[self.CROSSES].mean())
        return float(np.mean(means)), standard_error(np.array(means))

    def test_it_is_not_taken_for_merit(self) -> None:
        mean, error = self.mean_prediction(told=True)
        assert mean == pytest.approx(0, abs=5 * error)

    def test_it_would_be_without_the_regression(self) -> None:
        mean, error = self.mean_prediction(told=False)
        assert mean > 1 + 5 * error
