"""Next spring's plan with the young birds in it, and the plans without those it chose first."""

from __future__ import annotations

import contextlib
import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final, TypeAlias

from matchmaker.errors import NoPlanError, SolverStoppedError
from matchmaker.plan.posing.pose import pose_problem
from matchmaker.plan.searching.solve import solve_plan
from matchmaker.rebalance.loosening import without_minimums
from matchmaker.rebalance.losses import NODES, closeness
from matchmaker.rebalance.responding import Responder

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping

    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.arithmetic.result import LineTotal, PlannedPen
    from matchmaker.plan.posing.problem import PlanProblem

UNPLACED: Final = 99
"""The choice of a bird that no plan takes, as a number after all others."""


Found: TypeAlias = "tuple[tuple[PlannedPen, ...], tuple[LineTotal, ...], float, float]"
"""Pens, lines, value and bound of a plan."""

SEARCHED_PAIRS: Final = 1000
"""Up to so many pairs every plan is proved best; beyond, the proof takes long: sisters and brothers
that hatched together are alike in all, and a search has to tell all their plans apart."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Round:
    """One plan: its problem, its pens and the young birds in them.

    ``value`` is that of the best plan found, ``bound`` what none exceeds: the two are the same but
    for large flocks, where they may lie a little apart.
    ``minimums`` says that it keeps what the lines ask for at least; where no plan could, they were
    left out.
    """

    problem: PlanProblem
    pens: tuple[PlannedPen, ...]
    lines: tuple[LineTotal, ...]
    value: float
    bound: float
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
    problem, gone = replace(problem, limits=limits), set[str]()
    found: list[Round] = []
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


def _solved(problem: PlanProblem, young: Collection[str]) -> Round:
    minimums = True
    try:
        found = _best(problem)
    except NoPlanError:
        problem, minimums = without_minimums(problem), False
        found = _best(problem)
    pens, lines, value, bound = found
    used = {band for pen in pens for pair in pen.pairs for band in (pair.hen, pair.cock)}
    return Round(
        problem=problem,
        pens=pens,
        lines=lines,
        value=value,
        bound=bound,
        chosen=frozenset(used & set(young)),
        minimums=minimums,
    )


def _best(problem: PlanProblem) -> Found:
    """The best plan; that of a large flock only to what a loss is worked out to.

    Raises
    ------
    NoPlanError
        If there is none.
    """
    if len(problem.candidates) > SEARCHED_PAIRS:
        with contextlib.suppress(SolverStoppedError):
            close = closeness(sum(goal.importance * goal.chicks_wanted for goal in problem.lines))
            answer = Responder(problem).best(close=close, nodes=NODES)
            if answer is None:
                raise NoPlanError(())
            return answer.pens, answer.lines, answer.value, answer.bound
    solution = solve_plan(problem)
    proof = solution.proof
    return solution.pens, solution.lines, proof.best_value, proof.bound
