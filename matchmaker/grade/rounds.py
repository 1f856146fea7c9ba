"""Next spring's plan with the young birds in it, and the plans without those it chose first."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from matchmaker.errors import NoPlanError
from matchmaker.plan.pose import pose_problem
from matchmaker.plan.solve import solve_plan

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping

    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.problem import PlanProblem
    from matchmaker.plan.result import Solution

UNPLACED: Final = 99
"""The choice of a bird that no plan takes, as a number after all others."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Round:
    """One plan: its problem, its solution and the young birds in its pens.

    ``minimums`` says that it keeps what the lines ask for at least; where no plan could, they were
    left out.
    """

    problem: PlanProblem
    solution: Solution
    chosen: frozenset[str]
    minimums: bool


def rounds_of(table: PairTable, young: Collection[str], factor: float) -> tuple[Round, ...]:
    """Next spring's plan, then the plan without the young birds in it, and so on.

    Whom the first plan takes is the first choice, whom the second takes stands in for those, and
    so on: as many plans as birds are kept for a place (``factor``, rounded up). Wishes for pens and
    limits or prices on the kinship of the parents as a group are left out of all of them: they
    arrange the pens, and are no reason to keep a bird or not.
    """
    problem = replace(pose_problem(table, fresh=True), demands=(), group=None)
    limits = replace(problem.limits, pairs=None)
    problem, found, gone = replace(problem, limits=limits), [], set[str]()
    for _ in range(max(1, math.ceil(factor))):
        rest = without(problem, gone)
        if not rest.candidates:
            break
        one = _solved(rest, young)
        found.append(one)
        if not one.chosen:
            break
        gone |= one.chosen
    return tuple(found)


def choices(rounds: tuple[Round, ...]) -> Mapping[str, int]:
    """Which plan takes each young bird: 1 for the first; birds in none are not in it."""
    return {band: at for at, one in enumerate(rounds, start=1) for band in sorted(one.chosen)}


def without(problem: PlanProblem, birds: Collection[str]) -> PlanProblem:
    """The problem without the pairs of some birds."""
    left = tuple(
        one for one in problem.candidates if one.hen not in birds and one.cock not in birds
    )
    return replace(problem, candidates=left)


def without_minimums(problem: PlanProblem) -> PlanProblem:
    """The problem with nothing that a line must have at least."""
    return replace(problem, lines=tuple(goal.without_minimums() for goal in problem.lines))


def _solved(problem: PlanProblem, young: Collection[str]) -> Round:
    minimums = True
    try:
        solution = solve_plan(problem)
    except NoPlanError:
        problem, minimums = without_minimums(problem), False
        solution = solve_plan(problem)
    used = {band for pen in solution.pens for pair in pen.pairs for band in (pair.hen, pair.cock)}
    return Round(
        problem=problem,
        solution=solution,
        chosen=frozenset(used & set(young)),
        minimums=minimums,
    )
