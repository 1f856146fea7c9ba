"""What shapes a plan, and what wishes cost, against two solves by constraint programming."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from matchmaker import verbs
from matchmaker.explain.forced import posed, with_pair, without_pair
from matchmaker.explain.whole import Fact, FactKind, why_plan
from matchmaker.explain.wish_prices import wish_prices
from matchmaker.explain.worth import without_bird, without_line
from matchmaker.plan.posing.pose import pose_problem
from matchmaker.plan.posing.problem import PAIR_COST, PairTogether
from tests.oracle.plan_by_cpsat import best_by_cpsat
from tests.why_flocks import scarce_flock

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.plan.posing.problem import PlanProblem
    from matchmaker.plan.season.season_plan import SeasonPlan


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


def rest_of(plan: SeasonPlan, line: str) -> float:
    """What the other lines have by the plan, the work of their pairs taken off."""
    importance = {goal.line: goal.importance for goal in plan.problem.lines}
    pairs = [pair for pen in plan.solution.pens for pair in pen.pairs if pair.line != line]
    counted = sum(
        importance[one.line] * one.counted for one in plan.solution.lines if one.line != line
    )
    return counted - PAIR_COST * len(pairs)


def expected(plan: SeasonPlan, fact: Fact) -> float | None:
    """What a fact is worth, worked out anew; ``None`` where it is not checked here."""
    problem, whole = plan.problem, value(plan.problem)
    if fact.kind is FactKind.COCK:
        return whole - value(without_bird(problem, fact.subject))
    if fact.kind is FactKind.LINE:
        return value(without_line(problem, fact.subject)) - rest_of(plan, fact.subject)
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


TURNS = (
    "pen,hens_max,from,until\nYard,3,2027-02-01,2027-03-14\nYard,2,2027-03-15,2027-05-20\n"
    "Orchard,2,2027-02-01,2027-03-14\nOrchard,3,2027-03-15,2027-05-20\n"
)


@pytest.mark.parametrize("seed", range(4))
def test_a_pair_of_two_turns_is_kept_out_of_both_or_put_into_either(
    tmp_path: Path, seed: int
) -> None:
    folder = scarce_flock(tmp_path / "flock", seed)
    (folder / "pens.csv").write_text(TURNS, encoding="utf-8")
    plan = verbs.plan(folder)
    whole = value(plan.problem)
    season = posed(plan)
    chosen = list(dict.fromkeys(pair.key for pen in plan.pens for pair in pen.pairs))
    assert len({one.turn for one in plan.problem.candidates}) == 2
    pairs = {pair.key: pair for pair in plan.table.allowed}
    for key in chosen[:3]:
        own = [one for one in plan.problem.candidates if (one.hen, one.cock, one.row) == key]
        rest = tuple(one for one in plan.problem.candidates if one not in own)
        banned = without_pair(season, pairs[key])
        without = value(replace(plan.problem, candidates=rest))
        assert banned.loss == pytest.approx(whole - without, abs=1e-6)
    for pair in plan.table.allowed[seed::9]:
        wish = PairTogether(name="together", hen=pair.hen, cock=pair.cock)
        together = value(replace(plan.problem, demands=(*plan.problem.demands, wish)))
        assert with_pair(season, pair).loss == pytest.approx(whole - together, abs=1e-6)
