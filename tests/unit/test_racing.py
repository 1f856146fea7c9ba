"""Races of plans: who leaves, who leads, when it ends and how often it errs."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from matchmaker.ahead.racing import Ended, Race, RaceRules, race_together

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from matchmaker.ahead.paired import Values
    from matchmaker.ahead.racing import RoundOutcomes

QUICK = RaceRules(first=10, step=10, most=50)


def drawn(means: Sequence[float], seed: int, most: int = 50, own: float = 1.0) -> RoundOutcomes:
    """Outcomes with luck that all share, and of each plan some of its own."""
    rng = np.random.default_rng(seed)
    shared = 3 * rng.standard_normal(most)
    values = np.array(means)[:, None] + shared + own * rng.standard_normal((len(means), most))

    def outcomes(plans: Sequence[int], replicates: range) -> NDArray[np.float64]:
        found: NDArray[np.float64] = values[list(plans), replicates.start : replicates.stop]
        return found

    return outcomes


def raced(means: Sequence[float], seed: int, rules: RaceRules = QUICK) -> Race:
    return race_together(drawn(means, seed, rules.most), len(means), rules)


def test_rounds_end_with_the_most_replicates() -> None:
    assert RaceRules(first=5, step=5, most=5).rounds() == (range(5),)
    assert QUICK.rounds() == tuple(range(at, at + 10) for at in range(0, 50, 10))


def test_what_may_be_spent_adds_up_to_alpha() -> None:
    rules = RaceRules(first=20, step=7, most=100, alpha=0.1)
    assert 3 * sum(rules.spent_in(some, plans=4) for some in rules.rounds()) == pytest.approx(0.1)


def test_those_surely_behind_leave_and_the_best_is_left() -> None:
    found = raced((0.0, 10.0, 8.0, -5.0), seed=1)
    assert (found.leader, found.ended) == (1, Ended.ONE_LEFT)
    assert [one.left_at_round for one in found.standings] == [1, None, 1, 1]
    assert found.used == 40
    assert found.standings[2].mean - found.standings[1].mean == pytest.approx(-2.0, abs=1.5)


def test_replicates_go_where_they_decide() -> None:
    found = raced((0.0, 0.2, -4.0, -4.0, -4.0), seed=2, rules=replace(QUICK, most=200))
    assert {one.replicates for one in found.standings[2:]} == {10}
    assert all(one.replicates > 100 for one in found.standings[:2])
    assert found.used < 5 * 200 / 2
    assert found.used == sum(one.replicates for one in found.standings)


def test_plans_that_are_the_same_are_a_tie_and_the_first_leads() -> None:
    luck = np.random.default_rng(3).normal(size=200)
    found = race_together(lambda plans, some: [luck[some]] * len(plans), 3)
    assert (found.leader, found.ended, found.used, found.rounds) == (0, Ended.ALIKE, 360, 6)
    assert 0.95**120 < RaceRules().spent_in(range(100, 120), 3) < 0.95**100


def test_plans_that_seldom_differ_are_not_called_alike_too_soon() -> None:
    """The second is better in every thirtieth replicate, first in the twenty-fifth."""
    found = race_together(
        lambda plans, some: [[float(plan and at % 30 == 24) for at in some] for plan in plans], 2
    )
    assert found.leader == 1
    assert found.ended is Ended.MOST


def test_a_race_ends_where_the_rest_does_not_matter() -> None:
    means = (0.0, 0.1, 0.05)
    open_still = raced(means, seed=4)
    alike = raced(means, seed=4, rules=replace(QUICK, indifferent=2.0))
    assert open_still.ended is Ended.MOST
    assert alike.ended is Ended.ALIKE
    assert alike.used < open_still.used
    assert open_still.used == 150


def test_one_plan_runs_its_first_round() -> None:
    found = raced((1.0,), seed=5)
    assert (found.leader, found.ended, found.used) == (0, Ended.ONE_LEFT, 10)


def test_each_round_asks_for_those_that_still_race() -> None:
    asked: list[tuple[tuple[int, ...], range]] = []
    outcomes = drawn((0.0, 0.1, -9.0), seed=6)

    def listening(plans: Sequence[int], replicates: range) -> Sequence[Values]:
        asked.append((tuple(plans), replicates))
        return list(outcomes(plans, replicates))

    race_together(listening, 3, QUICK)
    assert asked[0] == ((0, 1, 2), range(10))
    assert asked[1:] == [((0, 1), some) for some in QUICK.rounds()[1:]]


@pytest.mark.parametrize(
    "wrong",
    [
        {"first": 1},
        {"first": 300},
        {"step": 0},
        {"alpha": 0.0},
        {"alpha": 0.7},
        {"indifferent": -1.0},
        {"indifferent": float("nan")},
    ],
)
def test_rules_that_make_no_race_are_refused(wrong: dict[str, float]) -> None:
    with pytest.raises(ValueError, match=r"first round|alpha|indifferent"):
        replace(RaceRules(), **wrong)  # type: ignore[arg-type]


@pytest.mark.parametrize("row", [[1.0] * 9, [float("nan")] * 10, [float("inf")] * 10])
def test_outcomes_that_are_missing_are_refused(row: list[float]) -> None:
    with pytest.raises(ValueError, match="10 finite outcomes of each of 2 plans"):
        race_together(lambda _plans, _some: [[0.0] * 10, row], 2, QUICK)
    with pytest.raises(ValueError, match="10 finite outcomes"):
        race_together(lambda _plans, _some: [[0.0] * 10], 2, QUICK)


def test_a_race_of_nobody_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one plan"):
        race_together(lambda _plans, _some: [], 0)


class Careless(RaceRules):
    """Looks at every rival in every round as if that were the only look."""

    def spent_in(self, replicates: range, plans: int) -> float:
        assert replicates
        assert plans
        return self.alpha


RACES = 600
ALPHA = 0.1


def sent_away(rules: RaceRules) -> float:
    """How often one of four equal plans is sent away."""
    found = (raced((0.0,) * 4, seed=100 + seed, rules=rules) for seed in range(RACES))
    return sum(one.standings[0].left_at_round is not None for one in found) / RACES


def test_the_best_is_sent_away_no_more_often_than_agreed() -> None:
    noise = 3 * (ALPHA * (1 - ALPHA) / RACES) ** 0.5
    shape = {"first": 10, "step": 10, "most": 50, "alpha": ALPHA}
    assert sent_away(RaceRules(**shape)) <= ALPHA + noise  # type: ignore[arg-type]
    assert sent_away(Careless(**shape)) > ALPHA + noise  # type: ignore[arg-type]


def test_a_race_that_ends_alike_is_led_by_one_as_good_as_said() -> None:
    rules = RaceRules(first=10, step=10, most=50, alpha=ALPHA, indifferent=0.5)
    means = (0.0, 0.4, 1.0, 0.9)
    ended = [raced(means, seed=9000 + seed, rules=rules) for seed in range(300)]
    sure = [one for one in ended if one.ended is not Ended.MOST]
    assert len(sure) > 200
    wrong = sum(means[one.leader] < max(means) - rules.indifferent for one in sure)
    assert wrong / len(sure) <= ALPHA
