"""Ways out against brute force: none needs fewer rules, none goes less far, none is idle."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from typing import TYPE_CHECKING

import pytest

from matchmaker.plan.arithmetic.result import Outcome
from matchmaker.plan.no_plan.loosen import all_the_way, loosen, whole
from matchmaker.plan.no_plan.loosened import COUNTED, Kind
from matchmaker.plan.no_plan.ways import ways_out
from matchmaker.plan.program.model import build
from matchmaker.plan.solvers.engine import run
from tests.oracle.plan_enumeration import best_by_enumeration
from tests.strategies_loose import loosenable_by_seed

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.plan.no_plan.loosened import Loosenable, Loosening
    from matchmaker.plan.no_plan.ways import Way
    from matchmaker.plan.posing.problem import PlanProblem

SEEDS = range(60)
FEW_HENS = 4
"""Problems with more hens are not enumerated: it takes too long."""

NOISE = 0.011
"""Numbers of chicks are said in hundredths, and may fall short of the least by one."""


def has_plan(problem: PlanProblem) -> bool:
    model = build(problem)
    model.maximise({})
    return run(model.program, "highs").outcome is not Outcome.NONE


def figures(loosenable: Loosenable, rule: Loosening) -> Iterator[float]:
    """Yield the figures to which a rule may be loosened."""
    least, most = sorted((rule.now, rule.most))
    match rule.kind:
        case Kind.KINSHIP | Kind.PROOF | Kind.CHANCE:
            needs = [n for extra in loosenable.extras for group in extra.needs for n in group]
            yield from {need.to for need in needs if need.rule == rule}
        case Kind.MINIMUM if rule.field not in COUNTED:
            yield from (rule.now * step / 20 for step in range(20))
        case Kind.SIRE_SHARE:
            yield from (step / 20 for step in range(1, 21) if step / 20 > rule.now)
        case Kind.MEAN_INBREEDING:
            steps = (rule.now + 0.005 * step for step in range(1, 60))
            yield from (step for step in steps if step <= most)
        case Kind.PAIRS:
            yield from (number for number in range(12) if number != rule.now)
        case Kind.ALLOW:
            return
        case _:
            whole_numbers = range(int(least), int(most) + 1)
            yield from (number for number in whole_numbers if number != rule.now)


Case = tuple["Loosenable", tuple["Way", ...]]


@pytest.fixture(scope="module", params=SEEDS)
def case(request: pytest.FixtureRequest) -> Case:
    """Return a problem without a plan, made so by too large a minimum if need be, and its ways."""
    found = loosenable_by_seed(request.param)
    if has_plan(found.problem):
        first, *others = found.problem.lines
        hens = len({one.hen for one in found.problem.candidates}) + 1
        lines = (replace(first, hens_min=hens), *others)
        found = replace(found, problem=replace(found.problem, lines=lines))
    return found, ways_out(found)


def test_ways_are_of_fewest_rules_and_go_least_far(case: Case) -> None:
    loosenable, ways = case
    rules = loosenable.rules()
    fewest = len(ways[0].loosened) if ways else 3
    for number in range(min(fewest, 3)):
        for chosen in combinations(rules, number):
            assert not has_plan(all_the_way(loosenable, chosen)), chosen
    if fewest != 1:
        return
    for rule in rules:
        for figure in figures(loosenable, rule):
            one = replace(whole(loosenable, rule), to=float(figure))
            if one.part < ways[0].part - NOISE:
                assert not has_plan(loosen(loosenable, [one])), one


def test_every_way_gives_a_plan_and_no_rule_of_it_is_idle(case: Case) -> None:
    loosenable, ways = case
    for way in ways:
        assert has_plan(loosen(loosenable, way.loosened))
        for left_out in way.loosened:
            rest = [one for one in way.loosened if one is not left_out]
            assert not has_plan(loosen(loosenable, rest)), left_out


def test_ways_differ(case: Case) -> None:
    sets = [frozenset(one.rule for one in way.loosened) for way in case[1]]
    assert not any(one <= other for one, other in combinations(sets, 2))


def test_enumeration_finds_a_plan_where_a_way_out_says_there_is_one(
    case: Case,
) -> None:
    loosenable, ways = case
    if len({one.hen for one in loosenable.problem.candidates}) > FEW_HENS:
        return
    assert best_by_enumeration(loosenable.problem) is None
    for way in ways:
        best = best_by_enumeration(loosen(loosenable, way.loosened))
        assert best is not None
        assert way.trial.value == pytest.approx(best, rel=0.05, abs=0.5)
        assert way.trial.value <= best + 1e-6


def test_the_same_ways_whatever_the_order_of_birds_and_pens() -> None:
    for seed in (6, 7, 8, 16, 23):
        one = loosenable_by_seed(seed)
        if has_plan(one.problem):
            continue
        turned = replace(
            one,
            problem=replace(one.problem, candidates=one.problem.candidates[::-1]),
            extras=one.extras[::-1],
        )
        first, second = ways_out(one), ways_out(turned)
        assert [len(way.loosened) for way in first] == [len(way.loosened) for way in second]
        assert [way.part for way in first] == pytest.approx([way.part for way in second])
