"""Rows of the integer program for test matings: what is learnt of each tested bird."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from matchmaker.plan.posing.problem import TestGoal
    from matchmaker.plan.program.model import Model
    from matchmaker.plan.program.program import Terms


def add_tests(model: Model) -> None:
    """Add what test chicks are worth, a column a bird, and count the test pairs in another."""
    tests = [at for at, one in enumerate(model.layout.candidates) if one.tested]
    if tests:
        model.numbers.append(model.count(model.taken(tests), len(tests)))
    for goal in model.problem.tests:
        _add_test(model, goal)


def _add_test(model: Model, goal: TestGoal) -> None:
    """A bird's tests are worth the least of its pieces at the number of its test chicks."""
    chicks: Terms = {
        model.x[at]: one.test_chicks
        for at, one in enumerate(model.layout.candidates)
        if one.tested == goal.bird
    }
    fewest = sum(min(0.0, amount) for amount in chicks.values())
    most = sum(max(0.0, amount) for amount in chicks.values())
    ends = [(start + slope * fewest, start + slope * most) for slope, start in goal.pieces]
    lowest, highest = min(min(two) for two in ends), min(max(two) for two in ends)
    worth = model.column(lowest, highest, whole=False)
    for slope, start in goal.pieces:
        model.at_most({worth: 1.0} | {x: -slope * amount for x, amount in chicks.items()}, start)
    model.value |= {worth: 1.0}
