"""Chances and rates of a season against enumeration, scipy's laws and drawn seasons."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from scipy import stats

from matchmaker.season.reaching import Tally, survival
from matchmaker.season.setting import Room, settle
from matchmaker.season.shrinkage import PRIOR_EGGS, SPREADS, log_gamma, shrink
from tests.oracle.season_enumeration import fewest, flock_rate, reached
from tests.season_flocks import eggs_for
from tests.season_lots import SURE, goal, lot

PARTS = (
    Fraction(1, 2),
    Fraction(1, 4),
    Fraction(1, 4),
    Fraction(3, 8),
    Fraction(1, 8),
    Fraction(1),
)


@pytest.mark.parametrize("wanted", range(8))
def test_a_tally_counts_every_outcome(wanted: int) -> None:
    tally = Tally(wanted, survival(0.75, 0.0))
    for part in (*PARTS, *PARTS):
        tally.add(float(part))
    expected = reached(wanted, [part * Fraction(3, 4) for part in (*PARTS, *PARTS)])
    assert tally.chance == pytest.approx(float(expected), abs=1e-12)
    assert tally.expected == pytest.approx(float(sum(PARTS)) * 2 * 0.75)


@pytest.mark.parametrize("wanted", range(1, 6))
def test_what_parents_may_be_is_counted_way_by_way(wanted: int) -> None:
    """Two ways that a parent of half the eggs may be, each enumerated."""
    ways = (Fraction(1, 4), Fraction(3, 4))
    tally = Tally(wanted, survival(0.5, 0.0), np.array([float(one) for one in ways]))
    for part in PARTS:
        tally.add(float(part))
        tally.add(np.array([0.0, float(part)]))
    tally.add_known(np.array([0.25, 0.0]))
    sure = [part / 2 for part in PARTS]
    each = (
        reached(wanted, [*sure, Fraction(1, 4)]),
        reached(wanted, [*sure, *sure]),
    )
    assert tally.by_way == pytest.approx([float(one) for one in each])
    assert tally.chance == pytest.approx(float(sum(w * p for w, p in zip(ways, each, strict=True))))


@pytest.mark.parametrize(("mean", "spread"), [(0.6, 0.08), (0.85, 0.05), (0.3, 0.15)])
def test_eggs_that_share_an_unknown_chance_are_beta_binomial(mean: float, spread: float) -> None:
    """scipy.stats.betabinom as the reference."""
    trials = mean * (1 - mean) / spread**2 - 1
    tally = Tally(8, survival(mean, spread))
    for _ in range(20):
        tally.add(1.0)
    exact = stats.betabinom.sf(7, 20, mean * trials, (1 - mean) * trials)
    assert tally.chance == pytest.approx(float(exact), abs=2e-4)


def test_fewest_eggs_are_those_of_the_binomial_law() -> None:
    """scipy.stats.binom as the reference."""
    for wanted, certainty, chance in ((1, 0.9, 0.1), (5, 0.95, 0.3), (12, 0.99, 0.55)):
        eggs = eggs_for(wanted, certainty, chance, survival(1.0, 0.0))
        assert eggs is not None
        assert stats.binom.sf(wanted - 1, eggs, chance) >= certainty
        assert stats.binom.sf(wanted - 1, eggs - 1, chance) < certainty


@pytest.mark.parametrize("wanted", [1, 2, 3])
def test_no_choice_of_eggs_does_with_fewer(wanted: int) -> None:
    kinds = [(3, Fraction(1, 2)), (4, Fraction(1, 4)), (3, Fraction(1, 8))]
    lots = [
        lot(
            week=at + 1, pen=str(at), eggs=most, sons=float(chance) / 2, daughters=float(chance) / 2
        )
        for at, (most, chance) in enumerate(kinds)
    ]
    aim = goal(wanted, certainty=0.7)
    (found,) = settle(lots, [aim], SURE, Room(), {}).goals
    assert found.fewest == fewest(wanted, 0.7, kinds)


def test_log_gamma_is_scipys() -> None:
    from scipy.special import gammaln

    at = np.array([0.01, 0.3, 1.0, 2.5, 17.0, 400.0, 1e5])
    assert log_gamma(at) == pytest.approx(gammaln(at), rel=1e-9, abs=1e-9)


def test_rates_are_those_of_plain_loops() -> None:
    groups = {"C1": [(40, 38), (30, 29)], "C2": [(10, 4), (12, 6)], "C3": [(7, 7)]}
    flock, own = flock_rate(groups, 0.85, PRIOR_EGGS, list(SPREADS))
    found = shrink(groups, 0.85)
    assert found.flock.value == pytest.approx(flock, abs=2e-3)
    for name, value in own.items():
        assert found.groups[name].value == pytest.approx(value, abs=3e-3)


def test_a_season_drawn_many_times_reaches_as_often_as_said() -> None:
    """Monte Carlo with a fixed seed, five standard errors."""
    rng = np.random.default_rng(7)
    lots = [
        lot(week=1, pen="1", eggs=30, sons=0.25, daughters=0.25),
        lot(week=1, pen="2", eggs=25, sons=0.125, daughters=0.125, lives=0.9),
    ]
    shared, draws = survival(0.6, 0.07), 20_000
    aim = goal(12, certainty=0.9)
    (found,) = settle(lots, [aim], shared, Room(), {}).goals
    rows = settle(lots, [aim], shared, Room(), {}).rows
    trials = 0.6 * 0.4 / 0.07**2 - 1
    lives = rng.beta(0.6 * trials, 0.4 * trials, draws)
    wanted = sum(rng.binomial(count, one.wanted * lives) for one, count in rows)
    share = float(np.mean(wanted >= 12))
    error = (share * (1 - share) / draws) ** 0.5
    assert found.chances[0] == pytest.approx(share, abs=5 * error)
