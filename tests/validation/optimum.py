"""Plans beside exact answers: printed problems, flows, all plans tried, and another solver."""

from __future__ import annotations

import random
from functools import cache
from itertools import product
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import linear_sum_assignment

from matchmaker.plan.arithmetic.group_arithmetic import squared_kinship
from matchmaker.plan.posing.problem import PAIR_COST
from matchmaker.plan.searching.kinship_plan import KinshipSolver
from matchmaker.plan.searching.solve import best_value, solve_plan
from matchmaker.plan.solvers.engine import SolverName, run
from tests.flow_problems import assignment, transport
from tests.oracle.plan_enumeration import best_by_enumeration
from tests.oracle.test_flows import cheapest_flow
from tests.oracle.test_group_kinship_oracle import POSED, posed
from tests.published import (
    test_minimum_kinship,
    test_transport_assignments,
    test_transport_dantzig,
)
from tests.strategies_plan import larger_problem_by_seed, problem_by_seed
from tests.validation.checks import Effort, Origin, Section, Standing
from tests.validation.plots import against

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tests.validation.checks import Check, Figure

SOLVERS: tuple[SolverName, ...] = ("highs", "cbc")
SAME = 1e-6
DANTZIG = Origin(source="published/test_transport_dantzig.py", standing=Standing.MEMORY)
ASSIGNED = Origin(source="published/test_transport_assignments.py", standing=Standing.MEMORY)
LEAST_KIN = Origin(source="published/test_minimum_kinship.py", standing=Standing.OWN)
FLOWS = Origin(source="oracle/test_flows.py", standing=Standing.RUN)
TRIED = Origin(source="oracle/test_plan_oracle.py", standing=Standing.SECOND)
OTHER_SOLVER = Origin(source="oracle/test_cpsat.py", standing=Standing.RUN)
NO_PLAN = -1.0
"""What stands for a flock in which no plan keeps all rules."""


def section(effort: Effort) -> Section:
    """The best plan."""
    return Section(
        key="optimum",
        title="The best plan",
        about="The plan is said to be the best of all that keep the rules. Here its worth, in "
        "wanted chicks, stands beside printed problems of the same form, beside exact algorithms "
        "for simpler problems, beside all plans tried one by one, and beside another solver that "
        "is given a second, independent model.",
        checks=(
            *_printed(),
            *_flows(effort.flocks),
            *_all_tried(effort.flocks),
            _least_kinship(effort),
            *_cbc(effort.flocks),
            *(_another_solver(effort.flocks) if effort.peers else ()),
        ),
        figures=(_figure_of_flocks(effort),),
    )


def _printed() -> Iterator[Check]:
    for solver in SOLVERS:
        yield DANTZIG.check(
            f"cases from two canneries to three markets, least freight, solver {solver}",
            -run(test_transport_dantzig.program_of_cases(), solver).value,
            test_transport_dantzig.LEAST,
            tolerance=1e-9,
            unit="thousand $",
        )
    found, printed = [], []
    for costs, least, _ in test_transport_assignments.PRINTED:
        dear = test_transport_assignments.DEAR
        worth = solve_plan(assignment(costs, dear=dear)).value
        found.append(len(costs) * (dear - PAIR_COST) - worth)
        printed.append(least)
    yield ASSIGNED.check("least cost of two small assignments", found, printed, tolerance=SAME)
    own = test_minimum_kinship
    yield LEAST_KIN.check(
        "kinship of a group, six animals in equal parts: 149/576",
        squared_kinship(own.TERMS, dict.fromkeys(own.ANIMALS, 1)) / 36,
        own.EQUAL,
    )
    yield LEAST_KIN.check(
        "least kinship of eight places given to the six: 7/32",
        _least_of_eight(),
        own.LEAST_OF_EIGHT,
    )


@cache
def _least_of_eight() -> float:
    own = test_minimum_kinship
    slots = own.SLOTS
    return min(
        squared_kinship(own.TERMS, dict(zip(own.ANIMALS, counts, strict=True))) / slots**2
        for counts in product(range(slots + 1), repeat=len(own.ANIMALS))
        if sum(counts) == slots
    )


