"""Measure responses to losses: ``python -m tests.bench rebalance``.

The peer is the same program given to HiGHS anew for each loss, searched to gap 0 from nothing.
"""

from __future__ import annotations

import argparse
import datetime as dt
import time
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

from matchmaker.plan.searching.solve import solve_plan
from matchmaker.rebalance.diary import Diary, Stay
from matchmaker.rebalance.losses import losses
from matchmaker.rebalance.standing import Standing
from tests.bench.plan import problem_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from matchmaker.plan.arithmetic.result import Solution
    from matchmaker.plan.posing.problem import Candidate, CockLimit, PenKind, PlanProblem

UP = dt.date(2027, 2, 1)
FIRST = UP + dt.timedelta(days=7)
LAST = FIRST + dt.timedelta(days=70)


@dataclass(frozen=True, kw_only=True)
class BenchSeason:
    """A planning problem as a season of 71 days, its pairs in proportion to their days."""

    problem: PlanProblem
    first: dt.date = FIRST
    last: dt.date = LAST

    def pens(self, day: dt.date) -> Mapping[str, tuple[PenKind, dt.date]]:
        return {
            pen: (replace(kind, pens=(pen,), turn=pen), self.last)
            for kind in self.problem.kinds
            for pen in kind.pens
            if day <= self.last
        }

    @cached_property
    def pairs(self) -> Mapping[tuple[str, str], Sequence[Candidate]]:
        found: dict[tuple[str, str], list[Candidate]] = {}
        for one in self.problem.candidates:
            found.setdefault((one.hen, one.cock), []).append(one)
        return found

    def of_birds(self, hen: str, cock: str) -> Sequence[Candidate]:
        return self.pairs.get((hen, cock), ())

    def part(
        self,
        pair: Candidate,
        amount: float,
        *,
        counted: float = 0.0,  # noqa: ARG002  no hen counts for a family only here
        pen: str = "",
        kept: bool = False,
    ) -> Candidate:
        key = (pair.hen, pair.cock, pair.row, amount, pen, kept)
        if key not in self._parts:
            self._parts[key] = self._scaled(pair, amount, pen, kept=kept)
        return self._parts[key]

    @cached_property
    def _parts(self) -> dict[tuple[object, ...], Candidate]:
        return {}

    def _scaled(self, pair: Candidate, amount: float, pen: str, *, kept: bool) -> Candidate:
        part = amount / ((self.last - self.first).days + 1)
        names = ("wanted", "wanted_cocks", "wanted_hens", "sure_cocks", "sure_hens", "chicks")
        scaled = {name: getattr(pair, name) * part for name in (*names, "test_chicks")}
        value = round(pair.value * part, 3)
        return replace(pair, value=value, turn=pen, kept=kept, **scaled)

    def limit(self, cock: str) -> CockLimit:
        return next(one for one in self.problem.cocks if one.cock == cock)


def standing_of(problem: PlanProblem, best: Solution) -> Standing:
    """The pens of a plan on the first day on which eggs are kept."""
    stays = [Stay(bird=pen.cock, pen=pen.pen, first=UP) for pen in best.pens]
    stays += [Stay(bird=pair.hen, pen=pen.pen, first=UP) for pen in best.pens for pair in pen.pairs]
    told = frozenset(pen for kind in problem.kinds if kind.dam_known for pen in kind.pens)
    cocks = frozenset(one.cock for one in problem.cocks)
    return Standing(
        day=FIRST,
        diary=Diary(stays=tuple(stays), cocks=cocks, told_apart=told),
        pen_of={stay.bird: stay.pen for stay in stays},
    )


def main(arguments: list[str]) -> None:
    """Print a line a flock."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench rebalance")
    parser.add_argument("--sizes", default="60x8,60x8+,200x20,200x20+")
    parser.add_argument("--seeds", type=int, default=3)
    parser.add_argument("--peer", type=int, default=1, help="0: without it")
    args = parser.parse_args(arguments)
    for size in args.sizes.split(","):
        for seed in range(args.seeds):
            problem = replace(problem_of(size, seed), group=None)
            report(f"{size} seed {seed}", problem, peer=bool(args.peer))


def report(name: str, problem: PlanProblem, *, peer: bool) -> None:
    """Print the time of the table of losses, and of the peer."""
    best = solve_plan(problem)
    season, standing = BenchSeason(problem=problem), standing_of(problem, best)
    begun = time.perf_counter()
    table = losses(season, standing)
    took = time.perf_counter() - begun
    open_ = max(one.best.bound - one.best.value for one in table if one.best)
    words = f"{name}: {len(table)} cocks in {took:.3f} s, left open {open_:.3f}"
    words += f", largest loss {max(one.loss for one in table):.2f} of {table[0].before:.1f}"
    if peer:
        begun = time.perf_counter()
        for one in table:
            value = solve_plan(one.responder.problem, stages=False).value
            assert one.best is None or one.best.value - 1e-5 < value < one.best.bound + 1e-5
        words += f"; anew {time.perf_counter() - begun:.2f} s"
    print(words, flush=True)  # noqa: T201
