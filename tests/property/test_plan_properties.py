"""Laws of the integer program over random problems."""

from __future__ import annotations

import json
import random
from dataclasses import replace
from typing import TYPE_CHECKING, TypeVar

import pytest
from hypothesis import given, settings

from matchmaker.errors import NoPlanError
from matchmaker.plan.arithmetic.verify import evaluate
from matchmaker.plan.posing.problem import PlanLimits
from matchmaker.plan.posing.problem_file import problem_from_dict, problem_to_dict
from matchmaker.plan.searching.conflict import find_conflict, has_plan, requirements
from matchmaker.plan.searching.solve import best_value, solve_plan
from tests.strategies_plan import plain_problem_by_seed, plan_problems, problem_by_seed
from tests.strategies_rules import with_group

if TYPE_CHECKING:
    from matchmaker.plan.posing.problem import PlanProblem

NO_PLAN = float("-inf")
_T = TypeVar("_T")


def shuffled(problem: PlanProblem, seed: int) -> PlanProblem:
    rng = random.Random(seed)  # noqa: S311

    def mixed(things: tuple[_T, ...]) -> tuple[_T, ...]:
        return tuple(rng.sample(things, len(things)))

    return replace(
        problem,
        candidates=mixed(problem.candidates),
        kinds=mixed(tuple(replace(kind, pens=mixed(kind.pens)) for kind in problem.kinds)),
        cocks=mixed(problem.cocks),
        demands=mixed(problem.demands),
    )


def best(problem: PlanProblem) -> float:
    value = best_value(problem)
    return NO_PLAN if value is None else value


@settings(max_examples=40, deadline=None)
@given(plan_problems())
def test_any_order_gives_the_identical_plan(problem: PlanProblem) -> None:
    try:
        expected = solve_plan(problem)
    except NoPlanError:
        return
    again = solve_plan(shuffled(problem, 7))
    assert (again.pens, again.value) == (expected.pens, expected.value)


@settings(max_examples=40, deadline=None)
@given(plan_problems())
def test_fewer_candidates_never_improve(problem: PlanProblem) -> None:
    fewer = replace(problem, candidates=problem.candidates[1:])
    assert best(fewer) <= best(problem) + 1e-6


@settings(max_examples=40, deadline=None)
@given(plan_problems())
def test_fewer_pens_never_improve(problem: PlanProblem) -> None:
    fewer = replace(problem, kinds=problem.kinds[1:])
    if any(hasattr(one, "pen") for one in problem.demands):
        return  # a closed pen also frees a bird that must not be in it
    assert best(fewer) <= best(problem) + 1e-6


@settings(max_examples=40, deadline=None)
@given(plan_problems())
def test_higher_minimums_never_improve(problem: PlanProblem) -> None:
    higher = tuple(replace(goal, hens_min=goal.hens_min + 1) for goal in problem.lines)
    assert best(replace(problem, lines=higher)) <= best(problem) + 1e-6


TIGHTER: dict[str, dict[str, float]] = {
    "mean inbreeding": {"mean_inbreeding_max": 0.06},
    "sire share": {"sire_share_max": 0.5},
    "rearing room": {"chicks_max": 9.0},
    "incubator": {"eggs_max": 3.0},
    "pairs": {"pairs": 2},
}


@pytest.mark.parametrize("limits", TIGHTER.values(), ids=TIGHTER)
@settings(max_examples=40, deadline=None)
@given(plan_problems())
def test_a_limit_never_improves_and_binds(limits: dict[str, int], problem: PlanProblem) -> None:
    free = replace(problem, limits=PlanLimits())
    bound = replace(problem, limits=PlanLimits(**limits))
    assert best(bound) <= best(free) + 1e-6
    if best_value(bound) is not None:
        assert evaluate(bound, solve_plan(bound, stages=False).pens).broken == ()


@settings(max_examples=40, deadline=None)
@given(plan_problems())
def test_turns_that_overlap_never_improve(problem: PlanProblem) -> None:
    """The same pens and pairs, if all turns overlap; pens of two turns are left to one of them."""
    seen: set[str] = set()
    kinds = []
    for kind in problem.kinds:
        kinds.append(replace(kind, pens=tuple(pen for pen in kind.pens if pen not in seen)))
        seen.update(kind.pens)
    apart = replace(problem, kinds=tuple(kind for kind in kinds if kind.pens))
    if any(not hasattr(one, "cock") for one in problem.demands):
        return  # pens taken away may free a bird, hens together may part
    names = tuple(sorted({turn for together in problem.turns for turn in together}))
    assert best(replace(apart, turns=(names,))) <= best(apart) + 1e-6


@settings(max_examples=40, deadline=None)
@given(plan_problems())
def test_without_carriers_to_keep_it_never_gets_worse(problem: PlanProblem) -> None:
    assert best(problem) <= best(replace(problem, carriers=())) + 1e-6


@settings(max_examples=40, deadline=None)
@given(plan_problems())
def test_a_forced_pair_never_improves(problem: PlanProblem) -> None:
    if problem.candidates:
        forced = best_value(problem, problem.candidates[:1])
        assert forced is None or forced <= best(problem) + 1e-6


@settings(max_examples=40, deadline=None)
@given(plan_problems())
def test_a_conflict_clashes_and_none_of_it_can_be_spared(problem: PlanProblem) -> None:
    if best_value(problem) is not None:
        return
    names = find_conflict(problem)
    clash = [one for one in requirements(problem) if one.name in names]
    assert not has_plan(problem, clash, "highs")
    for one in clash:
        assert has_plan(problem, [other for other in clash if other != one], "highs")


@settings(max_examples=40, deadline=None)
@given(plan_problems())
def test_a_problem_survives_its_file(problem: PlanProblem) -> None:
    again = problem_from_dict(json.loads(json.dumps(problem_to_dict(problem))))
    assert replace(again, candidates=()) == replace(problem, candidates=())
    assert set(again.candidates) == set(problem.candidates)


def test_a_group_survives_its_file() -> None:
    for seed in range(20):
        problem = with_group(problem_by_seed(seed), seed, priced=seed % 2 == 0)
        again = problem_from_dict(json.loads(json.dumps(problem_to_dict(problem))))
        assert (again.group, again.limits) == (problem.group, problem.limits)


def test_a_file_of_before_the_later_parts_is_read() -> None:
    data = problem_to_dict(plain_problem_by_seed(1))
    for part in ("turns", "limits", "tests", "carriers", "group"):
        del data[part]
    assert set(problem_from_dict(data).candidates) == set(plain_problem_by_seed(1).candidates)


@pytest.mark.parametrize("seed", range(30))
def test_both_solvers_settle_on_the_same_plan(seed: int) -> None:
    problem = problem_by_seed(seed)
    try:
        ours = solve_plan(problem, solver="highs")
    except NoPlanError:
        with pytest.raises(NoPlanError):
            solve_plan(problem, solver="cbc")
        return
    theirs = solve_plan(problem, solver="cbc")
    pairs = [{pair for pen in one.pens for pair in pen.pairs} for one in (ours, theirs)]
    assert pairs[0] == pairs[1]
    assert evaluate(problem, theirs.pens).broken == ()