def _flows(flocks: int) -> Iterator[Check]:
    found, expected = [], []
    for seed in range(flocks):
        rng = random.Random(seed)  # noqa: S311
        supplies = [rng.randint(1, 6) for _ in range(rng.randint(1, 6))]
        demands = [rng.randint(1, 9) for _ in range(rng.randint(1, 5))]
        values = {
            (group, cock): round(rng.uniform(0.0, 4.0), 3)
            for group in range(len(supplies))
            for cock in range(len(demands))
            if rng.random() < 0.7
        }
        expected.append(cheapest_flow(supplies, demands, values))
        found.append(best_value(transport(supplies, demands, values)))
    yield FLOWS.check(
        f"hens shared out to cocks without other rules, {flocks} random flocks, beside networkx' "
        "cheapest flow",
        _worths(found),
        _worths(expected),
        tolerance=SAME,
        unit="wanted chicks",
    )
    draws = np.random.default_rng(1)
    found, expected = [], []
    for _ in range(flocks):
        costs = draws.integers(0, 5000, size=(draws.integers(2, 9), 10)) / 1000
        least = float(costs[linear_sum_assignment(costs)].sum())
        expected.append(len(costs) * (10.0 - PAIR_COST) - least)
        found.append(best_value(assignment(costs.tolist(), dear=10.0)))
    yield FLOWS.check(
        f"each hen with a cock of her own, {flocks} random flocks, beside scipy's assignment",
        _worths(found),
        _worths(expected),
        tolerance=SAME,
        unit="wanted chicks",
    )


def _all_tried(flocks: int) -> Iterator[Check]:
    """Most of such small flocks have no plan, so three times as many are drawn."""
    ours, theirs = _worths_of_small(3 * flocks)
    planned = sum(worth != NO_PLAN for worth in theirs)
    yield TRIED.check(
        f"{3 * flocks} random flocks of up to 6 hens, 3 cocks, 4 pens and every kind of rule, "
        f"beside all plans tried; {planned} have a plan, the others count as −1 in both",
        ours,
        theirs,
        tolerance=SAME,
        unit="wanted chicks",
    )


@cache
def _worths_of_small(flocks: int) -> tuple[tuple[float, ...], tuple[float, ...]]:
    problems = [problem_by_seed(seed) for seed in range(flocks)]
    return _worths(map(best_value, problems)), _worths(map(best_by_enumeration, problems))


def _least_kinship(effort: Effort) -> Check:
    """Least kinship of the parents as a group, found by the program and by looking at all plans."""
    found, expected = [], []
    seeds = POSED if effort.peers else POSED[:4]
    for seed in seeds:
        problem, plans = posed(seed)
        assert problem.group is not None
        found.append(KinshipSolver(problem, problem.group).least().kinship)
        expected.append(min(kinship for _, kinship in plans))
    return Origin(source="oracle/test_group_kinship_oracle.py", standing=Standing.SECOND).check(
        f"least kinship of the parents as a group, {len(seeds)} random flocks, beside all plans",
        found,
        expected,
        tolerance=1e-8,
    )


def _cbc(flocks: int) -> Iterator[Check]:
    few = max(4, flocks // 5)
    problems = [larger_problem_by_seed(seed) for seed in range(few)]
    yield Origin(source="oracle/test_large_oracle.py", standing=Standing.RUN).check(
        f"{few} random flocks of 15 to 40 hens, the same program solved by CBC",
        _worths(map(best_value, problems)),
        _worths(best_value(problem, solver="cbc") for problem in problems),
        tolerance=SAME,
        unit="wanted chicks",
    )


@cache
def _worths_of_larger(flocks: int) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """What the best plans of larger flocks are worth, by us and by CP-SAT."""
    # here: it takes a second to be imported
    from tests.oracle.plan_by_cpsat import best_by_cpsat

    problems = [larger_problem_by_seed(seed) for seed in range(flocks)]
    return _worths(map(best_value, problems)), _worths(map(best_by_cpsat, problems))


def _another_solver(flocks: int) -> Iterator[Check]:
    ours, theirs = _worths_of_larger(flocks)
    yield OTHER_SOLVER.check(
        f"{flocks} random flocks of 15 to 40 hens and 3 to 8 cocks with every kind of rule, beside "
        "a second model under CP-SAT",
        ours,
        theirs,
        tolerance=SAME,
        unit="wanted chicks",
    )


def _figure_of_flocks(effort: Effort) -> Figure:
    if effort.peers:
        ours, theirs = _worths_of_larger(effort.flocks)
        other = "CP-SAT with a second model"
    else:
        ours, theirs = _worths_of_small(3 * effort.flocks)
        other = "all plans tried"
    planned = [
        (str(seed), other_worth, own)
        for seed, (own, other_worth) in enumerate(zip(ours, theirs, strict=True))
        if own != NO_PLAN
    ]
    left = len(ours) - len(planned)
    return against(
        "flocks",
        f"Worth of the best plan, {len(ours)} random flocks",
        (
            f"Ours above that of {other}, in wanted chicks. In {left} of the flocks no plan keeps "
            "all rules, and both say so; they are not drawn."
        ),
        planned,
        counted="wanted chicks",
        digits=4,
        heads=("flock", other, "ours"),
    )


def _worths(found: object) -> tuple[float, ...]:
    return tuple(NO_PLAN if value is None else float(value) for value in found)  # type: ignore[attr-defined]
