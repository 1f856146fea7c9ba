"""Measure responses to losses: ``python -m tests.bench rebalance``.

The peer is the same program given to HiGHS anew for each loss, searched to gap 0 from nothing.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from functools import cached_property
from statistics import median
from typing import TYPE_CHECKING, Final

from matchmaker.plan.searching.solve import solve_plan
from matchmaker.rebalance.diary import Diary, Stay
from matchmaker.rebalance.losses import losses
from matchmaker.rebalance.standing import Standing
from tests.bench.flocks import kind_of, size_of
from tests.bench.measuring import DisagreementError, timed
from tests.bench.plan import problem_of
from tests.bench.rows import Row
from tests.bench.running import Bench, Option

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Iterator, Mapping, Sequence

    from matchmaker.plan.arithmetic.result import Solution
    from matchmaker.plan.posing.problem import Candidate, CockLimit, PenKind, PlanProblem
    from matchmaker.rebalance.losses import CockLoss

WITHIN: Final = 1e-5
"""By how much a value may lie outside the bounds of ours, in chicks wanted."""

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


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """The table of losses of one flock: seconds, those of the peer, cocks, what was left open."""

    seconds: float
    anew: float | None
    cocks: int
    left_open: float
    before: float


def rows(chosen: Namespace) -> Iterator[Row]:
    """A row a size, over the flocks."""
    for size in chosen.sizes:
        with_peer = size in chosen.peer
        found = [told(size, seed, peer=with_peer) for seed in range(chosen.seeds)]
        anew = tuple(one.anew for one in found if one.anew is not None)
        yield Row(
            task=f"table of losses{kind_of(size)}",
            size=size_of(size),
            ours=tuple(one.seconds for one in found),
            peer="HiGHS, each anew to gap 0" if anew else "",
            theirs=anew,
            agreement="the peer's values lie between our bounds" if anew else "",
            note=f"{', '.join(str(one.cocks) for one in found)} cocks lost in turn; left open"
            f" {max(one.left_open for one in found):.2g} chicks wanted, of a plan worth"
            f" {median(one.before for one in found):,.0f}",
        )


def told(size: str, seed: int, *, peer: bool) -> Told:
    """The losses of one flock, and the same programs solved anew."""
    problem = replace(problem_of(size, seed), group=None)
    best = solve_plan(problem)
    season, standing = BenchSeason(problem=problem), standing_of(problem, best)
    seconds, table = timed(lambda: losses(season, standing))
    return Told(
        seconds=seconds,
        anew=timed(lambda: _solved_anew(table))[0] if peer else None,
        cocks=len(table),
        left_open=max((one.best.bound - one.best.value for one in table if one.best), default=0.0),
        before=table[0].before,
    )


def _solved_anew(table: Sequence[CockLoss]) -> None:
    """Each problem by itself; its value must lie where ours says it does."""
    for one in table:
        value = solve_plan(one.responder.problem, stages=False).value
        if one.best and not one.best.value - WITHIN < value < one.best.bound + WITHIN:
            raise DisagreementError(f"{value} is not in {one.best.value} to {one.best.bound}")


BENCH: Final = Bench(
    rows=rows,
    options=(
        Option(
            name="sizes",
            help="hens x cocks, + for pens that are short",
            whole=("60x8", "60x8+", "200x20", "200x20+"),
            short=("24x4", "60x8+"),
        ),
        Option(
            name="peer",
            help="sizes for the peer",
            whole=("60x8", "60x8+", "200x20+"),
            short=("24x4", "60x8+"),
            full=("60x8", "60x8+", "200x20", "200x20+"),
        ),
        Option(name="seeds", help="flocks of a size", whole=3, short=1),
    ),
)
