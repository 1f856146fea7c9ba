"""Measure price, limit and frontier of group kinship: ``python -m tests.bench frontier``."""

from __future__ import annotations

import argparse
import time
from dataclasses import replace

from matchmaker.plan.searching.frontier import frontier
from matchmaker.plan.searching.kinship_plan import KinshipSolver, with_pairs_fixed
from tests.bench.kin_flocks import kin_problem


def main(arguments: list[str]) -> None:
    """Print seconds and gaps, one line a size and seed."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench frontier")
    parser.add_argument("--sizes", default="60x8", help="hens x cocks, by commas")
    parser.add_argument("--seeds", type=int, default=3)
    parser.add_argument("--points", type=int, default=11)
    parser.add_argument("--price", type=float, default=2.0, help="wanted chicks for 0.01")
    args = parser.parse_args(arguments)
    for size in args.sizes.split(","):
        for seed in range(args.seeds):
            measure(size, seed, args.points, args.price)


def measure(size: str, seed: int, points: int, price: float) -> None:
    """Each solve starts from nothing, as a keeper's would."""
    hens, cocks = (int(part) for part in size.split("x"))
    problem = kin_problem(hens, cocks, seed)
    group = problem.group
    assert group is not None
    fixed = with_pairs_fixed(replace(problem, group=None))
    begun = time.perf_counter()
    priced = KinshipSolver(fixed, group).best(price)
    for_price = time.perf_counter()
    limit = (priced.kinship + KinshipSolver(fixed, group).least().kinship) / 2
    halfway = time.perf_counter()
    limited = KinshipSolver(fixed, group).best(limit=limit)
    for_limit = time.perf_counter()
    found = frontier(problem, points=points)
    worst = max(point.gap for point in found.points)
    print(  # noqa: T201
        f"{size:>7} seed {seed}: price {for_price - begun:.2f} s (gap {priced.gap:.4f}), least"
        f" {halfway - for_price:.2f} s, limit {for_limit - halfway:.2f} s (gap"
        f" {limited.gap:.4f}), frontier of {len(found.points)} {found.seconds:.1f} s"
        f" (gap {worst:.4f})",
        flush=True,
    )
