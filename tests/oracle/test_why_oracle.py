"""What shapes a plan, and what wishes cost, against two solves by constraint programming."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from matchmaker import verbs
from matchmaker.explain.whole import Fact, FactKind, why_plan
from matchmaker.explain.wish_prices import wish_prices
from matchmaker.explain.worth import without_bird, without_line
from matchmaker.plan.pose import pose_problem
from tests.oracle.plan_by_cpsat import best_by_cpsat
from tests.why_flocks import scarce_flock

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.plan.problem import PlanProblem
    from matchmaker.plan.season_plan import SeasonPlan


def value(problem: PlanProblem) -> float:
    """The best value, by constraint programming, which counts in whole parts.

    No minimum here is on chicks, so their numbers make no difference.
    """
    plain = tuple(
        replace(one, wanted=0.0, wanted_cocks=0.0, wanted_hens=0.0, chicks=0.0, eggs=0.0)
        for one in problem.candidates
    )
    found = best_by_cpsat(replace(problem, candidates=plain))
    assert found is not None
    return found


def expected(plan: SeasonPlan, fact: Fact) -> float | None:
    """What a fact is worth, worked out anew; ``None`` where it is not checked here."""
    problem, whole = plan.problem, value(plan.problem)
    if fact.kind is FactKind.COCK:
        return whole - value(without_bird(problem, fact.subject))
    if fact.kind is FactKind.LINE:
        (total,) = (one for one in plan.solution.lines if one.line == fact.subject)
        (goal,) = (one for one in problem.lines if one.line == fact.subject)
        return goal.importance * total.counted - (
            whole - value(without_line(problem, fact.subject))
        )
    if fact.kind is FactKind.MINIMUM:
        assert fact.facts["minimum"] == "hens_min"
        lines = tuple(
            replace(one, hens_min=0) if one.line == fact.subject else one for one in problem.lines
        )
        return value(replace(problem, lines=lines)) - whole
    return None


@pytest.mark.parametrize("seed", range(6))
def test_each_fact_is_worth_the_difference_of_two_solves(tmp_path: Path, seed: int) -> None:
    folder = scarce_flock(tmp_path / "flock", seed)
    settings = folder / "matchmaker.toml"
    text = settings.read_text(encoding="utf-8").replace(
        "[lines.Birch]\n", "[lines.Birch]\nhens_min = 1\n"
    )
    settings.write_text(text, encoding="utf-8")
    plan = verbs.plan(folder)
    facts = why_plan(plan)
    assert facts
    checked = 0
    for fact in facts:
        amount = expected(plan, fact)
        if amount is not None:
            assert fact.worth.amount == pytest.approx(max(0.0, amount), abs=1e-6), fact
            checked += 1
    assert checked
    ranked = [fact.worth.ranked for fact in facts]
    assert ranked == sorted(ranked, reverse=True)


@pytest.mark.parametrize("seed", range(6))
def test_a_wish_costs_what_the_plan_is_better_without_it(tmp_path: Path, seed: int) -> None:
    folder = scarce_flock(tmp_path / "flock", seed)
    wishes = "bird,with,wish,why\nH1,SD,together,mine\nH6,,rest,hers\nH2,AC,apart,his\n"
    (folder / "wishes.csv").write_text(wishes, encoding="utf-8")
    table, plan = verbs.pairs(folder), verbs.plan(folder)
    with_all = value(pose_problem(table))
    prices = wish_prices(plan)
    assert len(prices) == 3
    lines = wishes.splitlines()
    for at, price in enumerate(prices, start=1):
        (folder / "wishes.csv").write_text(
            "\n".join([*lines[:at], *lines[at + 1 :]]) + "\n", encoding="utf-8"
        )
        without = value(pose_problem(verbs.pairs(folder)))
        assert price.price.amount == pytest.approx(without - with_all, abs=1e-6)
