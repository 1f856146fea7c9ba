"""Random small planning problems with every kind of rule, by seed or through hypothesis.

Two in five are plain; the others have turns, tests, carriers, limits and minimums by sex in all
mixtures. All data are invented.
"""

from __future__ import annotations

import random
from dataclasses import replace
from typing import TYPE_CHECKING

from hypothesis import strategies as st

from matchmaker.errors import NoPlanError
from matchmaker.plan.posing.problem import (
    BirdInPen,
    BirdNotInPen,
    BirdUsed,
    Candidate,
    CockLimit,
    HensApart,
    HensTogether,
    LineGoal,
    PairTogether,
    PenKind,
    PlanProblem,
)
from matchmaker.plan.searching.solve import solve_plan
from tests.strategies_rules import with_rarer_rules

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from matchmaker.plan.arithmetic.result import Solution
    from matchmaker.plan.posing.problem import Demand

LINES = ("Alder", "Birch")
ROWS = (("back", "Alder"), ("cross", "Birch"), ("hold", "Birch"))


def problem_by_seed(seed: int) -> PlanProblem:
    """Return a problem of at most 6 hens, 3 cocks and 4 pens, with or without the rarer rules."""
    problem = plain_problem_by_seed(seed)
    return problem if seed % 5 in (0, 3) else with_rarer_rules(problem, seed)


def solved_problems(
    seeds: Iterable[int], problem_of: Callable[[int], PlanProblem] | None = None
) -> Iterator[tuple[int, PlanProblem, Solution]]:
    """Those of the seeds' problems that have a plan, each with its best."""
    for seed in seeds:
        problem = (problem_of or problem_by_seed)(seed)
        try:
            yield seed, problem, solve_plan(problem)
        except NoPlanError:
            continue


def plain_problem_by_seed(seed: int) -> PlanProblem:
    """Return a problem with pens, lines and wishes only."""
    rng = random.Random(seed)  # noqa: S311
    hens = [f"H{place}" for place in range(rng.randint(2, 6))]
    cocks = [f"C{place}" for place in range(rng.randint(1, 3))]
    kinds = _kinds(rng)
    pens = [pen for kind in kinds for pen in kind.pens]
    return PlanProblem(
        candidates=tuple(_candidates(rng, hens, cocks)),
        kinds=kinds,
        cocks=tuple(
            CockLimit(cock=cock, hens_max=rng.randint(1, 5), pens_max=rng.choice((1, 1, 2)))
            for cock in cocks
        ),
        lines=tuple(_goal(rng, line) for line in LINES),
        demands=tuple(
            _demand(rng, f"wish {place}", hens, cocks, pens)
            for place in range(rng.choice((0, 0, 0, 1, 1, 2)))
        ),
        standing_pens=((rng.choice(pens), rng.choice(cocks)),) if pens else (),
    )


def _candidates(rng: random.Random, hens: list[str], cocks: list[str]) -> list[Candidate]:
    chance = 0.7 if len(hens) * len(cocks) <= 9 else 0.45
    return [
        Candidate(
            hen=hen,
            cock=cock,
            row=row,
            line=line,
            value=rng.choice((0.02, 1.0, 2.0, round(rng.uniform(0.0, 6.0), 3))),
            wanted=round(rng.uniform(0.5, 6.0), 2),
            kept=rng.random() < 0.2,
        )
        for hen in hens
        for cock in cocks
        for row, line in rng.sample(ROWS, rng.choice((1, 1, 2)))
        if rng.random() < chance
    ]


def _kinds(rng: random.Random) -> tuple[PenKind, ...]:
    kinds = []
    label = 1
    for _ in range(rng.randint(1, 2)):
        count = rng.randint(1, 2)
        kinds.append(
            PenKind(
                pens=tuple(f"Pen {number}" for number in range(label, label + count)),
                hens_max=rng.randint(1, 3),
                hens_min=rng.randint(0, 2),
                line=rng.choice(("", "", *LINES)),
                dam_known=rng.random() < 0.5,
            )
        )
        label += count
    return tuple(kinds)


def _goal(rng: random.Random, line: str) -> LineGoal:
    return LineGoal(
        line=line,
        importance=rng.choice((0.5, 1.0, 2.0)),
        chicks_wanted=rng.choice((1.0, 2.5, 4.0, 8.0)),
        cocks_min=rng.choice((0, 0, 0, 0, 0, 1, 2)),
        hens_min=rng.choice((0, 0, 0, 0, 1, 2)),
        wanted_min=rng.choice((0.0, 0.0, 0.0, 0.0, 3.0)),
    )


def _demand(
    rng: random.Random, name: str, hens: list[str], cocks: list[str], pens: list[str]
) -> Demand:
    hen, cock, pen = rng.choice(hens), rng.choice(cocks), rng.choice(pens)
    first, second = rng.sample(hens, 2)
    return rng.choice(
        (
            PairTogether(name=name, hen=hen, cock=cock),
            BirdInPen(name=name, bird=rng.choice((hen, cock)), pen=pen),
            BirdNotInPen(name=name, bird=rng.choice((hen, cock)), pen=pen),
            HensTogether(name=name, first=first, second=second),
            HensTogether(name=name, first=first, second=second),
            HensApart(name=name, first=first, second=second),
            BirdUsed(name=name, bird=rng.choice((hen, cock))),
        )
    )


def larger_problem_by_seed(seed: int) -> PlanProblem:
    """Return a problem of 15 to 40 hens and 3 to 8 cocks, more often small than large."""
    rng = random.Random(f"larger {seed}")  # noqa: S311
    hens = [f"H{place:02d}" for place in range(round(rng.triangular(15, 40, 15)))]
    cocks = [f"C{place}" for place in range(round(rng.triangular(3, 8, 3)))]
    pens = [f"Pen {place}" for place in range(1, len(cocks) + rng.randint(0, 2))]
    kinds = tuple(
        PenKind(
            pens=tuple(pens[start : start + 2]),
            hens_max=rng.randint(3, 8),
            hens_min=rng.choice((0, 1, 2)),
            line=rng.choice(("", "", "", *LINES)),
            dam_known=rng.random() < 0.4,
        )
        for start in range(0, len(pens), 2)
    )
    problem = PlanProblem(
        candidates=tuple(one for one in _candidates(rng, hens, cocks) if rng.random() < 0.7),
        kinds=kinds,
        cocks=tuple(
            CockLimit(cock=cock, hens_max=rng.randint(3, 9), pens_max=rng.choice((1, 1, 1, 2)))
            for cock in cocks
        ),
        lines=tuple(
            replace(
                _goal(rng, line),
                chicks_wanted=rng.choice((6.0, 15.0, 40.0)),
                wanted_min=rng.choice((0.0, 0.0, 8.0)),
            )
            for line in LINES
        ),
        demands=tuple(
            _demand(rng, f"wish {place}", hens, cocks, pens)
            for place in range(rng.choice((0, 1, 2, 3)))
        ),
    )
    return with_rarer_rules(problem, seed, size=6)


def plan_problems() -> st.SearchStrategy[PlanProblem]:
    """Return random problems; a seed is what shrinks."""
    return st.integers(0, 10**6).map(problem_by_seed)
