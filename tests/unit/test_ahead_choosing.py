"""After a race: which plan is taken, how far others may be ahead, and how often that errs."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from matchmaker.ahead.choosing import BEST, chosen_plan, leads, most_ahead
from matchmaker.ahead.racing import Ended, RaceRules, RaceStoppedError, race_together
from matchmaker.ahead.student import quantile_above
from tests.races import given, luck

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from matchmaker.ahead.choosing import Lead
    from matchmaker.ahead.racing import Race

RULES = RaceRules(first=10, step=10, most=60, indifferent=0.01)


def raced(values: NDArray[np.float64], rules: RaceRules = RULES) -> tuple[Race, tuple[Lead, ...]]:
    race = race_together(given(values), len(values), rules)
    return race, leads([values[one.plan, : one.replicates] for one in race.standings], rules)


def test_a_plan_surely_ahead_is_taken() -> None:
    race, found = raced(luck([1.0, 0.9, 1.3], 60))
    assert race.standings[BEST].left_at_round is not None
    assert chosen_plan(race, found, 0.01) == 2
    assert 0 < found[2].low < found[2].mean < found[2].high
    assert found[2].mean == pytest.approx(0.3, abs=0.1)


def test_the_best_plan_stays_where_it_leads_and_where_it_is_open() -> None:
    for means, ended in (([1.0, 0.6, 0.5], Ended.ONE_LEFT), ([1.0, 1.005, 0.995], Ended.MOST)):
        race, found = raced(luck(means, 60))
        assert race.ended is ended
        assert chosen_plan(race, found, 0.01) == BEST


def test_a_lead_too_small_to_care_for_changes_nothing() -> None:
    values = luck([1.0, 1.005], 60, own=1e-6)
    race, found = raced(values)
    assert found[1].low > 0
    assert race.leader == 1
    assert chosen_plan(race, found, 0.01) == BEST
    assert chosen_plan(race, found, 0.001) == 1


def test_a_plan_ahead_only_of_one_that_was_ahead_is_not_taken() -> None:
    """Plan 1 sends the best away and is sent away by plan 2, whose own lead is too uncertain."""
    race, found = raced(luck([1.0, 1.3, 1.6], 60))
    chain = replace(found[2], low=-0.1)
    assert race.standings[1].left_at_round is not None
    assert chosen_plan(race, (found[0], found[1], chain), 0.01) == BEST


def test_of_several_surely_ahead_the_best_mean_is_taken() -> None:
    values = luck([1.0, 1.5, 1.51, 1.505], 60, own=0.1)
    race, found = raced(values)
    still = [one for one in race.standings if one.left_at_round is None]
    assert len(still) > 1
    assert chosen_plan(race, found, 0.01) == max(still, key=lambda one: one.mean).plan


def test_leads_are_paired_differences_with_the_bound_of_the_last_common_round() -> None:
    values = luck([1.0, 1.1, 0.2], 60)
    found = leads([values[0], values[1][:30], values[2][:10]], RULES)
    assert [one.replicates for one in found] == [60, 30, 10]
    apart = values[1][:30] - values[0][:30]
    se = apart.std(ddof=1) / math.sqrt(30)
    half = quantile_above(0.05 * 10 / 60 / 2, 29) * se
    assert found[1].mean == pytest.approx(apart.mean())
    assert found[1].se == pytest.approx(se)
    assert (found[1].low, found[1].high) == pytest.approx(
        (apart.mean() - half, apart.mean() + half)
    )
    assert (found[0].mean, found[0].low, found[0].high) == (0, 0, 0)


def test_two_plans_never_seen_to_differ_may_still() -> None:
    same = luck([1.0], 10)[0]
    assert math.isinf(leads([same, same.copy()], RaceRules(first=10, most=10))[1].high)
    longer = luck([1.0], 200)[0]
    assert leads([longer, longer.copy()], RaceRules(most=200))[1].high == 0


def test_how_far_any_plan_can_be_ahead_looks_at_those_still_racing() -> None:
    race, found = raced(luck([1.0, 1.0, 0.2], 60))
    assert race.standings[2].left_at_round is not None
    assert most_ahead(race, found) == found[1].high > 0
    alone, of_alone = raced(luck([1.0, 0.4], 60))
    assert most_ahead(alone, of_alone) == 0


def test_another_plan_is_seldom_taken_without_being_ahead() -> None:
    """Of equal plans another is called ahead with a chance of 5 % at most: 200 races, 5 SE."""
    taken = 0
    for seed in range(200):
        race, found = raced(luck([1.0] * 5, 60, seed=seed), replace(RULES, indifferent=0.0))
        taken += chosen_plan(race, found, 0.0) != BEST
    assert taken <= 200 * 0.05 + 5 * math.sqrt(200 * 0.05 * 0.95)


def test_a_race_that_is_stopped_is_judged_by_its_whole_rounds() -> None:
    values = luck([1.0, 1.0, 1.0], 60)
    race = race_together(given(values, until=25), 3, RULES)
    assert (race.ended, race.rounds, race.used) == (Ended.STOPPED, 2, 60)
    assert {one.replicates for one in race.standings} == {20}
    whole = race_together(given(values[:, :20]), 3, replace(RULES, most=20))
    assert [one.mean for one in race.standings] == [one.mean for one in whole.standings]


def test_a_race_stopped_in_its_first_round_says_nothing() -> None:
    with pytest.raises(RaceStoppedError):
        race_together(given(luck([1.0, 1.0], 60), until=5), 2, RULES)
