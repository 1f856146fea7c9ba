from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from matchmaker.genetics.kin.ancestry import ancestry_of
from matchmaker.genetics.traits import together
from matchmaker.genetics.traits.combined import Combined, combine
from matchmaker.genetics.traits.kindred import Kindred, kindred_of
from matchmaker.genetics.traits.model import predict
from matchmaker.genetics.traits.records import Heredity, Records
from matchmaker.genetics.traits.together import WHOLE, is_approximate, predict_together
from tests.oracle.animal_model import random_records, tangled_pedigree

if TYPE_CHECKING:
    from matchmaker.genetics.traits.prediction import Prediction

HEREDITIES = [
    Heredity(h2=0.3, repeatability=0.5),
    Heredity(h2=0.6, repeatability=0.6),
    Heredity(h2=0.1, repeatability=0.4),
]
FIRST_TWO = np.array([[1.0, 0.5, 0.0], [0.5, 1.0, 0.0], [0.0, 0.0, 1.0]])


@pytest.fixture(scope="module")
def kindred() -> Kindred:
    return kindred_of(ancestry_of(tangled_pedigree(3)))


@pytest.fixture(scope="module")
def traits() -> list[Records]:
    return [random_records(seed, 30, covariates=seed % 2) for seed in range(3)]


def test_without_correlations_each_trait_stands_alone(
    kindred: Kindred, traits: list[Records]
) -> None:
    found, errors = predict_together(kindred, traits, HEREDITIES, np.eye(3))
    for at, one in enumerate(found):
        alone = predict(kindred, traits[at], HEREDITIES[at])
        assert one.values.tolist() == alone.values.tolist()
        assert one.reliability.tolist() == alone.reliability.tolist()
        expected = alone.solved.errors(np.arange(30)).diagonal()
        np.testing.assert_allclose(errors[:, at, at], expected, atol=1e-10)
        assert not is_approximate(one)
    assert not errors[:, ~np.eye(3, dtype=bool)].any()


@pytest.mark.parametrize("whole", [True, False])
def test_either_way_agrees_where_nothing_is_correlated(
    kindred: Kindred,
    traits: list[Records],
    whole: bool,  # noqa: FBT001
) -> None:
    alone = [predict(kindred, *one) for one in zip(traits, HEREDITIES, strict=True)]
    genetic = together._genetic(alone, np.eye(3))
    if whole:
        found, errors = together._solved(kindred, traits, alone, genetic)
    else:
        found, errors = combine(kindred.own, alone, genetic)
    for at, one in enumerate(found):
        np.testing.assert_allclose(one.values, alone[at].values, atol=1e-9)
        np.testing.assert_allclose(one.reliability, alone[at].reliability, atol=1e-9)
        np.testing.assert_allclose(one.levels, alone[at].levels, atol=1e-9)
        np.testing.assert_allclose(
            errors[:, at, at], alone[at].solved.errors(np.arange(30)).diagonal(), atol=1e-9
        )


def test_what_is_known_of_a_trait_alone_is_not_worked_out_again(
    kindred: Kindred, traits: list[Records], monkeypatch: pytest.MonkeyPatch
) -> None:
    expected, errors = predict_together(kindred, traits, HEREDITIES, FIRST_TWO)
    known = [predict(kindred, *one) for one in zip(traits, HEREDITIES, strict=True)]
    asked: list[Records] = []

    def noted(kindred: Kindred, records: Records, heredity: Heredity) -> Prediction:
        asked.append(records)
        return predict(kindred, records, heredity)

    monkeypatch.setattr(together, "predict", noted)
    found, again = predict_together(
        kindred, traits, HEREDITIES, FIRST_TWO, [known[0], None, known[2]]
    )
    assert asked == [traits[1]]
    assert found[2] is known[2]
    assert again.tolist() == errors.tolist()
    assert [one.values.tolist() for one in found] == [one.values.tolist() for one in expected]


def test_a_trait_out_of_reach_of_correlations_is_left_alone(
    kindred: Kindred, traits: list[Records]
) -> None:
    found, errors = predict_together(kindred, traits, HEREDITIES, FIRST_TWO)
    alone = [predict(kindred, *one) for one in zip(traits, HEREDITIES, strict=True)]
    assert found[2].values.tolist() == alone[2].values.tolist()
    assert not np.allclose(found[0].values, alone[0].values)
    assert errors[:, 0, 1].all()
    assert not errors[:, 0, 2].any()


def test_more_is_known_together(kindred: Kindred, traits: list[Records]) -> None:
    found, _ = predict_together(kindred, traits, HEREDITIES, FIRST_TWO)
    for at in (0, 1):
        alone = predict(kindred, traits[at], HEREDITIES[at])
        assert (found[at].reliability > alone.reliability - 1e-9).all()


