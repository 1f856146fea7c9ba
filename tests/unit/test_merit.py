"""Predictions from scores, against examples worked by hand."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import pytest

from matchmaker.genetics.merit import Heredity, Measurement, TraitPrediction, predict_trait
from tests.descent_helpers import pedigree

if TYPE_CHECKING:
    from collections.abc import Iterable

THIRD = Heredity(h2=0.3, repeatability=0.5)
HENS = [f"H{at}" for at in range(8)]
FLOCK = pedigree(
    "C cock recurrent recurrent",
    *(f"{band} hen recurrent recurrent" for band in HENS),
    "Y hen C H0",
    "Z hen C H0:0.75|H7:0.25",
)


def scores(*rows: tuple[str, float, str]) -> list[Measurement]:
    """Scores as (band, value, hatch); all hatches of one season and sex."""
    return [
        Measurement(bird=band, value=value, groups=((hatch,), ("season",)))
        for band, value, hatch in rows
    ]


def one_hatch(values: Iterable[float]) -> list[Measurement]:
    return scores(*((band, value, "A") for band, value in zip(HENS, values, strict=False)))


def predicted(measurements: list[Measurement], heredity: Heredity = THIRD) -> TraitPrediction:
    return predict_trait("eggs", measurements, heredity, FLOCK)


def test_one_score_is_shrunk_by_heritability() -> None:
    """Deviations 5, 3, 1, −1, −3, −5 of mean 50: squares 70, five degrees of freedom: SD √14."""
    found = predicted(one_hatch([55, 53, 51, 49, 47, 45]))
    assert found.mean == 50
    assert found.genetic_sd == pytest.approx(math.sqrt(14 * 0.3))
    assert found.expected("H0") - found.mean == pytest.approx(0.3 * 5)
    assert found.standardised["H5"] == pytest.approx(-0.3 * 5 / math.sqrt(4.2))
    assert found.reliability["H0"] == pytest.approx(0.3 * 5 / 6)


def test_repeated_scores_are_trusted_more() -> None:
    """Two scores, h² = 0.3, repeatability 0.5: 2 · 0.3 / 1.5 = 0.4 of the mean deviation."""
    rows = [(band, value, "A") for band in HENS[:6] for value in (48.0, 52.0)]
    rows[0], rows[1] = ("H0", 58.0, "A"), ("H0", 54.0, "A")
    found = predicted(scores(*rows))
    deviation = 56 - (58 + 54 + 5 * 100) / 12
    assert found.reliability["H0"] == pytest.approx(0.4 * 5 / 6)
    assert found.expected("H0") - found.mean == pytest.approx(0.4 * deviation)


def test_an_early_hatch_is_no_merit() -> None:
    """The early hatch lays ten eggs more throughout; only the standing within it counts."""
    early = [("H0", 62.0, "early"), ("H1", 60.0, "early"), ("H2", 60.0, "early")]
    late = [("H4", 52.0, "late"), ("H5", 50.0, "late"), ("H6", 50.0, "late")]
    rows = [*early, ("H3", 58.0, "early"), *late, ("H7", 48.0, "late")]
    found = predicted(scores(*rows))
    assert found.standardised["H0"] == pytest.approx(found.standardised["H4"])
    assert found.standardised["H0"] > 0 > found.standardised["H3"]


def test_small_groups_are_merged() -> None:
    """Two hatches of three: deviations from their common mean of 50, not from 54 and 46."""
    rows = [("H0", 57.0, "A"), ("H1", 54.0, "A"), ("H2", 51.0, "A")]
    rows += [("H3", 49.0, "B"), ("H4", 46.0, "B"), ("H5", 43.0, "B")]
    found = predicted(scores(*rows))
    assert found.expected("H2") - 50 == pytest.approx(0.3 * 1)
    assert found.expected("H3") - 50 == pytest.approx(0.3 * -1)


def test_a_group_of_four_stands_alone() -> None:
    rows = [(f"H{at}", 54.0 + at, "A") for at in range(4)]
    rows += [(f"H{at}", 40.0 + at, "B") for at in range(4, 8)]
    found = predicted(scores(*rows))
    assert found.standardised["H3"] == pytest.approx(found.standardised["H7"])


def test_several_scores_of_one_bird_make_no_group() -> None:
    """Four scores of one hen are no contemporaries: she joins the others."""
    rows = [("H0", 60.0, "A")] * 4 + [(band, 50.0, "B") for band in HENS[1:4]]
    rows += [(band, 44.0, "C") for band in HENS[4:6]]
    found = predicted(scores(*rows))
    assert found.standardised["H0"] > 0


def test_unscored_birds_take_the_mean_of_their_parents() -> None:
    found = predicted(one_hatch([55, 53, 51, 49, 47, 45]))
    assert found.standardised["Y"] == pytest.approx(found.standardised["H0"] / 2)
    assert found.reliability["Y"] == pytest.approx(0.3 * 5 / 6 / 4)
    assert found.standardised["C"] == 0.0


def test_an_uncertain_dam_counts_by_her_chance() -> None:
    """H0 with 0.75, the unscored H7 with 0.25; reliability falls with the square."""
    found = predicted(one_hatch([55, 53, 51, 49, 47, 45]))
    assert found.standardised["Z"] == pytest.approx(0.75 * found.standardised["H0"] / 2)
    assert found.reliability["Z"] == pytest.approx(0.75**2 * 0.3 * 5 / 6 / 4)


@pytest.mark.parametrize(
    "measurements",
    [
        pytest.param([], id="no scores"),
        pytest.param(one_hatch([55, 53, 51, 49, 47]), id="five birds"),
        pytest.param(one_hatch([50] * 6), id="all alike"),
    ],
)
def test_too_little_to_go_by_tells_nothing(measurements: list[Measurement]) -> None:
    found = predicted(measurements)
    assert found.genetic_sd == 0.0
    assert set(found.standardised.values()) == set(found.reliability.values()) == {0.0}


def test_what_is_not_inherited_tells_nothing() -> None:
    found = predicted(one_hatch([55, 53, 51, 49, 47, 45]), Heredity(h2=0.0, repeatability=0.5))
    assert set(found.standardised.values()) == {0.0}
