"""Prices of pairs and forced plans: ends before their time, and what is refused."""

from __future__ import annotations

import time
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

import pytest

from matchmaker.errors import NoPlanError
from matchmaker.plan.arithmetic.result import Outcome, Solution
from matchmaker.plan.each_pair.forced import plan_with, plan_without
from matchmaker.plan.each_pair.forced_problem import SeveralTurnsError
from matchmaker.plan.each_pair.regret import KinshipPriceError, price_pairs
from matchmaker.plan.posing.layout import ProblemError
from matchmaker.plan.posing.problem import (
    Candidate,
    CockLimit,
    HensApart,
    LineGoal,
    PairTogether,
    PenKind,
    PlanLimits,
    PlanProblem,
)
from matchmaker.plan.searching.solve import best_value, solve_plan
from matchmaker.plan.solvers.watch import Watch
from tests.bench.flocks import flock_problem, hungry
from tests.strategies_rules import with_group

if TYPE_CHECKING:
    from collections.abc import Iterator

FLOCK = hungry(flock_problem(20, 4, 1))


@pytest.fixture(scope="module")
def best() -> Solution:
    return solve_plan(FLOCK)


def _pair(hen: str, cock: str, value: float = 1.0) -> Candidate:
    return Candidate(hen=hen, cock=cock, row="back", line="Alder", value=value, wanted=value)


def _small(**changes: object) -> PlanProblem:
    """Two hens, two cocks, one pen."""
    problem = PlanProblem(
        candidates=(_pair("H1", "C1", 3.0), _pair("H2", "C1", 2.0), _pair("H2", "C2", 4.0)),
        kinds=(PenKind(pens=("Pen 1",), hens_max=2, hens_min=1, line="", dam_known=False),),
        cocks=tuple(CockLimit(cock=cock, hens_max=2, pens_max=1) for cock in ("C1", "C2")),
        lines=(LineGoal(line="Alder", importance=1.0, chicks_wanted=10.0),),
    )
    return replace(problem, **changes)  # type: ignore[arg-type]


def test_prices_of_a_flock_small_enough_to_count() -> None:
    """C1 with both hens is worth 5 less 0.10, C2 with one 4 less 0.05."""
    problem = _small()
    prices = price_pairs(problem, solve_plan(problem), exact=True)
    found = {(one.candidate.hen, one.candidate.cock): one.at_least for one in prices}
    assert found == {("H1", "C1"): 0.0, ("H2", "C1"): 0.0, ("H2", "C2"): pytest.approx(0.95)}


def test_a_pair_that_a_wish_keeps_out_is_impossible() -> None:
    problem = _small(demands=(PairTogether(name="my H1", hen="H1", cock="C1"),))
    prices = price_pairs(problem, solve_plan(problem), exact=True)
    (price,) = (one for one in prices if one.candidate.cock == "C2")
    assert price.impossible
    assert price.is_exact
    assert price.at_most is None


def test_a_plan_that_no_rule_lets_be_names_what_clashes() -> None:
    problem = _small(demands=(HensApart(name="they fight", first="H1", second="H2"),))
    problem = replace(problem, limits=PlanLimits(pairs=1))
    best = solve_plan(problem)
    pair = _pair("H1", "C1", 3.0)
    assert plan_with(problem, best, pair).value == pytest.approx(2.95)
    wished = replace(
        problem, demands=(*problem.demands, PairTogether(name="my H2", hen="H2", cock="C2"))
    )
    with pytest.raises(NoPlanError) as refused:
        plan_with(wished, solve_plan(wished), pair)
    assert "my H2" in refused.value.conflict
    assert "H1 with C1 (back)" in refused.value.conflict


def test_a_ban_of_what_a_wish_asks_for_names_the_wish() -> None:
    problem = _small(demands=(PairTogether(name="my H1", hen="H1", cock="C1"),))
    with pytest.raises(NoPlanError) as refused:
        plan_without(problem, solve_plan(problem), _pair("H1", "C1", 3.0))
    assert refused.value.conflict == ("my H1",)


def test_a_pair_that_is_no_candidate_is_refused(best: Solution) -> None:
    stranger = _pair("H999", "C999")
    for ask in (plan_with, plan_without):
        with pytest.raises(ProblemError, match="not a candidate: H999 with C999"):
            ask(FLOCK, best, stranger)
    with pytest.raises(ProblemError, match="not a candidate: H999 with C999"):
        price_pairs(FLOCK, best, (stranger,))


