"""Measure the plan on invented flocks beside a textbook model: ``python -m tests.bench plan``.

Each solve runs in a process of its own, so that its peak memory is its own; the memory of a large
problem itself (``given``) is in it.
"""

from __future__ import annotations

import argparse
import json
import resource
import statistics
import subprocess
import sys
import time
from typing import TYPE_CHECKING

from matchmaker.errors import NoPlanError, SolverStoppedError
from matchmaker.plan.arithmetic.verify import evaluate
from matchmaker.plan.searching.solve import solve_plan
from tests.bench.by_hand import BY_HAND
from tests.bench.flocks import flock_problem, hungry, with_all_rows
from tests.bench.textbook import solve_textbook, textbook

if TYPE_CHECKING:
    from matchmaker.plan.posing.problem import PlanProblem

SIZES = ("20x4", "60x8", "200x20", "600x60")
"""Hens x cocks. With "+" behind, lines want more than the pens can give; without, they have all
they need, and what is left to prove is that no fewer pairs would do. With "*" the flock has every
kind of rule."""

LARGE = ("2000x200", "10000x1000")
"""With ``--large`` too."""


def main(arguments: list[str]) -> None:
    """Print one line a size and method, or one measurement as JSON (``--one``)."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench plan")
    parser.add_argument("--sizes", help="hens x cocks, by commas")
    parser.add_argument("--large", action="store_true", help="thousands of hens as well")
    parser.add_argument("--seeds", type=int, default=3)
    parser.add_argument("--seconds", type=float, default=30.0, help="time limit of one solve")
    parser.add_argument("--methods", default="ours,first,textbook,by hand")
    parser.add_argument("--one", help="SIZE:SEED:METHOD, in this process")
    args = parser.parse_args(arguments)
    if args.one:
        size, seed, method = args.one.split(":")
        print(json.dumps(measure(size, int(seed), method, args.seconds)))  # noqa: T201
        return
    sizes = (*SIZES, *LARGE) if args.large else SIZES
    default = [f"{size}{kind}" for size in sizes for kind in ("", "+")] + ["60x8*", "60x8+*"]
    for size in args.sizes.split(",") if args.sizes else default:
        report(size, args.methods.split(","), args.seeds, args.seconds)


def problem_of(size: str, seed: int) -> PlanProblem:
    """Return the flock a size names."""
    hens, cocks = (int(part) for part in size.rstrip("+*").split("x"))
    problem = flock_problem(hens, cocks, seed)
    if "+" in size:
        problem = hungry(problem)
    return with_all_rows(problem) if "*" in size else problem


def measure(size: str, seed: int, method: str, seconds: float) -> dict[str, float]:
    """Measure one solve: "ours" with all stages, "first" the best value only, or a peer."""
    problem = problem_of(size, seed)
    given = _memory()
    begun = time.perf_counter()
    build, gap = 0.0, 0.0
    if method == "textbook":
        model = textbook(problem)
        build = time.perf_counter() - begun
        value, proved = solve_textbook(model, seconds)
        gap = 0.0 if proved else float("nan")
    elif method in BY_HAND:
        plan = BY_HAND[method](problem)
        value = float("nan") if plan is None else evaluate(problem, plan).value
    else:
        try:
            solution = solve_plan(problem, time_limit=seconds, stages=method == "ours")
        except (NoPlanError, SolverStoppedError):
            value, gap = float("-inf"), float("nan")
        else:
            build, value = solution.proof.build_seconds, solution.proof.best_value
            gap = solution.proof.gap
    total = time.perf_counter() - begun
    return {
        "build": build,
        "solve": total - build,
        "value": value,
        "gap": gap,
        "memory": _memory(),
        "given": given,
    }


def _memory() -> float:
    """Peak memory of this process so far, in MB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def report(size: str, methods: list[str], seeds: int, seconds: float) -> None:
    """Print medians and worst of each method, and how the values compare."""
    plain = "*" not in size
    solved = [one for one in methods if one in ("ours", "first") or (one == "textbook" and plain)]
    found = {
        method: [_in_child(f"{size}:{seed}:{method}", seconds) for seed in range(seeds)]
        for method in solved
    }
    for method, runs in found.items():
        _print_method(size, method, runs)
    if {"first", "textbook"} <= set(found):
        _print_ratio(size, found["first"], found["textbook"])
    best = found.get("ours") or found.get("first")
    if "by hand" in methods and best and plain:
        for method in BY_HAND:
            runs = [_in_child(f"{size}:{seed}:{method}", seconds) for seed in range(seeds)]
            _print_by_hand(size, method, best, runs)


def _print_method(size: str, method: str, runs: list[dict[str, float]]) -> None:
    totals = [run["build"] + run["solve"] for run in runs]
    print(  # noqa: T201
        f"{size:>11} {method:>9}  build {statistics.median(r['build'] for r in runs):7.3f} s"
        f"  total median {statistics.median(totals):7.3f} s  worst {max(totals):7.3f} s"
        f"  proved {sum(r['gap'] == 0 for r in runs)} of {len(runs)}{_gap_text(runs)}"
        f"  memory {max(r['memory'] for r in runs):5.0f} MB"
        f" (given {max(r['given'] for r in runs):.0f})",
        flush=True,
    )


def _print_ratio(size: str, ours: list[dict[str, float]], theirs: list[dict[str, float]]) -> None:
    pairs = list(zip(ours, theirs, strict=True))
    same = sum(abs(one["value"] - two["value"]) < 1e-4 for one, two in pairs)
    ratios = [(t["build"] + t["solve"]) / (f["build"] + f["solve"]) for f, t in pairs]
    print(  # noqa: T201
        f"{size:>11}   equal values {same} of {len(pairs)};"
        f" textbook takes {statistics.median(ratios):.1f} times as long (median)",
        flush=True,
    )


def _print_by_hand(
    size: str, method: str, best: list[dict[str, float]], runs: list[dict[str, float]]
) -> None:
    """Print what a plan by hand loses; that it never gains is checked."""
    lost = [
        100 * (ours["value"] - run["value"]) / ours["value"]
        for ours, run in zip(best, runs, strict=True)
        if run["value"] == run["value"]
    ]
    if any(one < -1e-6 for one in lost):
        sys.exit(f"{size}: {method} beats the planner: {lost}")
    ends = f"no plan in {len(runs) - len(lost)} of {len(runs)}"
    if lost:
        ends = f"loses {statistics.median(lost):.1f} % (median), {max(lost):.1f} % at most; {ends}"
    print(  # noqa: T201
        f"{size:>11}   by hand, {method}: {ends}",
        flush=True,
    )


def _gap_text(runs: list[dict[str, float]]) -> str:
    """The worst gap left, where a solver stated one."""
    left = [run["gap"] for run in runs if run["gap"] > 0]
    return f" (gap left {max(left):.0e})" if left else ""


def _in_child(one: str, seconds: float) -> dict[str, float]:
    command = [sys.executable, "-m", "tests.bench", "plan", "--one", one]
    end = subprocess.run(
        [*command, "--seconds", str(seconds)], capture_output=True, text=True, check=True
    )
    measured: dict[str, float] = json.loads(end.stdout)
    return measured
