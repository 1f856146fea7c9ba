"""What is doubtful about scores, where it stands and how it is mended."""

from __future__ import annotations

import random
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from matchmaker.genetics.traits.doubts import forecast_defaults, trait_doubts
from matchmaker.genetics.traits.forecast import forecast
from matchmaker.genetics.traits.reml import Reason
from tests.builders import of_kind, where
from tests.unit.trait_flocks import bands, by_sires, scored_flock, scores_of, young

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from matchmaker.errors import Fault
    from matchmaker.genetics.traits.forecast import Forecast

EGGS = '[traits.eggs]\ndirection = "up"\nh2 = 0.25\ndepression = 0.0\nunit = "eggs"\n'
HENS = bands("PF", 12)


def laid(spread: float = 4.0, **more: float) -> dict[str, float]:
    """Return scores of 24 hens, whole eggs around 50."""
    rng = random.Random(3)  # noqa: S311
    return {**{band: round(rng.gauss(50, spread)) for band in HENS}, **more}


def told(
    path: Path, values: Mapping[str, float], settings: str = EGGS, cocks: tuple[str, ...] = ()
) -> tuple[list[Fault], Forecast]:
    rows = [*young(HENS), *young(cocks, "cock")]
    flock = scored_flock(path, rows, settings, scores_of("eggs", values))
    found = forecast(flock)
    return trait_doubts(found, flock.tables), found


def test_plain_scores_leave_no_doubt(tmp_path: Path) -> None:
    assert told(tmp_path, laid())[0] == []


def test_a_slip_of_the_pen_is_told_and_counted(tmp_path: Path) -> None:
    doubts, found = told(tmp_path, laid(P3=500.0))
    (doubt,) = doubts
    assert (doubt.kind, *where(doubt)) == ("odd-score", "scores.csv", 5, "eggs", "500")
    assert doubt.problem.startswith("P3 has eggs 500, where ")
    assert doubt.problem.endswith(" eggs is expected from its contemporaries and kin")
    assert 500.0 in found.trait("eggs").scored.raw


def test_what_is_expected_is_as_the_keeper_would_write_it(tmp_path: Path) -> None:
    """The slip itself is not what is expected: the other hens laid around 50."""
    (doubt,) = told(tmp_path, laid(P3=500.0))[0]
    expected = float(doubt.problem.split("where ")[1].split(" ±")[0])
    assert 45 < expected < 55


def test_scores_on_the_wrong_sex_are_told_once(tmp_path: Path) -> None:
    cocks = tuple(f"P{at}" for at in range(20, 28))
    values = laid(**dict.fromkeys(cocks, 12.0))
    (doubt,) = told(tmp_path, values, EGGS + 'sex = "hen"\n', cocks)[0]
    assert (doubt.kind, *where(doubt)) == ("score-wrong-sex", "scores.csv", 26, "eggs", "8")
    assert "8 of its scores are of cocks (rows 26, 27, 28, 29, 30, 31, ...)" in doubt.problem


def test_hens_scored_for_what_cocks_have(tmp_path: Path) -> None:
    doubts = told(tmp_path, laid(), EGGS + 'sex = "cock"\n')[0]
    (doubt,) = of_kind(doubts, "score-wrong-sex")
    assert "24 of its scores are of hens" in doubt.problem


def test_too_few_scores_tell_nothing(tmp_path: Path) -> None:
    (doubt,) = told(tmp_path, dict(list(laid().items())[:5]))[0]
    assert (doubt.kind, *where(doubt)) == ("too-few-scores", "scores.csv", None, "eggs", "5")
    assert doubt.problem.startswith("5 birds are scored for eggs")


@pytest.mark.parametrize(("alike", "doubtful"), [(19, []), (20, ["scores-alike"])])
def test_a_scale_that_is_hardly_used(tmp_path: Path, alike: int, doubtful: list[str]) -> None:
    """Over four fifths of 24: twenty."""
    points = {band: 3.0 if at < alike else 4.0 + at % 2 for at, band in enumerate(HENS)}
    doubts = told(tmp_path, points)[0]
    assert [doubt.kind for doubt in doubts] == doubtful
    assert all(doubt.value == "3" for doubt in doubts)


