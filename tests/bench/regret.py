"""Measure what pairs cost, beside a peer: ``python -m tests.bench regret``.

The peer is the same model given to HiGHS once: for each pair its column's bound is changed, the
best plan is handed over as a solution, and it is run to gap 0. The prices must agree.
"""

from __future__ import annotations

import time
from contextlib import suppress
from dataclasses import replace
from functools import partial
from math import inf
from statistics import fmean, median
from typing import TYPE_CHECKING, Final

from matchmaker.errors import NoPlanError
from matchmaker.plan.each_pair.forced import plan_with
from matchmaker.plan.each_pair.regret import price_pairs
from matchmaker.plan.posing.pose import pose_problem
from matchmaker.plan.program.model import build
from matchmaker.plan.searching.solve import solve_plan
from matchmaker.plan.solvers.arrays import as_arrays
from matchmaker.plan.solvers.highs import highspy, new_highs
from matchmaker.plan.solvers.quiet import quiet_stdout
from matchmaker.verbs import pairs
from tests.bench.flocks import kind_of, size_of
from tests.bench.folder_flocks import EXAMPLES
from tests.bench.measuring import agreed, timed
from tests.bench.plan import problem_of
from tests.bench.rows import Row, Size
from tests.bench.running import Bench, Option

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Iterator, Sequence

    from matchmaker.plan.arithmetic.result import Solution
    from matchmaker.plan.each_pair.regret import Price
    from matchmaker.plan.posing.problem import PlanProblem

INTERVALS: Final = "intervals of all pairs"

WITHIN: Final = 1e-5
"""What the prices of both may differ by, in chicks wanted."""


def rows(chosen: Namespace) -> Iterator[Row]:
    """Invented flocks, then the examples."""
    for size in chosen.sizes:
        yield from _of_size(size, chosen)
    for name in chosen.examples:
        problem = pose_problem(pairs(EXAMPLES / name))
        best = solve_plan(problem)
        seconds, table = timed(partial(price_pairs, problem, best))
        yield Row(
            task=INTERVALS,
            size=Size(name),
            ours=(seconds,),
            note=f"{len(table)} pairs; {_width(table)}",
        )
        yield forced(name, problem, best)


def _of_size(size: str, chosen: Namespace) -> Iterator[Row]:
    """All intervals, and the exact table with its peer where it is asked for."""
    problems = [problem_of(size, seed) for seed in range(chosen.seeds)]
    flocks = [(problem, solve_plan(problem)) for problem in problems]
    found = [timed(partial(price_pairs, *flock)) for flock in flocks]
    yield Row(
        task=f"{INTERVALS}{kind_of(size)}",
        size=size_of(size),
        ours=tuple(seconds for seconds, _ in found),
        note=f"{len(found[0][1])} pairs; {_width(found[0][1])}",
    )
    if size not in chosen.exact:
        return
    exact = [timed(partial(price_pairs, *flock, exact=True)) for flock in flocks]
    row = Row(
        task=f"exact table{kind_of(size)}",
        size=size_of(size),
        ours=tuple(seconds for seconds, _ in exact),
    )
    if chosen.peer:
        tables = zip(flocks, exact, strict=True)
        both = [pair_by_pair(*flock, table, chosen.peer) for flock, (_, table) in tables]
        row = replace(
            row,
            peer="HiGHS, warm, pair by pair",
            theirs=tuple(seconds for seconds, _ in both),
            agreement=agreed((gap for _, gaps in both for gap in gaps), WITHIN),
            note=f"one pair in {chosen.peer} solved by the peer, scaled up",
        )
    yield row


def _width(table: Sequence[Price]) -> str:
    """How many of the first flock's prices are exact, and how wide the rest is."""
    widths = [one.at_most - one.at_least for one in table if one.at_most is not None]
    exact = sum(one.is_exact for one in table)
    return f"{exact} exact, width {median(widths):.2g} chicks wanted (median)"


def pair_by_pair(
    problem: PlanProblem, best: Solution, ours: Sequence[Price], step: int
) -> tuple[float, list[float]]:
    """The peer's seconds, scaled up from each n-th pair, and how far its prices are from ours."""
    model = build(problem)
    times, differences = [], []
    with quiet_stdout():
        solver = new_highs()
        for option in ("mip_rel_gap", "mip_abs_gap"):
            solver.setOptionValue(option, 0.0)
        solver.passModel(as_arrays(model.program))
        solver.run()
        known = solver.getSolution()
        for place in range(0, len(model.x), step):
            begun = time.perf_counter()
            solver.changeColBounds(model.x[place], 1.0, 1.0)
            solver.setSolution(known)
            solver.run()
            times.append(time.perf_counter() - begun)
            loss = _loss(solver, best.proof.best_value)
            same = loss == ours[place].at_least  # both without any plan
            differences.append(0.0 if same else abs(loss - ours[place].at_least))
            solver.changeColBounds(model.x[place], 0.0, 1.0)
    return fmean(times) * len(model.x), differences


def _loss(solver: highspy.Highs, best: float) -> float:
    """What the plan with the pair is worth less; infinite where there is none."""
    if solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
        return inf
    return max(0.0, best + float(solver.getInfo().objective_function_value))


def forced(name: str, problem: PlanProblem, best: Solution, step: int = 12) -> Row:
    """How long one plan with a pair takes, for each n-th of the pairs."""
    times = []
    for candidate in sorted(problem.candidates, key=lambda one: one.key)[::step]:
        begun = time.perf_counter()
        with suppress(NoPlanError):
            plan_with(problem, best, candidate, bound=best.proof.bound)
            times.append(time.perf_counter() - begun)
    return Row(
        task="a plan with one pair", size=Size(name), ours=tuple(times), note=f"{len(times)} pairs"
    )


BENCH: Final = Bench(
    rows=rows,
    options=(
        Option(
            name="sizes",
            help="hens x cocks, with + and *",
            whole=("60x8", "60x8+", "60x8*", "200x20", "200x20+"),
            short=("20x4", "60x8+"),
        ),
        Option(name="seeds", help="flocks of a size", whole=2, short=1, full=3),
        Option(
            name="exact",
            help="sizes whose exact table is wanted",
            whole=("60x8", "60x8+"),
            short=("20x4", "60x8+"),
        ),
        Option(name="peer", help="each n-th pair for the peer; 0: none", whole=8, full=1),
        Option(name="examples", help="folders of examples", whole=("holm-fen",), short=()),
    ),
)
