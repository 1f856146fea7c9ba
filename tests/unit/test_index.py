"""From traits to one merit, through the tables."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import pytest

from matchmaker import verbs
from matchmaker.genetics.index import measurements, merit_of, trait_aims, trait_gains
from tests.builders import chick, cock, flock_of, hen, write_flock

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.genetics.study import Study

HENS = [f"H{at}" for at in range(6)]
EGGS = dict(zip(HENS, (55, 53, 51, 49, 47, 45), strict=True))
SD = math.sqrt(14 * 0.3)
"""Genetic SD of these scores: squares 70 on five degrees of freedom, heritability 0.3."""


def study(path: Path, traits: str, **more: dict[str, float]) -> Study:
    """Return the study of six scored hens, a cock and an unscored daughter."""
    rows = [cock("C"), *map(hen, HENS), chick("Y", "hen", "C", "H0", "Pure")]
    columns: dict[str, dict[str, float]] = {"eggs": dict(EGGS), **more}
    scores = [
        {"bird": band, **{name: str(values[band]) for name, values in columns.items()}}
        for band in HENS
    ]
    return verbs.study(write_flock(path, rows, traits, scores=scores))


UP = '[traits.eggs]\ndirection = "up"\nweight = 0.2\nh2 = 0.3\nrepeatability = 0.5\n'


def test_merit_is_the_weighted_prediction(tmp_path: Path) -> None:
    found = study(tmp_path, UP)
    assert found.merit("H0") == pytest.approx(0.2 * 0.3 * 5 / SD)
    assert found.reliability("H0") == pytest.approx(0.3 * 5 / 6)


def test_down_turns_the_sign(tmp_path: Path) -> None:
    found = study(tmp_path, UP.replace("up", "down"))
    assert found.merit("H0") == pytest.approx(-0.2 * 0.3 * 5 / SD)


def test_a_pair_has_the_mean_of_its_parents(tmp_path: Path) -> None:
    found = study(tmp_path, UP)
    assert found.gains("H0", "C") == {"eggs": pytest.approx(0.3 * 5 / SD / 2)}


def test_an_optimum_is_a_distance(tmp_path: Path) -> None:
    """H0 expected at 51.5: 0.5 from 52; H5 at 48.5: 3.5 from it; both in genetic SDs."""
    found = study(tmp_path, UP.replace('direction = "up"', "optimum = 52.0"))
    assert found.gains("H0", "H0")["eggs"] == pytest.approx(-0.5 / SD)
    assert found.gains("H5", "H5")["eggs"] == pytest.approx(-3.5 / SD)


def test_opposite_parents_meet_at_the_optimum(tmp_path: Path) -> None:
    found = study(tmp_path, UP.replace('direction = "up"', "optimum = 50.0"))
    aims, predictions = found.aims, found.predictions
    assert trait_gains("H0", "H5", aims, predictions)["eggs"] == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize(
    ("words", "weight"),
    [
        ('"must improve"', 0.30),
        ('"must not fall"', 0.15),
        ('"ignore"', 0.0),
        ("0.4", 0.4),
    ],
)
def test_weights_in_words(tmp_path: Path, words: str, weight: float) -> None:
    settings = UP.replace("0.2", words)
    (aim,) = trait_aims(flock_of(tmp_path, [cock("C"), hen("H")], settings).settings, ["eggs"])
    assert aim.weight == weight


def test_an_ignored_trait_counts_nothing(tmp_path: Path) -> None:
    found = study(tmp_path, UP.replace("0.2", '"ignore"'))
    assert found.gains("H0", "C") == {}
    assert (found.merit("H0"), found.reliability("H0")) == (0.0, 0.0)


def test_a_floor_alone_has_no_weight(tmp_path: Path) -> None:
    found = study(tmp_path, "[traits.eggs]\nfloor = 40.0\n")
    assert found.merit("H0") == 0.0


def test_repeatability_is_never_below_heritability(tmp_path: Path) -> None:
    settings = UP.replace("repeatability = 0.5", "repeatability = 0.1")
    (aim,) = trait_aims(flock_of(tmp_path, [cock("C"), hen("H")], settings).settings, ["eggs"])
    assert aim.heredity.repeatability == 0.3


def test_what_is_assumed_of_traits_is_told(tmp_path: Path) -> None:
    found = study(tmp_path, '[traits.eggs]\ndirection = "up"\n', weight=dict(EGGS))
    assert found.defaults[-4:] == (
        "weight 0.15 taken for: eggs",
        "heritability 0.3 taken for: eggs",
        "repeatability 0.5 taken for: eggs",
        "scored but not used, no aim being given: weight",
    )


def test_two_traits_add_up(tmp_path: Path) -> None:
    """The second trait is the first turned round, wanted down: both gains are alike."""
    turned = {band: 100.0 - value for band, value in EGGS.items()}
    second = UP.replace("eggs", "temper").replace("up", "down").replace("0.2", "0.1")
    found = study(tmp_path, UP + second, temper=turned)
    assert found.merit("H0") == pytest.approx(0.3 * 0.3 * 5 / SD)


def test_merit_of_no_gains_is_nothing() -> None:
    assert merit_of({}, ()) == 0


def test_groups_are_hatch_sex_and_the_group_given(tmp_path: Path) -> None:
    rows = [cock("C"), hen("H"), hen("N", hatched="")]
    scores = [
        {"bird": "H", "group": "barn", "eggs": "5"},
        {"bird": "N", "group": "", "eggs": "6"},
        {"bird": "C", "group": "barn", "eggs": ""},
    ]
    folder = write_flock(tmp_path, rows, UP, scores=scores)
    found = measurements(verbs.read(folder), "eggs")
    assert [(one.bird, one.value, one.groups) for one in found] == [
        ("H", 5.0, (("2025-03-01", "hen", "barn"), ("2025", "hen", "barn"), ("2025", "hen"))),
        ("N", 6.0, (("", "hen", ""), ("", "hen", ""), ("", "hen"))),
    ]
