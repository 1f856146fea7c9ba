"""The integer program on networks, where other algorithms are exact: flows and assignments."""

from __future__ import annotations

import math
import random
from typing import Any

import networkx as nx
import numpy as np
import pytest
from scipy.optimize import linear_sum_assignment

from matchmaker.plan.arithmetic.result import Outcome
from matchmaker.plan.posing.problem import PAIR_COST
from matchmaker.plan.program.program import Program
from matchmaker.plan.searching.solve import best_value
from matchmaker.plan.solvers.engine import SolverName, run
from tests.flow_problems import assignment, transport


def cheapest_flow(
    supplies: list[int], demands: list[int], values: dict[tuple[int, int], float]
) -> float:
    """Return what the best pairs are worth: costs in thousandths, hens may stay unused."""
    graph: nx.DiGraph[Any] = nx.DiGraph()
    graph.add_node("start", demand=-sum(supplies))
    graph.add_node("end", demand=sum(supplies))
    graph.add_edge("start", "end", weight=0)
    for group, count in enumerate(supplies):
        graph.add_edge("start", ("hens", group), capacity=count, weight=0)
    for cock, places in enumerate(demands):
        graph.add_edge(("cock", cock), "end", capacity=places, weight=0)
    for (group, cock), value in values.items():
        cost = round(1000 * PAIR_COST) - round(1000 * value)
        graph.add_edge(("hens", group), ("cock", cock), weight=cost)
    flow = nx.min_cost_flow(graph)
    return -nx.cost_of_flow(graph, flow) / 1000


@pytest.mark.parametrize("seed", range(40))
def test_pure_transport_is_the_cheapest_flow(seed: int) -> None:
    rng = random.Random(seed)  # noqa: S311
    supplies = [rng.randint(1, 6) for _ in range(rng.randint(1, 6))]
    demands = [rng.randint(1, 9) for _ in range(rng.randint(1, 5))]
    values = {
        (group, cock): rng.choice((0.03, 0.5, round(rng.uniform(0.0, 4.0), 3)))
        for group in range(len(supplies))
        for cock in range(len(demands))
        if rng.random() < 0.7
    }
    expected = cheapest_flow(supplies, demands, values)
    found = best_value(transport(supplies, demands, values))
    assert found == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize("seed", range(20))
def test_pairs_alone_are_an_assignment(seed: int) -> None:
    rng = np.random.default_rng(seed)
    rows = int(rng.integers(2, 9))
    costs = rng.integers(0, 5000, size=(rows, rows + int(rng.integers(0, 3)))) / 1000
    chosen = linear_sum_assignment(costs)
    expected = float(costs[chosen].sum())
    found = best_value(assignment(costs.tolist(), dear=10.0))
    assert found == pytest.approx(rows * (10.0 - PAIR_COST) - expected, abs=1e-6)


@pytest.mark.parametrize("solver", ["highs", "cbc"])
@pytest.mark.parametrize("seed", range(15))
def test_flow_with_least_amounts_in_whole_numbers(seed: int, solver: SolverName) -> None:
    """Each arc carries a least and a most; the least is taken off for the peer's own form."""
    rng = random.Random(seed)  # noqa: S311
    nodes = list(range(rng.randint(4, 7)))
    graph: nx.DiGraph[Any] = nx.DiGraph()
    program = Program()
    balance: dict[int, dict[int, float]] = {node: {} for node in nodes}
    costs: dict[int, float] = {}
    supply, fixed = dict.fromkeys(nodes, 0), 0
    for tail, head in ((a, b) for a in nodes for b in nodes if a < b and rng.random() < 0.8):
        least, cost = rng.choice((0, 0, 1, 3)), rng.randint(1, 20)
        most, sent = least + rng.randint(0, 8), least
        sent += rng.randint(0, most - least)
        column = program.column(least, most, whole=True)
        balance[tail][column], balance[head][column] = 1.0, -1.0
        costs[column] = -float(cost)
        supply[tail] += sent
        supply[head] -= sent
        fixed += least * cost
        graph.add_edge(tail, head, capacity=most - least, weight=cost, least=least)
    for node in nodes:
        program.row(balance[node], supply[node], supply[node])
        least_out = sum(graph.edges[edge]["least"] for edge in graph.edges if edge[0] == node)
        least_in = sum(graph.edges[edge]["least"] for edge in graph.edges if edge[1] == node)
        graph.add_node(node, demand=-(supply[node] - least_out + least_in))
    program.maximise(costs)
    end = run(program, solver)
    assert end.outcome is Outcome.OPTIMAL
    assert -end.value == pytest.approx(fixed + nx.min_cost_flow_cost(graph), abs=1e-6)


@pytest.mark.parametrize("solver", ["highs", "cbc"])
def test_a_flow_that_cannot_be_is_called_so(solver: SolverName) -> None:
    program = Program()
    arc = program.column(2, 5, whole=True)
    program.row({arc: 1.0}, -math.inf, 1.0)
    program.maximise({arc: -1.0})
    assert run(program, solver).outcome is Outcome.NONE