def test_a_trait_without_heredity_says_nothing_of_others(
    kindred: Kindred, traits: list[Records]
) -> None:
    heredities = [HEREDITIES[0], Heredity(h2=0.0, repeatability=0.3), HEREDITIES[2]]
    found, errors = predict_together(kindred, traits, heredities, FIRST_TWO)
    assert found[0].values.tolist() == predict(kindred, traits[0], HEREDITIES[0]).values.tolist()
    assert not found[1].values.any()
    assert not errors[:, 1].any()


def test_parts_of_a_prediction_sum_up(kindred: Kindred, traits: list[Records]) -> None:
    found, _ = predict_together(kindred, traits, HEREDITIES, FIRST_TWO)
    for one in found[:2]:
        assert isinstance(one.solved, together.Together)
        for bird in range(30):
            own = one.solved.weights(bird) @ one.deviations
            assert own + one.solved.other_traits(bird) == pytest.approx(one.values[bird], abs=1e-9)


def test_the_unit_of_a_trait_does_not_matter(kindred: Kindred, traits: list[Records]) -> None:
    in_grams = Records(
        trait="weight",
        birds=traits[0].birds,
        values=1000 * traits[0].values,
        groups=traits[0].groups,
        covariates=traits[0].covariates,
    )
    found, _ = predict_together(kindred, traits, HEREDITIES, FIRST_TWO)
    scaled, _ = predict_together(kindred, [in_grams, *traits[1:]], HEREDITIES, FIRST_TWO)
    np.testing.assert_allclose(scaled[0].values, 1000 * found[0].values, rtol=1e-8)
    np.testing.assert_allclose(scaled[1].values, found[1].values, rtol=1e-8)


class TestTooLarge:
    @pytest.fixture(autouse=True)
    def _no_room(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(together, "WHOLE", 10)

    def test_it_is_said(self, kindred: Kindred, traits: list[Records]) -> None:
        found, _ = predict_together(kindred, traits, HEREDITIES, FIRST_TWO)
        assert [is_approximate(one) for one in found] == [True, True, False]

    def test_it_comes_near(
        self, kindred: Kindred, traits: list[Records], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        near, errors = predict_together(kindred, traits, HEREDITIES, FIRST_TWO)
        monkeypatch.setattr(together, "WHOLE", WHOLE)
        exact, expected = predict_together(kindred, traits, HEREDITIES, FIRST_TWO)
        for at in (0, 1):
            assert np.corrcoef(near[at].values, exact[at].values)[0, 1] > 0.95
        np.testing.assert_allclose(errors, expected, atol=0.15 * expected[:, :2, :2].max())

    def test_parts_sum_up(self, kindred: Kindred, traits: list[Records]) -> None:
        found, errors = predict_together(kindred, traits, HEREDITIES, FIRST_TWO)
        for at, one in enumerate(found[:2]):
            assert isinstance(one.solved, Combined)
            for bird in range(30):
                own = one.solved.weights(bird) @ one.deviations
                whole = own + one.solved.other_traits(bird)
                assert whole == pytest.approx(one.values[bird], abs=1e-9)
            diagonal = one.solved.errors(np.arange(30)).diagonal()
            np.testing.assert_allclose(diagonal, errors[:, at, at], atol=1e-9)

    def test_the_error_of_a_sum_is_that_of_its_birds(
        self, kindred: Kindred, traits: list[Records]
    ) -> None:
        found, _ = predict_together(kindred, traits, HEREDITIES, FIRST_TWO)
        birds, given = np.array([3, 11, 20, 28]), np.array([0.5, -1.0, 2.0, 0.25])
        for one in found[:2]:
            expected = given @ one.solved.errors(birds) @ given
            slopes = np.zeros_like(one.slopes)
            assert one.solved.spread(birds, given, slopes) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize(
    ("correlations", "words"),
    [
        (np.eye(2), "3 traits need 3 × 3"),
        (np.triu(np.ones((3, 3))), "symmetric"),
        (2 * np.eye(3), "with 1 on the diagonal"),
        (
            np.array([[1.0, 0.9, -0.9], [0.9, 1.0, 0.9], [-0.9, 0.9, 1.0]]),
            "smallest eigenvalue is -0.8",
        ),
        (np.ones((3, 3)), "smallest eigenvalue"),
    ],
)
def test_impossible_correlations(
    kindred: Kindred,
    traits: list[Records],
    correlations: np.ndarray[tuple[int, int], np.dtype[np.float64]],
    words: str,
) -> None:
    with pytest.raises(ValueError, match=words):
        predict_together(kindred, traits, HEREDITIES, correlations)
