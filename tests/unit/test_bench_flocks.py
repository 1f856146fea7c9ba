"""The benchmarks' flocks and their peers: plans by hand are plans, and every kind of rule binds."""

from __future__ import annotations

from dataclasses import replace

import pytest

from matchmaker.plan.arithmetic.verify import evaluate
from matchmaker.plan.posing.problem import PlanLimits, PlanProblem
from matchmaker.plan.program.model import build
from matchmaker.plan.searching.solve import solve_plan
from matchmaker.plan.solvers.engine import run
from tests.bench.by_hand import BY_HAND
from tests.bench.flocks import flock_problem, hungry, with_all_rows


@pytest.mark.parametrize("method", BY_HAND)
def test_no_plan_by_hand_beats_the_planner(method: str) -> None:
    found = 0
    for seed in range(6):
        for problem in (flock_problem(24, 4, seed), hungry(flock_problem(24, 4, seed))):
            plan = BY_HAND[method](problem)
            if plan is None:
                continue
            found += 1
            score = evaluate(problem, plan)
            assert score.broken == ()
            assert score.value <= solve_plan(problem, stages=False).proof.best_value + 1e-6
    assert found


def full(seed: int = 0) -> PlanProblem:
    return with_all_rows(hungry(flock_problem(60, 8, seed)))


def without(problem: PlanProblem, what: str) -> PlanProblem:
    """The problem without one kind of rule."""
    if what == "sire share":
        free = tuple(replace(goal, sire_share_max=None) for goal in problem.lines)
        problem = replace(problem, lines=free)
        return replace(problem, limits=replace(problem.limits, sire_share_max=None))
    if what == "limits":
        return replace(problem, limits=PlanLimits())
    return replace(problem, limits=replace(problem.limits, mean_inbreeding_max=None))


@pytest.mark.parametrize("what", ["sire share", "limits", "mean inbreeding"])
def test_rules_of_the_full_flock_cost_value(what: str) -> None:
    problem = full()
    best = solve_plan(problem, stages=False).proof.best_value
    assert solve_plan(without(problem, what), stages=False).proof.best_value > best + 1e-6


@pytest.mark.parametrize("seed", range(2))
def test_the_full_flock_is_solved_as_one_plain_run_solves_it(seed: int) -> None:
    problem = full(seed)
    solution = solve_plan(problem)
    assert solution.proof.gap == 0.0
    assert run(build(problem).program, "highs").value == pytest.approx(
        solution.proof.best_value, abs=1e-5
    )
