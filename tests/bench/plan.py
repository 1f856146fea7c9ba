"""Measure the plan on invented flocks beside a textbook model: ``python -m tests.bench plan``.

Each solve runs in a process of its own, so that its peak memory is its own.
"""

from __future__ import annotations

import argparse
import json
import resource
import statistics
import subprocess
import sys
import time

from matchmaker.plan.solve import solve_plan
from tests.bench.flocks import flock_problem, hungry
from tests.bench.textbook import solve_textbook, textbook

SIZES = ("20x4", "60x8", "200x20", "600x60")
"""Hens x cocks. With "+" behind, lines want more than the pens can give; without, they have all
they need, and what is left to prove is that no fewer pairs would do."""


def main(arguments: list[str]) -> None:
    """Print one line a size and method, or one measurement as JSON (``--one``)."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench plan")
    parser.add_argument(
        "--sizes",
        default=",".join(f"{size},{size}+" for size in SIZES),
        help="hens x cocks, by commas",
    )
    parser.add_argument("--seeds", type=int, default=3)
    parser.add_argument("--seconds", type=float, default=30.0, help="time limit of one solve")
    parser.add_argument("--methods", default="ours,first,textbook")
    parser.add_argument("--one", help="SIZE:SEED:METHOD, in this process")
    args = parser.parse_args(arguments)
    if args.one:
        size, seed, method = args.one.split(":")
        print(json.dumps(measure(size, int(seed), method, args.seconds)))  # noqa: T201
        return
    for size in args.sizes.split(","):
        report(size, args.methods.split(","), args.seeds, args.seconds)


def measure(size: str, seed: int, method: str, seconds: float) -> dict[str, float]:
    """Measure one solve: "ours" with all stages, "first" the best value only, or "textbook"."""
    hens, cocks = (int(part) for part in size.removesuffix("+").split("x"))
    problem = flock_problem(hens, cocks, seed)
    if size.endswith("+"):
        problem = hungry(problem)
    begun = time.perf_counter()
    if method == "textbook":
        model = textbook(problem)
        build = time.perf_counter() - begun
        value, proved = solve_textbook(model, seconds)
        gap = 0.0 if proved else float("nan")
    else:
        solution = solve_plan(problem, time_limit=seconds, stages=method == "ours")
        build, value = solution.proof.build_seconds, solution.proof.best_value
        gap = solution.proof.gap
    total = time.perf_counter() - begun
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return {"build": build, "solve": total - build, "value": value, "gap": gap, "memory": memory}


def report(size: str, methods: list[str], seeds: int, seconds: float) -> None:
    """Print medians and worst of each method, and how the values compare."""
    found = {
        method: [_in_child(f"{size}:{seed}:{method}", seconds) for seed in range(seeds)]
        for method in methods
    }
    for method, runs in found.items():
        totals = [run["build"] + run["solve"] for run in runs]
        print(  # noqa: T201
            f"{size:>7} {method:>9}  build {statistics.median(r['build'] for r in runs):7.3f} s"
            f"  total median {statistics.median(totals):7.3f} s  worst {max(totals):7.3f} s"
            f"  proved {sum(r['gap'] == 0 for r in runs)} of {len(runs)}{_gap_text(runs)}"
            f"  memory {max(r['memory'] for r in runs):5.0f} MB",
            flush=True,
        )
    if {"first", "textbook"} <= set(found):
        pairs = list(zip(found["first"], found["textbook"], strict=True))
        same = sum(abs(one["value"] - two["value"]) < 1e-4 for one, two in pairs)
        ratios = [(t["build"] + t["solve"]) / (f["build"] + f["solve"]) for f, t in pairs]
        print(  # noqa: T201
            f"{size:>7}   equal values {same} of {len(pairs)};"
            f" textbook takes {statistics.median(ratios):.1f} times as long (median)",
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
