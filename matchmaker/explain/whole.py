"""What shapes a plan most: everything that could be otherwise, ranked by what it is worth."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Any, Final

from matchmaker import tolerance
from matchmaker.explain.forced import posed_alike
from matchmaker.explain.wish_prices import wish_prices
from matchmaker.explain.worth import (
    INFINITE,
    Worth,
    best_worth,
    difference,
    without_bird,
    without_line,
)
from matchmaker.pairs.rules import Rule
from matchmaker.plan.posing.problem import PAIR_COST
from matchmaker.plan.season.one_more import one_more

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from matchmaker.plan.posing.problem import LineGoal
    from matchmaker.plan.season.season_plan import SeasonPlan

MOST_FACTS: Final = 10
"""Facts told of a plan."""

NOTHING: Final = tolerance.VALUE_STEP / 2
"""Wanted chicks that are none."""

RULES_OF_PAIRS: Final = (
    Rule.TOO_RELATED,
    Rule.UNPROVEN,
    Rule.WISHED_APART,
    Rule.NOT_AVAILABLE,
    Rule.TOO_YOUNG,
    Rule.UNFIT,
)
"""Rules whose price is worked out: of the others the pairs they reject would bring nothing, or the
program does not propose to do without them."""

MINIMUMS: Final = (
    "cocks_min",
    "hens_min",
    "wanted_min",
    "wanted_cocks_min",
    "wanted_hens_min",
    "sure_cocks_min",
    "sure_hens_min",
)


class FactKind(StrEnum):
    """What a fact is about."""

    COCK = "cock"
    LINE = "line"
    RULE = "rule"
    MINIMUM = "minimum"
    WISH = "wish"
    ONE_MORE = "one-more"


@dataclass(frozen=True, slots=True, kw_only=True)
class Fact:
    """One thing that shapes the plan, and what it is worth in wanted chicks.

    Of a cock in the plan: what would be lost without him. Of a line: what the other lines give up
    for it. Of a rule, minimum or wish: what it costs. Of one thing more: what it would add.
    """

    kind: FactKind
    subject: str
    worth: Worth
    facts: Mapping[str, Any] = field(default_factory=dict)


def why_plan(plan: SeasonPlan) -> tuple[Fact, ...]:
    """The facts that shape a plan most, the weightiest first.

    Of what is worth nothing only rules are told, where there is room for them: what rejects many
    pairs and costs nothing is worth knowing.
    """
    found = [
        *_cocks(plan),
        *_lines(plan),
        *_rules(plan),
        *_minimums(plan),
        *_wishes(plan),
        *_one_more(plan),
    ]
    found.sort(key=lambda one: (-one.worth.ranked, one.kind, one.subject))
    counted = [one for one in found if one.worth.ranked > NOTHING]
    free = [one for one in found if one.worth.ranked <= NOTHING and one.kind is FactKind.RULE]
    return tuple((*counted, *free)[:MOST_FACTS])


def _cocks(plan: SeasonPlan) -> Iterator[Fact]:
    """What each cock in the plan is worth to it."""
    for cock in sorted({pen.cock for pen in plan.pens}):
        without = without_bird(plan.problem, cock)
        worth = difference(plan.problem, plan.solution, without)
        hens = sum(len(pen.pairs) for pen in plan.pens if pen.cock == cock)
        yield Fact(kind=FactKind.COCK, subject=cock, worth=worth, facts={"hens": hens})


def _lines(plan: SeasonPlan) -> Iterator[Fact]:
    """What the other lines could have more if nothing were bred for one."""
    counted = {total.line: total.counted for total in plan.solution.lines}
    goals = [goal for goal in plan.problem.lines if counted.get(goal.line)]
    for goal in goals:
        own = goal.importance * counted[goal.line]
        pairs = sum(pair.line == goal.line for pen in plan.solution.pens for pair in pen.pairs)
        without = without_line(plan.problem, goal.line)
        less = difference(plan.problem, plan.solution, without)
        if less.impossible:
            continue  # a wish or rule needs the line: what the rest could have says nothing
        yield Fact(
            kind=FactKind.LINE,
            subject=goal.line,
            worth=_more_for_others(plan, less, own - PAIR_COST * pairs),
            facts={"brings": own, "hens": pairs},
        )


def _more_for_others(plan: SeasonPlan, less: Worth, own: float) -> Worth:
    """What the rest of the plan could gain: the best without a line less what the rest has now.

    ``own`` is what the line's pairs bring, their cost taken off. The rest of the plan stays
    possible without them, so that this is never below 0.
    """
    rest = plan.solution.value - own
    best = best_worth(plan.problem, plan.solution)
    low = -INFINITE if less.high is None else best - less.high - rest
    return Worth(low=low, high=best - less.low - rest).within(0.0, INFINITE)


def _rules(plan: SeasonPlan) -> Iterator[Fact]:
    """What each rule costs by the pairs that it alone rejects."""
    for rule in RULES_OF_PAIRS:
        alone = {
            pair.key
            for pair in plan.table.pairs
            if pair.crossing is not None
            and not pair.allowed
            and not any(one.final for one in pair.broken)
            and {one.rule for one in pair.broken} == {rule}
        }
        if not alone:
            continue
        pairs = tuple(
            replace(pair, broken=()) if pair.key in alone else pair for pair in plan.table.pairs
        )
        problem = posed_alike(replace(plan.table, pairs=pairs), plan.problem)
        less = difference(plan.problem, plan.solution, problem)
        yield Fact(
            kind=FactKind.RULE,
            subject=str(rule),
            worth=less.turned().within(0.0, INFINITE),
            facts={"pairs": len(alone)},
        )


def _minimums(plan: SeasonPlan) -> Iterator[Fact]:
    """What each minimum of a line costs the plan."""
    for goal in plan.problem.lines:
        for field_of_goal in MINIMUMS:
            least = getattr(goal, field_of_goal)
            if not least:
                continue
            lines = tuple(_without(one, goal, field_of_goal) for one in plan.problem.lines)
            problem = replace(plan.problem, lines=lines)
            less = difference(plan.problem, plan.solution, problem)
            yield Fact(
                kind=FactKind.MINIMUM,
                subject=goal.line,
                worth=less.turned().within(0.0, INFINITE),
                facts={"minimum": field_of_goal, "least": least},
            )


def _without(one: LineGoal, goal: LineGoal, minimum: str) -> LineGoal:
    nothing: Any = {minimum: 0}
    return replace(one, **nothing) if one.line == goal.line else one


def _wishes(plan: SeasonPlan) -> Iterator[Fact]:
    for one in wish_prices(plan):
        yield Fact(
            kind=FactKind.WISH,
            subject=one.wish.bird,
            worth=one.price if one.wish.wish != "allow" else one.price.turned(),
            facts={"wish": one.wish},
        )


def _one_more(plan: SeasonPlan) -> Iterator[Fact]:
    for gain in one_more(plan):
        yield Fact(
            kind=FactKind.ONE_MORE,
            subject=gain.subject,
            worth=Worth(low=gain.gain, high=gain.gain if gain.proved else None),
            facts={"gain": gain},
        )
