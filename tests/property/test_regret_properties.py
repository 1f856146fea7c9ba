"""Laws of the prices of pairs on random flocks."""

from __future__ import annotations

import contextlib
from dataclasses import replace
from typing import TYPE_CHECKING

from hypothesis import given, settings
from hypothesis import strategies as st

from matchmaker.errors import NoPlanError
from matchmaker.plan.each_pair.forced import plan_with, plan_without
from matchmaker.plan.each_pair.regret import price_pairs
from matchmaker.plan.searching.solve import best_value, solve_plan
from tests.strategies_plan import problem_by_seed

if TYPE_CHECKING:
    import random

    from matchmaker.plan.arithmetic.result import Solution
    from matchmaker.plan.posing.problem import PlanProblem

EQUAL = 1e-6


def _solvable() -> st.SearchStrategy[tuple[PlanProblem, Solution]]:
    """Flocks that have a plan, with it: of some seeds in a row the first such."""
    return st.integers(0, 10**6).map(_first_solvable)


def _first_solvable(seed: int) -> tuple[PlanProblem, Solution]:
    while True:
        problem = problem_by_seed(seed)
        seed += 1
        if problem.candidates:
            with contextlib.suppress(NoPlanError):
                return problem, solve_plan(problem)


@settings(max_examples=12, deadline=None)
@given(_solvable())
def test_bounds_are_in_order_and_hold_the_exact_price(flock: tuple[PlanProblem, Solution]) -> None:
    problem, best = flock
    exact = price_pairs(problem, best, exact=True)
    for known, price in zip(price_pairs(problem, best), exact, strict=True):
        assert known.candidate == price.candidate
        assert price.is_exact
        assert 0 <= known.at_least <= price.at_least
        if price.at_most is not None:
            assert known.at_most is None or known.at_most >= price.at_most


@settings(max_examples=8, deadline=None)
@given(_solvable(), st.randoms(use_true_random=False))
def test_the_table_is_the_same_in_any_order(
    flock: tuple[PlanProblem, Solution], rng: random.Random
) -> None:
    problem, best = flock
    shuffled = list(problem.candidates)
    rng.shuffle(shuffled)
    other = replace(problem, candidates=tuple(shuffled))
    assert price_pairs(problem, best, exact=True) == price_pairs(other, best, exact=True)
    assert price_pairs(problem, best) == price_pairs(other, best)


@settings(max_examples=12, deadline=None)
@given(_solvable())
def test_prices_are_those_of_solves_pair_by_pair(flock: tuple[PlanProblem, Solution]) -> None:
    problem, best = flock
    for pair in problem.candidates[:4]:
        (price,) = price_pairs(problem, best, (pair,), exact=True)
        value = best_value(problem, (pair,))
        assert price.impossible == (value is None)
        if value is not None:
            assert abs(price.at_least - (best.proof.best_value - value)) <= EQUAL


@settings(max_examples=12, deadline=None)
@given(_solvable())
def test_a_pair_of_the_best_plan_costs_nothing(flock: tuple[PlanProblem, Solution]) -> None:
    """Where the plan printed has the best value: for a standing plan it may give up a little."""
    problem, best = flock
    taken = {pair for pen in best.pens for pair in pen.pairs}
    given_up = best.proof.best_value - best.value
    for price in price_pairs(problem, best, exact=True):
        if price.candidate in taken:
            assert price.at_least <= given_up + EQUAL


@settings(max_examples=12, deadline=None)
@given(_solvable())
def test_a_ban_costs_nothing_where_the_pair_is_not_in_the_plan(
    flock: tuple[PlanProblem, Solution],
) -> None:
    problem, best = flock
    taken = {pair for pen in best.pens for pair in pen.pairs}
    for pair in problem.candidates[:3]:
        if pair not in taken:
            found = plan_without(problem, best, pair)
            assert abs(found.proof.best_value - best.proof.best_value) <= EQUAL


@settings(max_examples=12, deadline=None)
@given(_solvable())
def test_a_forced_plan_is_worth_its_price_less(flock: tuple[PlanProblem, Solution]) -> None:
    problem, best = flock
    pair = problem.candidates[len(problem.candidates) // 2]
    (price,) = price_pairs(problem, best, (pair,), exact=True)
    if price.impossible:
        return
    found = plan_with(problem, best, pair, bound=best.proof.bound)
    assert abs(best.proof.best_value - found.proof.best_value - price.at_least) <= EQUAL
