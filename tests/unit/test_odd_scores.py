"""Odd scores with what may have been meant, and columns in two units (all numbers invented)."""

from __future__ import annotations

import random
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from matchmaker.genetics.traits.mixed import mixed_units
from matchmaker.genetics.traits.odd import guess_of, odd_score_text, odd_scores
from matchmaker.genetics.traits.surprise import surprising_among
from tests.builders import chick
from tests.unit.trait_flocks import bands, forecast_of, scores_of, young

if TYPE_CHECKING:
    from pathlib import Path

HENS = bands("PF", 12)
SETTINGS = '[traits.eggs]\ndirection = "up"\nh2 = 0.25\nunit = "eggs"\n'


def laid() -> dict[str, float]:
    rng = random.Random(3)  # noqa: S311
    return {band: round(rng.gauss(50, 4)) for band in HENS}


def test_an_odd_score_with_all_that_is_known_of_it(tmp_path: Path) -> None:
    values = {**laid(), "F3": 530.0}
    found = forecast_of(tmp_path, young(HENS), SETTINGS, scores_of("eggs", values))
    (odd,) = odd_scores(found)
    assert (odd.band, odd.trait, odd.row, odd.raw, odd.guess) == ("F3", "eggs", 17, 530.0, 53.0)
    assert 45 < odd.expected < 55
    assert 2 < odd.sd < 8
    assert odd.counted == 53
    scored = found.trait("eggs").scored
    assert scored.raw[odd.record] == 530
    assert scored.records.values[odd.record] == pytest.approx(53)
    assert odd_score_text(odd, "eggs") == (
        f"eggs 530, where {odd.expected:.0f} ± {odd.sd:.0f} eggs is expected from its "
        "contemporaries and kin (did you mean 53?)"
    )
    assert "eggs is" not in odd_score_text(odd, "")


def test_without_a_slip_there_is_no_guess(tmp_path: Path) -> None:
    values = {**laid(), "F3": 5.0, "P1": 120.0}
    found = forecast_of(tmp_path, young(HENS), SETTINGS, scores_of("eggs", values))
    odd = {one.band: one for one in odd_scores(found)}
    assert {band: one.guess for band, one in odd.items()} == {"P1": None, "F3": 50.0}
    far = odd["P1"]
    limit = surprising_among(len(HENS))
    assert far.limit == limit
    assert far.counted == pytest.approx(far.expected + limit * far.sd)
    assert far.expected < far.counted < 120


def test_an_inbred_bird_is_expected_to_have_lost_what_inbreeding_takes(tmp_path: Path) -> None:
    """A chick of full sibs, F = 1/4, loses 20 eggs of 50; 300 was 30, and no 50."""
    peers = [f"P{at}" for at in range(20, 34)]
    rows = [
        chick("P9", "cock", "SC", "SH", "Alder"),
        chick("P0", "hen", "SC", "SH", "Alder"),
        *young(peers, hatched="2027-01-01"),
        chick("I", "hen", "P9", "P0", "Alder", hatched="2027-01-01"),
    ]
    values = {band: 48.0 + at % 5 for at, band in enumerate(peers)} | {"I": 300.0}
    settings = SETTINGS + "depression = -8\n"
    (odd,) = odd_scores(forecast_of(tmp_path, rows, settings, scores_of("eggs", values)))
    assert odd.expected == pytest.approx(30, abs=2)
    assert (odd.band, odd.raw, odd.guess) == ("I", 300.0, 30.0)


def test_no_score_is_odd_where_units_are(tmp_path: Path) -> None:
    weights = {band: 2300.0 + 20 * at for at, band in enumerate(HENS)}
    weights |= {"P1": 2.31, "F1": 2.42, "F2": 2.4}
    settings = '[traits.weight]\ndirection = "up"\n'
    found = forecast_of(tmp_path, young(HENS), settings, scores_of("weight", weights))
    assert odd_scores(found) == ()
    trait = found.trait("weight")
    assert trait.mixed is not None
    assert sorted(trait.scored.raw[trait.mixed.fewer]) == [2.31, 2.4, 2.42]
    assert trait.prediction is None
    assert not trait.values.any()


@pytest.mark.parametrize(
    ("raw", "expected", "sd", "guess"),
    [
        (24.0, 2.5, 0.2, 2.4),
        (2.4, 2400.0, 150.0, 2400.0),
        (240.0, 2.5, 0.2, 2.4),
        (24.0, 2.5, 0.02, None),
        (0.0, 2.5, 0.2, None),
        (-24.0, 2.5, 0.2, None),
    ],
)
def test_guesses(raw: float, expected: float, sd: float, guess: float | None) -> None:
    assert guess_of(raw, expected, sd, np.array([2.3, 2.5])) == guess


def test_whole_numbers_are_meant_whole() -> None:
    assert guess_of(43.0, 5.0, 1.0, np.array([4.0, 5.0])) is None
    assert guess_of(43.0, 5.0, 1.0, np.array([4.5, 5.0])) == 4.3


@pytest.mark.parametrize(
    ("written", "fewer"),
    [
        ([2.3, 2.4, 2350, 2210, 2500], [0, 1]),
        ([2350, 2.3, 2.4, 2.2, 2500], [0, 4]),
        ([2.3, 2350, 2.4, 2210], [0, 2]),
        ([7.5, 8.2, 75, 82, 79], [0, 1]),
        ([1.5, 1.7, 150, 170, 165], [0, 1]),
        ([0, 2.3, 2.4, 2350, 2210, 2500, 99999], [1, 2]),
        ([2.3, 2350, 2210, 2500], None),
        ([2, 4, 45, 51, 60], None),
        ([1, 1, 5, 5, 4], None),
        ([2.0, 2.5, 60, 70, 75], None),
        ([2.3, 2.4, 5, 11, 24, 51, 110, 230, 500, 1100, 2300, 2400], None),
        ([0, 0, 0, 2.5], None),
        ([], None),
    ],
)
def test_two_units(written: list[float], fewer: list[int] | None) -> None:
    found = mixed_units(np.array(written, dtype=np.float64))
    assert (None if found is None else found.fewer.tolist()) == fewer


@given(st.lists(st.floats(2.0, 3.4), min_size=4, max_size=30), st.data())
def test_a_second_unit_is_found_whatever_the_order(
    kilograms: list[float], data: st.DataObject
) -> None:
    """Any two scores at least, but not all others, multiplied by 1,000."""
    written = np.array(kilograms)
    count = data.draw(st.integers(2, len(written) - 2))
    chosen = data.draw(st.permutations(range(len(written))))[:count]
    written[chosen] *= 1000
    found = mixed_units(written)
    assert found is not None
    parts = {frozenset(found.fewer.tolist()), frozenset(found.others.tolist())}
    assert frozenset(chosen) in parts
    assert frozenset.union(*parts) == frozenset(range(len(written)))
