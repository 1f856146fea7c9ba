from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import beta

from matchmaker.genetics.kin.ancestry import ancestry_of_parents
from matchmaker.genetics.traits import reml
from matchmaker.genetics.traits.aims import HIGHEST
from matchmaker.genetics.traits.kindred import kindred_of
from matchmaker.genetics.traits.records import Heredity, Records
from matchmaker.genetics.traits.reml import Reason, estimate_heredity
from tests.breeding_values import scores_of, true_values
from tests.kinship_helpers import simulated_flock

FLOCK = simulated_flock(320, seed=2)
KINDRED = kindred_of(FLOCK.ancestry)
GROUPS = np.arange(320) // 40


def of(heredity: Heredity, *, repeats: int = 1, seed: int = 3) -> Records:
    rng = np.random.default_rng(seed)
    values = true_values(FLOCK, rng)
    return scores_of(values, heredity, rng, groups=GROUPS, repeats=repeats)


def test_a_heritable_trait_is_found_heritable() -> None:
    found = estimate_heredity(
        KINDRED, of(Heredity(h2=0.7, repeatability=0.7)), repeated=False, expected=0.3
    )
    assert found.enough
    assert found.low < 0.7 < found.high
    assert found.loglik > found.loglik_without
    assert found.repeatability == found.h2


def test_what_is_not_inherited_is_not_found() -> None:
    found = estimate_heredity(
        KINDRED, of(Heredity(h2=0.0, repeatability=0.0)), repeated=False, expected=0.3
    )
    assert found.low == 0
    assert found.h2 < 0.2
    assert found.loglik == pytest.approx(found.loglik_without, abs=2)


def test_what_lasts_is_told_from_genes() -> None:
    records = of(Heredity(h2=0.1, repeatability=0.7), repeats=3)
    found = estimate_heredity(KINDRED, records, repeated=True, expected=0.3)
    assert found.repeatability == pytest.approx(0.7, abs=0.1)
    assert found.leaning + found.lasting * (1 - found.leaning) == pytest.approx(0.7, abs=0.1)
    assert found.high < 0.6
    taken_alike = estimate_heredity(KINDRED, records, repeated=False, expected=0.3)
    assert taken_alike.loglik < found.loglik
    assert taken_alike.lasting == 0
    assert taken_alike.h2 == taken_alike.repeatability > found.h2


def test_single_scores_say_nothing_of_repeatability() -> None:
    records = of(Heredity(h2=0.4, repeatability=0.6))
    assert estimate_heredity(KINDRED, records, repeated=True, expected=0.3) == estimate_heredity(
        KINDRED, records, repeated=False, expected=0.3
    )


def test_the_unit_does_not_matter() -> None:
    records = of(Heredity(h2=0.4, repeatability=0.6))
    found = estimate_heredity(KINDRED, records, repeated=False, expected=0.3)
    grams = estimate_heredity(
        KINDRED, replace(records, values=1000 * records.values), repeated=False, expected=0.3
    )
    assert grams.h2 == pytest.approx(found.h2, abs=1e-6)
    assert grams.phenotypic_sd == pytest.approx(1000 * found.phenotypic_sd, rel=1e-6)


class TestNotEnough:
    def test_few_birds(self) -> None:
        records = of(Heredity(h2=0.4, repeatability=0.4))
        few = first(records, 49)
        found = estimate_heredity(KINDRED, few, repeated=False, expected=0.3)
        assert (found.reason, found.enough, found.birds) == (Reason.FEW_BIRDS, False, 49)
        found = estimate_heredity(KINDRED, first(records, 50), repeated=False, expected=0.3)
        assert found.reason is not Reason.FEW_BIRDS

    def test_many_birds(self, monkeypatch: pytest.MonkeyPatch) -> None:
        records = of(Heredity(h2=0.4, repeatability=0.4))
        monkeypatch.setattr(reml, "MOST_BIRDS", 100)
        found = estimate_heredity(KINDRED, records, repeated=False, expected=0.3)
        assert found.reason is Reason.MANY_BIRDS

    def test_few_scored_among_many_forebears(self, monkeypatch: pytest.MonkeyPatch) -> None:
        records = first(of(Heredity(h2=0.4, repeatability=0.4)), 80)
        reasons = []
        for most in (KINDRED.unknowns, KINDRED.unknowns - 1):
            monkeypatch.setattr(reml, "MOST_UNKNOWNS", most)
            reasons.append(estimate_heredity(KINDRED, records, repeated=False, expected=0.3).reason)
        assert reasons[0] is not Reason.MANY_BIRDS
        assert reasons[1] is Reason.MANY_BIRDS

    def test_an_interval_of_more_than_a_half_is_too_wide(self) -> None:
        records = of(Heredity(h2=0.5, repeatability=0.5), seed=6)
        wide, narrow = (
            estimate_heredity(KINDRED, first(records, count), repeated=False, expected=0.3)
            for count in (160, 240)
        )
        assert 0.5 < wide.high - wide.low < 0.6
        assert wide.reason is Reason.WIDE
        assert 0.4 < narrow.high - narrow.low < 0.5
        assert narrow.reason is None

    def test_scores_all_alike(self) -> None:
        records = of(Heredity(h2=0.4, repeatability=0.4))
        flat = replace(records, values=3.0 + records.groups)
        found = estimate_heredity(KINDRED, flat, repeated=False, expected=0.3)
        assert found.reason is Reason.NO_SPREAD

    def test_strangers_tell_anything(self) -> None:
        strangers = kindred_of(ancestry_of_parents([-1] * 80, [-1] * 80))
        records = first(of(Heredity(h2=0.4, repeatability=0.4)), 80)
        found = estimate_heredity(strangers, records, repeated=False, expected=0.3)
        assert found.reason is Reason.WIDE
        assert (found.low, found.high) == (0.0, HIGHEST)


def first(records: Records, count: int) -> Records:
    return replace(
        records,
        birds=records.birds[:count],
        values=records.values[:count],
        groups=records.groups[:count],
        covariates=records.covariates[:count],
    )


def test_where_scores_say_nothing_what_was_expected_is_left() -> None:
    """Strangers with a score each fit any h²; the Beta density about 0.3 has that mean."""
    records = of(Heredity(h2=0.4, repeatability=0.4))
    founders = [-1] * len(KINDRED.birds)
    strangers = kindred_of(ancestry_of_parents(founders, founders))
    for expected in (0.1, 0.3, 0.6):
        found = estimate_heredity(strangers, records, repeated=False, expected=expected)
        assert found.leaning == pytest.approx(expected, abs=0.02)
        worth = reml.WORTH_OF_PRIOR
        ends = beta.ppf((0.025, 0.975), worth * expected, worth * (1 - expected))
        assert found.likely == pytest.approx(ends, abs=0.02)


def test_what_is_used_errs_less_than_the_peak_in_small_flocks() -> None:
    rng = np.random.default_rng(7)
    truth = Heredity(h2=0.25, repeatability=0.25)
    peaks, leaning = [], []
    for seed in range(25):
        flock = simulated_flock(90, seed=seed)
        groups = np.arange(90) // 30
        records = scores_of(true_values(flock, rng), truth, rng, groups=groups, repeats=1)
        kindred = kindred_of(flock.ancestry)
        found = estimate_heredity(kindred, records, repeated=False, expected=0.35)
        assert found.leaning > 0
        peaks.append(found.h2 - 0.25)
        leaning.append(found.leaning - 0.25)
    assert np.mean(np.square(leaning)) < np.mean(np.square(peaks)) / 2
