"""Measure what pairs cost, beside a peer: ``python -m tests.bench regret``.

The peer is the same model given to HiGHS once: for each pair its column's bound is changed, the
best plan is handed over as a solution, and it is run to gap 0. The prices must agree.
"""

from __future__ import annotations

import argparse
import time
from pathlib import Path
from statistics import fmean, median
from typing import TYPE_CHECKING

import numpy as np

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
from tests.bench.plan import problem_of

if TYPE_CHECKING:
    from matchmaker.plan.arithmetic.result import Solution
    from matchmaker.plan.posing.problem import PlanProblem

SIZES = ("60x8", "60x8+", "60x8*", "200x20", "200x20+")
EXAMPLES = Path(__file__).parents[2] / "examples"


def main(arguments: list[str]) -> None:
    """Print a line a flock."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench regret")
    parser.add_argument("--sizes", default=",".join(SIZES), help="hens x cocks, by commas")
    parser.add_argument("--seeds", type=int, default=3)
    parser.add_argument("--exact", default="60x8,60x8+", help="sizes whose exact table is wanted")
    parser.add_argument("--peer", type=int, default=1, help="each n-th pair for the peer; 0: none")
    parser.add_argument("--examples", default="holm-fen", help="folders of examples, by commas")
    args = parser.parse_args(arguments)
    for size in filter(None, args.sizes.split(",")):
        for seed in range(args.seeds):
            problem = problem_of(size, seed)
            exact = size in args.exact.split(",")
            report(f"{size} seed {seed}", problem, exact=exact, step=args.peer if exact else 0)
    for name in filter(None, args.examples.split(",")):
        problem = pose_problem(pairs(EXAMPLES / name))
        report(name, problem, exact=False, step=0)
        report_forced(name, problem)


def report(name: str, problem: PlanProblem, *, exact: bool, step: int) -> None:
    """Print the time of intervals, of the exact table, and of the peer."""
    best = solve_plan(problem)
    begun = time.perf_counter()
    table = price_pairs(problem, best)
    seconds = time.perf_counter() - begun
    widths = [one.at_most - one.at_least for one in table if one.at_most is not None]
    text = f"{name}: {len(table)} pairs, intervals {seconds:.2f} s"
    text += f" ({sum(one.is_exact for one in table)} exact, width {median(widths):.3f})"
    if exact:
        begun = time.perf_counter()
        losses = [one.at_least for one in price_pairs(problem, best, exact=True)]
        seconds = time.perf_counter() - begun
        text += f", exact {seconds:.1f} s"
        if step:
            text += against_peer(problem, best, losses, (seconds, step))
    print(text, flush=True)  # noqa: T201


def against_peer(
    problem: PlanProblem, best: Solution, losses: list[float], ours: tuple[float, int]
) -> str:
    """Return the peer's time in words, scaled up from each n-th pair; its values must be ours."""
    seconds, step = ours
    model = build(problem)
    times = []
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
            loss = np.inf
            if solver.getModelStatus() == highspy.HighsModelStatus.kOptimal:
                value = -float(solver.getInfo().objective_function_value)
                loss = max(0.0, best.proof.best_value - value)
            assert np.isclose(loss, losses[place], atol=1e-5), (place, loss, losses[place])
            solver.changeColBounds(model.x[place], 0.0, 1.0)
    total = fmean(times) * len(model.x)
    return f", pair by pair {total:.1f} s ({len(times)} solved), ratio {total / seconds:.1f}"


def report_forced(name: str, problem: PlanProblem, step: int = 12) -> None:
    """Print how long one plan with a pair takes."""
    best = solve_plan(problem)
    times = []
    for candidate in sorted(problem.candidates, key=lambda one: one.key)[::step]:
        begun = time.perf_counter()
        try:
            plan_with(problem, best, candidate, bound=best.proof.bound)
        except NoPlanError:
            continue
        times.append(time.perf_counter() - begun)
    print(  # noqa: T201
        f"{name}: plan with one pair {median(times):.2f} s (worst {max(times):.2f}, {len(times)})"
    )
