"""Dantzig 1963, Linear Programming and Extensions, sec. 3.3: cases from two canneries to three
markets at the least freight.

Supplies, demands and distances were read (trnsport.gms, a public copy); the optimum of 153.675 is
memory. It was worked out again apart from this project, and here in three ways. Only the optimum is
compared: what goes from Seattle to New York may be 0 or 50 at the same cost.
"""

from __future__ import annotations

import pytest

from matchmaker.plan.arithmetic.result import Outcome
from matchmaker.plan.posing.problem import PAIR_COST
from matchmaker.plan.program.program import INFINITE, Program
from matchmaker.plan.searching.solve import best_value
from matchmaker.plan.solvers.engine import SolverName, run
from tests.flow_problems import transport

SUPPLIES = (350, 600)
DEMANDS = (325, 300, 275)
DISTANCES = ((2.5, 1.7, 1.8), (2.5, 1.8, 1.4))
FREIGHT = 90 / 1000
LEAST = 153.675


def program_of_cases() -> Program:
    program = Program()
    sent = [[program.column(0, INFINITE, whole=False) for _ in DEMANDS] for _ in SUPPLIES]
    for row, supply in zip(sent, SUPPLIES, strict=True):
        program.row(dict.fromkeys(row, 1.0), -INFINITE, supply)
    for market, demand in enumerate(DEMANDS):
        program.row({row[market]: 1.0 for row in sent}, demand, INFINITE)
    program.maximise(
        {
            column: -FREIGHT * distance
            for row, distances in zip(sent, DISTANCES, strict=True)
            for column, distance in zip(row, distances, strict=True)
        }
    )
    return program


@pytest.mark.parametrize("solver", ["highs", "cbc"])
def test_least_freight(solver: SolverName) -> None:
    end = run(program_of_cases(), solver)
    assert end.outcome is Outcome.OPTIMAL
    assert -end.value == pytest.approx(LEAST, abs=1e-9)


@pytest.mark.parametrize("solver", ["highs", "cbc"])
def test_least_freight_as_pens(solver: SolverName) -> None:
    """All amounts are multiples of 25: one hen stands for 25 cases, a cock for a market."""
    dear = 1.0
    values = {
        (cannery, market): round(dear - FREIGHT * distance, 3)
        for cannery, distances in enumerate(DISTANCES)
        for market, distance in enumerate(distances)
    }
    hens, places = [one // 25 for one in SUPPLIES], [one // 25 for one in DEMANDS]
    pairs = sum(places)
    found = best_value(transport(hens, places, values, pairs=pairs), solver=solver)
    assert found is not None
    freight = pairs * (dear - PAIR_COST) - found
    assert 25 * freight == pytest.approx(LEAST, abs=1e-6)
