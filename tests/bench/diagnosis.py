"""How long it takes to find ways out of invented flocks that have no plan."""

from __future__ import annotations

import random
import time
from dataclasses import replace
from statistics import median

from matchmaker.plan.no_plan.loosened import KINSHIP_MOST, Extra, Kind, Loosenable, Loosening, Need
from matchmaker.plan.no_plan.ways import Way, ways_out
from matchmaker.plan.posing.problem import PairTogether, PenKind, PlanProblem
from tests.bench.flocks import KINSHIP_MAX, flock_problem

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


def timed(flock: Loosenable) -> tuple[float, tuple[Way, ...]]:
    """Return seconds and the ways out."""
    begun = time.perf_counter()
    found = ways_out(flock)
    return time.perf_counter() - begun, found


def main(_arguments: list[str]) -> None:
    """Print a line per size and number of causes; it takes no arguments."""
    for hens, cocks in ((20, 4), (60, 8), (200, 20)):
        for causes in (1, 3):
            runs = [
                timed(without_a_plan(loosenable_flock(hens, cocks, seed), causes))
                for seed in range(5)
            ]
            seconds = [run[0] for run in runs]
            rules = [len(way.loosened) for _, ways in runs for way in ways[:1]]
            print(  # noqa: T201
                f"{hens}x{cocks}, {causes} causes: {median(seconds):.2f} s "
                f"(worst {max(seconds):.2f}), ways {[len(ways) for _, ways in runs]}, "
                f"rules {rules}"
            )