def test_a_heritability_that_cannot_be_estimated(tmp_path: Path) -> None:
    (doubt,) = told(tmp_path, laid(), EGGS.replace("0.25", '"estimate"'))[0]
    assert (doubt.kind, *where(doubt)) == (
        "h2-not-estimated",
        "matchmaker.toml",
        6,
        "traits.eggs.h2",
        "estimate",
    )
    assert "(24 birds are scored, 50 are needed): 0.22 is taken" in doubt.problem


def test_nor_from_a_handful_of_scores(tmp_path: Path) -> None:
    few = dict(list(laid().items())[:5])
    doubts = told(tmp_path, few, EGGS.replace("0.25", '"estimate"'))[0]
    (doubt,) = of_kind(doubts, "h2-not-estimated")
    assert "(5 birds are scored): 0.22 is taken" in doubt.problem


ESTIMATE = EGGS.replace("0.25", '"estimate"')


@pytest.mark.parametrize(
    ("reason", "words"),
    [
        (Reason.FEW_BIRDS, "72 birds are scored, 50 are needed"),
        (Reason.MANY_BIRDS, "72 birds are more than can be worked out"),
        (Reason.NO_SPREAD, "contemporaries do not differ"),
        (Reason.WIDE, "it may be anything from 0.05 to 0.81"),
    ],
)
def test_every_reason_against_an_estimate_is_said(
    tmp_path: Path, reason: Reason, words: str
) -> None:
    found = by_sires(tmp_path, ESTIMATE, 2)
    trait = found.trait("eggs")
    assert trait.estimate is not None
    estimate = replace(trait.estimate, birds=72, low=0.05, high=0.81, reason=reason)
    doubtful = replace(found, traits=(replace(trait, estimate=estimate),))
    tables = scored_flock(tmp_path, young(HENS), ESTIMATE, scores_of("eggs", laid())).tables
    (doubt,) = of_kind(trait_doubts(doubtful, tables), "h2-not-estimated")
    assert f"({words})" in doubt.problem


def test_an_estimate_in_use_is_said_and_no_doubt(tmp_path: Path) -> None:
    found = by_sires(tmp_path, ESTIMATE, 12)
    tables = scored_flock(tmp_path, young(HENS), ESTIMATE, scores_of("eggs", laid())).tables
    estimate = found.trait("eggs").estimate
    assert estimate is not None
    assert of_kind(trait_doubts(found, tables), "h2-not-estimated") == []
    (sentence,) = forecast_defaults(found)
    assert sentence == (
        f"heritability of eggs estimated from its 720 scored birds: {estimate.h2:.2f}, with 95 % "
        f"certainty {estimate.low:.2f} to {estimate.high:.2f}"
    )


def test_repeatability_below_heritability(tmp_path: Path) -> None:
    (doubt,) = told(tmp_path, laid(), EGGS + "repeatability = 0.1\n")[0]
    assert (doubt.kind, *where(doubt)) == (
        "repeatability-below-h2",
        "matchmaker.toml",
        9,
        "traits.eggs.repeatability",
        "0.1",
    )
    assert "0.25 is taken" in doubt.problem


def test_what_points_and_crosses_cannot_tell_is_said(tmp_path: Path) -> None:
    points = {band: 1.0 + at % 5 for at, band in enumerate(HENS)}
    numbers, together = forecast_defaults(told(tmp_path, points)[1])
    assert numbers == "points taken as numbers, each step as long as the next: eggs"
    assert together == (
        "breed and the vigour of crosses taken off together, for too few birds are anything but "
        "pure or backcross to tell them apart: eggs"
    )


def test_eggs_are_no_points(tmp_path: Path) -> None:
    (sentence,) = forecast_defaults(told(tmp_path, laid())[1])
    assert sentence.startswith("breed and the vigour")
