"""Two small assignments printed in the documentation of scipy and on hungarianalgorithm.com.

Both from memory; each optimum was found again by brute force apart from this project, and here by
trying all orders.
"""

from __future__ import annotations

from itertools import permutations

import pytest

from matchmaker.plan.posing.problem import PAIR_COST
from matchmaker.plan.searching.solve import solve_plan
from tests.flow_problems import assignment

DEAR = 100.0
PRINTED = [
    (((4, 1, 3), (2, 0, 5), (3, 2, 2)), 5, (1, 0, 2)),
    (((82, 83, 69, 92), (77, 37, 49, 92), (11, 69, 5, 86), (8, 9, 98, 23)), 140, (2, 1, 0, 3)),
]


@pytest.mark.parametrize(("costs", "least", "columns"), PRINTED, ids=["three", "four"])
def test_least_cost_and_who_gets_what(
    costs: tuple[tuple[int, ...], ...], least: int, columns: tuple[int, ...]
) -> None:
    orders = {
        order: sum(row[at] for row, at in zip(costs, order, strict=True))
        for order in permutations(range(len(costs)))
    }
    assert [order for order, cost in orders.items() if cost == min(orders.values())] == [columns]
    solution = solve_plan(assignment(costs, dear=DEAR))
    assert len(costs) * (DEAR - PAIR_COST) - solution.value == pytest.approx(least)
    pairs = sorted((one.hen, one.cock) for pen in solution.pens for one in pen.pairs)
    assert pairs == [(f"H{row}-000", f"C{column}") for row, column in enumerate(columns)]
