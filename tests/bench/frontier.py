"""Measure price, limit and frontier of group kinship: ``python -m tests.bench frontier``."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from matchmaker.plan.searching.frontier import frontier
from matchmaker.plan.searching.kinship_plan import KinshipSolver, with_pairs_fixed
from tests.bench.flocks import hens_and_cocks, size_of
from tests.bench.kin_flocks import kin_problem
from tests.bench.measuring import timed
from tests.bench.rows import Row
from tests.bench.running import Bench, Option

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Iterator


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """One task on one flock: its seconds, and the gap that was left."""

    task: str
    seconds: float
    gap: float | None = None


def rows(chosen: Namespace) -> Iterator[Row]:
    """A row a size and task, over the flocks."""
    for size in chosen.sizes:
        flocks = [
            list(measured(size, seed, chosen.points, chosen.price)) for seed in range(chosen.seeds)
        ]
        for of_task in zip(*flocks, strict=True):
            gaps = [one.gap for one in of_task if one.gap is not None]
            yield Row(
                task=of_task[0].task,
                size=size_of(size),
                ours=tuple(one.seconds for one in of_task),
                note=f"gap left {max(gaps):.0e}" if any(gaps) else "proved" if gaps else "",
            )


def measured(size: str, seed: int, points: int, price: float) -> Iterator[Measured]:
    """Each solve starts from nothing, as a keeper's would."""
    problem = kin_problem(*hens_and_cocks(size), seed)
    group = problem.group
    assert group is not None
    fixed = with_pairs_fixed(replace(problem, group=None))
    seconds, priced = timed(lambda: KinshipSolver(fixed, group).best(price))
    yield Measured(task="price of kinship", seconds=seconds, gap=priced.gap)
    seconds, lowest = timed(lambda: KinshipSolver(fixed, group).least().kinship)
    yield Measured(task="least kinship", seconds=seconds)
    limit = (priced.kinship + lowest) / 2
    seconds, limited = timed(lambda: KinshipSolver(fixed, group).best(limit=limit))
    yield Measured(task="limit half way", seconds=seconds, gap=limited.gap)
    seconds, found = timed(lambda: frontier(problem, points=points))
    worst = max(point.gap for point in found.points)
    yield Measured(task=f"frontier of {points} plans", seconds=seconds, gap=worst)


BENCH: Final = Bench(
    rows=rows,
    options=(
        Option(name="sizes", help="hens x cocks", whole=("60x8",), short=("24x4",)),
        Option(name="seeds", help="flocks of a size", whole=2, short=1, full=3),
        Option(name="points", help="plans of the frontier", whole=11, short=5),
        Option(name="price", help="wanted chicks for 0.01", whole=2.0),
    ),
)
