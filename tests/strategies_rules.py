"""The rarer rules of a planning problem, put at random upon a plain one. All data are invented."""

from __future__ import annotations

import random
from dataclasses import replace
from typing import TYPE_CHECKING

from matchmaker.plan.posing.problem import (
    Candidate,
    GroupKinship,
    LineCarriers,
    LineGoal,
    PenKind,
    PlanLimits,
    PlanProblem,
    TestGoal,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

TURNS = (
    (("early",), ("late",)),
    (("early", "whole"), ("late", "whole")),
    (("early", "late"),),
)
MOST_HENS_IN_TURNS = 4
"""A hen in two turns has many more choices to try than one in a single turn."""


def with_rarer_rules(problem: PlanProblem, seed: int, size: int = 1) -> PlanProblem:
    """Return the problem with some of the rarer rules; limits grow with ``size``."""
    rng = random.Random(f"rules {seed}")  # noqa: S311
    problem = _milder(with_figures(problem, rng), rng)
    if rng.random() < 0.4:
        problem = _with_turns(problem, rng, size)
    if rng.random() < 0.4:
        problem = _with_tests(problem, rng)
    if rng.random() < 0.4:
        problem = replace(problem, carriers=tuple(_carriers(problem, rng)))
    if rng.random() < 0.6:
        lines = (_sharper(one, rng) if rng.random() < 0.6 else one for one in problem.lines)
        problem = replace(problem, lines=tuple(lines))
    problem = replace(problem, kinds=tuple(_with_uses(problem, seed)))
    return replace(problem, limits=_limits(problem, rng, size))


def _with_uses(problem: PlanProblem, seed: int) -> Iterator[PenKind]:
    """The pens, some of them kept for some of the rows, now and then for one that is not open."""
    rng = random.Random(f"uses {seed}")  # noqa: S311
    rows = sorted({one.row for one in problem.candidates})
    for kind in problem.kinds:
        kept = tuple(row for row in rows if rng.random() < 0.6) or ("",)
        yield replace(kind, rows=kept) if rng.random() < 0.3 else kind


def _milder(problem: PlanProblem, rng: random.Random) -> PlanProblem:
    """Drop most of the plain minimums and half of the wishes: too many rules leave no plan."""
    return replace(
        problem,
        lines=tuple(
            replace(goal, cocks_min=0, wanted_min=0.0, hens_min=min(1, goal.hens_min))
            if rng.random() < 0.85
            else goal
            for goal in problem.lines
        ),
        demands=tuple(one for one in problem.demands if rng.random() < 0.5),
    )


def with_figures(problem: PlanProblem, rng: random.Random) -> PlanProblem:
    """Return the problem with kinship, chicks, eggs and chicks by sex of every pair."""
    return replace(problem, candidates=tuple(_figured(one, rng) for one in problem.candidates))


def _figured(one: Candidate, rng: random.Random) -> Candidate:
    chicks = round(rng.uniform(2.0, 12.0), 1)
    cocks = round(one.wanted * rng.choice((0.0, 0.5, 0.5, 0.7)), 2)
    return replace(
        one,
        kinship=rng.choice((0.0, 0.03125, 0.0625, 0.1, 0.125, round(rng.uniform(0, 0.2), 4))),
        wanted_cocks=cocks,
        wanted_hens=round(one.wanted - cocks, 2),
        sure_cocks=round(cocks * rng.choice((0.0, 0.5, 1.0)), 2),
        sure_hens=round((one.wanted - cocks) * rng.choice((0.0, 0.5, 1.0)), 2),
        chicks=chicks,
        eggs=round(chicks * rng.uniform(0.2, 0.5), 1),
        dams_known=rng.random() < 0.15,
    )


def _with_turns(problem: PlanProblem, rng: random.Random, size: int) -> PlanProblem:
    """Spread pairs and pens over turns; the same pens serve early and late, others all along."""
    turns = rng.choice(TURNS)
    names = sorted({turn for together in turns for turn in together})
    hens = sorted({one.hen for one in problem.candidates})[: size * MOST_HENS_IN_TURNS]
    candidates = [
        replace(one, turn=turn, value=round(one.value * rng.choice((0.5, 1.0)), 3))
        for one in problem.candidates
        if one.hen in hens
        for turn in rng.sample(names, rng.choice((1, 1, 2)))
    ]
    apart = ("early", "late") not in turns
    kinds = [
        replace(kind, turn=turn)
        for kind in problem.kinds
        for turn in (("early", "late") if apart and rng.random() < 0.7 else (rng.choice(names),))
    ]
    return replace(problem, candidates=tuple(candidates), kinds=tuple(kinds), turns=turns)


def _with_tests(problem: PlanProblem, rng: random.Random) -> PlanProblem:
    """Add pairs that test one or two birds: a cock wherever he stands, a hen where told apart."""
    cocks = sorted(one.cock for one in problem.cocks)
    hens = sorted({one.hen for one in problem.candidates})
    if not hens:
        return problem
    turns = sorted({turn for together in problem.turns for turn in together})
    birds = rng.sample([*cocks, *hens], 1 if rng.random() < 0.6 else 2)
    added = {}
    for bird in birds:
        for mate in rng.sample(hens, min(len(hens), 2)) if bird in cocks else cocks[:2]:
            one = Candidate(
                hen=mate if bird in cocks else bird,
                cock=bird if bird in cocks else mate,
                row=f"test {bird}",
                line="",
                value=0.0,
                wanted=0.0,
                turn=rng.choice(turns),
                kinship=round(rng.uniform(0, 0.25), 4),
                chicks=round(rng.uniform(4.0, 12.0), 1),
                eggs=round(rng.uniform(1.0, 4.0), 1),
                tested=bird,
                test_chicks=round(rng.uniform(0.5, 12.0), 1),
                dams_known=bird not in cocks,
            )
            added[one.key] = one
    return replace(
        problem,
        candidates=(*problem.candidates, *added.values()),
        tests=tuple(TestGoal(bird=bird, pieces=worth_of_chicks(rng)) for bird in birds),
    )


def worth_of_chicks(rng: random.Random) -> tuple[tuple[float, float], ...]:
    """Return worths that grow ever slower to a ceiling, through 0, as (slope, start)."""
    slope = rng.choice((0.2, 0.4, 0.8))
    half, ceiling = rng.choice((0.5, 1.0)), rng.choice((1.5, 2.5))
    return ((slope, 0.0), (slope / 2, half), (0.0, ceiling))


def _carriers(problem: PlanProblem, rng: random.Random) -> Iterator[LineCarriers]:
    birds = sorted({bird for one in problem.candidates for bird in (one.hen, one.cock)})
    for goal in problem.lines:
        if birds and rng.random() < 0.6:
            chosen = rng.sample(birds, min(len(birds), rng.choice((1, 1, 2))))
            yield LineCarriers(line=goal.line, birds=tuple(sorted(chosen)))


def _sharper(goal: LineGoal, rng: random.Random) -> LineGoal:
    """Return the line with a minimum by sex or two, or with a sire share."""
    chosen = rng.sample((0, 1, 2, 3, 4, 4), rng.choice((1, 1, 2)))
    return replace(
        goal,
        wanted_cocks_min=rng.choice((0.5, 1.5)) if 0 in chosen else 0.0,
        wanted_hens_min=rng.choice((0.5, 1.5)) if 1 in chosen else 0.0,
        sure_cocks_min=0.3 if 2 in chosen else 0.0,
        sure_hens_min=0.3 if 3 in chosen else 0.0,
        sire_share_max=rng.choice((0.5, 0.7)) if 4 in chosen else None,
    )


def _limits(problem: PlanProblem, rng: random.Random, size: int) -> PlanLimits:
    def perhaps(*choices: float) -> float | None:
        return rng.choice(choices) if rng.random() < 0.25 else None

    pairs = rng.choice((1, 2, 2, 3)) if problem.candidates and rng.random() < 0.2 else None
    return PlanLimits(
        mean_inbreeding_max=perhaps(0.05, 0.0625, 0.08, 0.1),
        sire_share_max=perhaps(0.5, 0.6, 0.75),
        chicks_max=perhaps(8.0 * size, 15.5 * size, 25.0 * size),
        eggs_max=perhaps(3.0 * size, 5.5 * size, 9.0 * size),
        pairs=None if pairs is None else pairs * size,
    )


def with_group(problem: PlanProblem, seed: int, *, priced: bool) -> PlanProblem:
    """Return the problem with a limit on the kinship of a random pedigree, or a price on it.

    Founders, then birds of two known parents or of one of several; the number of pairs is given.
    """
    rng = random.Random(f"group {seed}")  # noqa: S311
    birds = sorted({bird for one in problem.candidates for bird in (one.hen, one.cock)})
    founders = rng.randint(2, 4)
    parents: list[tuple[tuple[int, float], ...]] = [()] * founders
    within = [0.5] * founders
    for _ in range(rng.randint(0, 3) + len(birds)):
        parents.append(_parents(rng, len(parents)))
        within.append(0.25 if len(parents[-1]) == 2 else 0.375)
    nodes = rng.sample(range(len(parents)), len(birds))
    group = GroupKinship(
        parents=tuple(parents),
        within=tuple(within),
        birds=tuple(zip(birds, nodes, strict=True)),
        limit=None if priced else rng.choice((0.1, 0.15, 0.2, 0.25)),
        price=rng.choice((0.05, 0.2, 1.0)) if priced else None,
    )
    limits = replace(problem.limits, pairs=rng.randint(1, 4))
    return replace(problem, limits=limits, group=group)


def _parents(rng: random.Random, before: int) -> tuple[tuple[int, float], ...]:
    sire, dam, other = (rng.randrange(before) for _ in range(3))
    if sire == dam:
        return ((sire, 0.5),)
    if rng.random() < 0.2 and other not in (sire, dam):
        return ((sire, 0.5), (dam, 0.25), (other, 0.25))
    return ((sire, 0.5), (dam, 0.5))