def test_a_stopped_watch_leaves_true_bounds(best: Solution) -> None:
    watch = Watch()
    watch.stop()
    table = price_pairs(FLOCK, best, exact=True, watch=watch)
    assert len(table) == len(FLOCK.candidates)
    assert any(not one.is_exact for one in table)
    _hold(table, price_pairs(FLOCK, best, exact=True))


@cache
def _larger() -> tuple[PlanProblem, Solution]:
    """A flock whose prices take a while, and its best plan."""
    problem = flock_problem(60, 8, 1)
    return problem, solve_plan(problem)


@cache
def _value_with(pair: Candidate) -> float:
    """Value of the best plan of the larger flock that has a pair."""
    value = best_value(_larger()[0], (pair,))
    assert value is not None
    return value


@pytest.mark.parametrize("seconds", [0.02, 0.06, 0.15, 0.3])
def test_a_time_limit_leaves_true_bounds(seconds: float) -> None:
    problem, best = _larger()
    watch = Watch(until=time.perf_counter() + seconds)
    table = price_pairs(problem, best, exact=True, watch=watch)
    for one in table[::20]:
        loss = best.proof.best_value - _value_with(one.candidate)
        assert one.at_least <= loss + 1e-6
        assert one.at_most is None or one.at_most >= loss - 1e-6


def _hold(table: tuple[object, ...], exact: tuple[object, ...]) -> None:
    for open_, price in zip(table, exact, strict=True):
        assert open_.at_least <= price.at_least  # type: ignore[attr-defined]
        most = open_.at_most  # type: ignore[attr-defined]
        assert most is None or most >= price.at_least  # type: ignore[attr-defined]


def test_bounds_stay_true_where_the_plan_is_not_proved_best(best: Solution) -> None:
    """The plan in hand is 2 below the best, its bound 1 above it."""
    worst = min(best.proof.best_value, best.proof.best_value - 2.0)
    losing = next(_plans_below(worst))
    proof = replace(best.proof, best_value=losing.value, bound=best.proof.best_value + 1.0, gap=1.0)
    unproved = replace(losing, outcome=Outcome.FEASIBLE, proof=proof)
    exact = price_pairs(FLOCK, best, exact=True)
    _hold(price_pairs(FLOCK, unproved), exact)
    closed = price_pairs(FLOCK, unproved, exact=True)
    _hold(closed, exact)
    assert all(one.at_most is not None for one in closed)


def _plans_below(value: float) -> Iterator[Solution]:
    """Plans worth less than a value: with fewer and fewer pairs."""
    for pairs in range(12, 0, -1):
        limited = replace(FLOCK, limits=PlanLimits(pairs=pairs))
        solution = solve_plan(limited)
        if solution.value < value:
            yield solution


def test_kinship_of_the_group_is_refused_for_the_table_and_solved_for_one_pair() -> None:
    problem = with_group(_small(), 3, priced=True)
    best = solve_plan(replace(problem, group=None))
    with pytest.raises(KinshipPriceError, match="one pair at a time"):
        price_pairs(problem, best)
    pair = _pair("H2", "C2", 4.0)
    problem = replace(problem, limits=PlanLimits(pairs=1))
    found = plan_with(problem, best, pair)
    assert [one for pen in found.pens for one in pen.pairs] == [pair]
    without = plan_without(problem, best, pair)
    assert pair not in [one for pen in without.pens for one in pen.pairs]


def test_with_kinship_a_pair_in_several_turns_cannot_be_forced_into_one() -> None:
    problem = with_group(_small(), 3, priced=True)
    best = solve_plan(replace(problem, group=None))
    again = replace(_pair("H2", "C2", 4.0), turn="late")
    problem = replace(problem, candidates=(*problem.candidates, again))
    with pytest.raises(SeveralTurnsError, match="H2 with C2"):
        plan_with(problem, best, _pair("H2", "C2", 4.0))


def test_cbc_gives_the_same_forced_plan(best: Solution) -> None:
    for pair in FLOCK.candidates[::9]:
        ours = plan_with(FLOCK, best, pair)
        theirs = plan_with(FLOCK, best, pair, solver="cbc")
        assert theirs.value == pytest.approx(ours.value, abs=1e-6)


@pytest.mark.parametrize("seconds", [0.0, 0.02, 0.05, 0.1])
def test_a_forced_plan_ended_early_states_a_true_bound(seconds: float) -> None:
    problem, best = _larger()
    for pair in problem.candidates[5::45]:
        value = _value_with(pair)
        watch = Watch(until=time.perf_counter() + seconds)
        found = plan_with(problem, best, pair, bound=best.proof.bound, watch=watch)
        assert found.value <= value + 1e-6 <= found.proof.bound + 2e-6
        assert pair in [one for pen in found.pens for one in pen.pairs]
