"""Measure ways out of invented flocks that have no plan: ``python -m tests.bench diagnosis``."""

from __future__ import annotations

import random
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Final

from matchmaker.plan.no_plan.loosened import KINSHIP_MOST, Extra, Kind, Loosenable, Loosening, Need
from matchmaker.plan.no_plan.ways import ways_out
from matchmaker.plan.posing.problem import PairTogether, PenKind, PlanProblem
from tests.bench.flocks import KINSHIP_MAX, flock_problem, hens_and_cocks, size_of
from tests.bench.measuring import timed
from tests.bench.rows import Row
from tests.bench.running import Bench, Option

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Iterator

REJECTED = 0.35
"""Part of a flock's pairs that are taken to be too related."""


def loosenable_flock(hens: int, cocks: int, seed: int) -> Loosenable:
    """Return a flock of which about a third of the pairs are too related, and a pen to spare."""
    rng = random.Random(seed)  # noqa: S311
    problem = flock_problem(hens, cocks, seed)
    caps = {
        goal.line: Loosening(
            kind=Kind.KINSHIP, subject=goal.line, now=KINSHIP_MAX, most=KINSHIP_MOST
        )
        for goal in problem.lines
    }
    everywhere = Loosening(kind=Kind.KINSHIP, now=KINSHIP_MAX, most=KINSHIP_MOST)
    allowed, extras = [], []
    for one in problem.candidates:
        if rng.random() < REJECTED:
            kinship = rng.randint(126, 250) / 1000
            either = tuple(Need(rule=rule, to=kinship) for rule in (caps[one.line], everywhere))
            extras.append(Extra(candidate=replace(one, kinship=kinship), needs=(either,)))
        else:
            allowed.append(one)
    spare = PenKind(pens=("new",), hens_max=8, hens_min=1, line="", dam_known=False)
    return Loosenable(
        problem=replace(problem, candidates=tuple(allowed)), extras=tuple(extras), pens=(spare,)
    )


def without_a_plan(flock: Loosenable, causes: int) -> Loosenable:
    """Return the flock with one cause, or with three that hang together, for having no plan."""
    problem = flock.problem
    lines = {goal.line: goal for goal in problem.lines}
    hens = _hens_of(problem, "Cedar")
    lines["Cedar"] = replace(lines["Cedar"], hens_min=len(hens) + 2)
    if causes == 1:
        return replace(flock, problem=replace(problem, lines=tuple(lines.values())))
    cock = problem.cocks[0]
    wished = sorted({one.hen for one in problem.candidates if one.cock == cock.cock})
    limits = [replace(one, hens_max=3) if one is cock else one for one in problem.cocks]
    kinds = [replace(kind, hens_min=max(kind.hens_min, 7)) for kind in problem.kinds]
    lines["Alder"] = replace(lines["Alder"], cocks_min=len(problem.cocks) - 1)
    demands = [
        PairTogether(name=f"wish {hen}", hen=hen, cock=cock.cock) for hen in wished[: causes + 1]
    ]
    tangled = replace(
        problem,
        lines=tuple(lines.values()),
        cocks=tuple(limits),
        kinds=tuple(kinds),
        demands=tuple(demands),
    )
    return replace(flock, problem=tangled)


def _hens_of(problem: PlanProblem, line: str) -> set[str]:
    return {one.hen for one in problem.candidates if one.line == line}


def rows(chosen: Namespace) -> Iterator[Row]:
    """A row a size and number of causes, and how many ways out were found."""
    for size in chosen.sizes:
        hens, cocks = hens_and_cocks(size)
        for causes in (1, 3):
            flocks = (
                without_a_plan(loosenable_flock(hens, cocks, seed), causes)
                for seed in range(chosen.seeds)
            )
            runs = [timed(partial(ways_out, flock)) for flock in flocks]
            found = [len(ways) for _, ways in runs]
            rules = [len(way.loosened) for _, ways in runs for way in ways[:1]]
            yield Row(
                task="ways out, one cause" if causes == 1 else f"ways out, {causes} causes",
                size=size_of(size),
                ours=tuple(seconds for seconds, _ in runs),
                note=f"ways {_told(found)}; rules changed by the first {_told(rules)}",
            )


def _told(numbers: list[int]) -> str:
    return ", ".join(map(str, numbers)) or "none"


BENCH: Final = Bench(
    rows=rows,
    options=(
        Option(
            name="sizes",
            help="hens x cocks",
            whole=("20x4", "60x8", "200x20"),
            short=("20x4", "60x8"),
        ),
        Option(name="seeds", help="flocks of a size", whole=5, short=1),
    ),
)
