"""The best plan of a problem a little changed, from the plan that was the best before.

That plan mostly still is: then the proof that none is better takes a few relaxed programs, and no
plan has to be found at all.
"""

from __future__ import annotations

import time
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from matchmaker import tolerance
from matchmaker.plan.arithmetic.result import Outcome, Proof, Solution
from matchmaker.plan.arithmetic.verify import evaluate
from matchmaker.plan.each_pair.forced_proof import Prover
from matchmaker.plan.nearly_best.near_model import minds_kinship, net_value
from matchmaker.plan.program.decode import decode
from matchmaker.plan.program.model import build
from matchmaker.plan.searching.best import best_plan
from matchmaker.plan.searching.pricing import Relaxed
from matchmaker.plan.searching.task import task_of
from matchmaker.plan.solvers.engine import choose_solver, solver_version
from matchmaker.plan.solvers.quiet import quiet_stdout
from matchmaker.plan.solvers.watch import Watch

if TYPE_CHECKING:
    from matchmaker.plan.arithmetic.result import PlannedPen
    from matchmaker.plan.posing.problem import PlanProblem
    from matchmaker.plan.program.program import Amounts


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """A plan, its worth, and what no plan is worth more than, in wanted chicks.

    The worth is the value, less the price of the parents' kinship where there is one.
    """

    pens: tuple[PlannedPen, ...]
    value: float
    bound: float

    @property
    def proved(self) -> bool:
        """Whether no plan is better."""
        return self.bound <= self.value + tolerance.OBJECTIVE


def as_known(problem: PlanProblem, solution: Solution) -> Known:
    """A solution as what is known by it."""
    priced = minds_kinship(problem)
    value = net_value(problem, solution.pens) if priced else solution.proof.best_value
    open_ = max(0.0, solution.proof.bound - solution.proof.best_value)
    return Known(pens=solution.pens, value=value, bound=value + open_)


def fitted(problem: PlanProblem, pens: tuple[PlannedPen, ...]) -> Known | None:
    """The same pairs in the same pens under another problem; ``None`` where that breaks a rule."""
    by_key = {one.key: one for one in problem.candidates}
    if not all(pair.key in by_key for pen in pens for pair in pen.pairs):
        return None
    fit = tuple(replace(pen, pairs=tuple(by_key[pair.key] for pair in pen.pairs)) for pen in pens)
    score = evaluate(problem, fit)
    return None if score.broken else Known(pens=fit, value=score.value, bound=float("inf"))


def what_is_left(problem: PlanProblem, pens: tuple[PlannedPen, ...]) -> tuple[PlannedPen, ...]:
    """The pens with those of their pairs that a problem still has."""
    keys = {one.key for one in problem.candidates}
    left = (
        replace(pen, pairs=tuple(pair for pair in pen.pairs if pair.key in keys)) for pen in pens
    )
    return tuple(pen for pen in left if pen.pairs)


def best_from(
    problem: PlanProblem, pens: tuple[PlannedPen, ...], *, watch: Watch | None = None
) -> Solution:
    """Return the best plan, starting from one that may still be it; of equal ones any.

    Where the watch ends it, the best plan known by then, ``FEASIBLE`` with its bound.

    Raises
    ------
    NoPlanError
        If no plan satisfies the problem.
    SolverStoppedError
        If the watch ended the search before there was a plan.
    """
    in_hand = fitted(problem, pens) or fitted(problem, what_is_left(problem, pens))
    watch = watch or Watch()
    if in_hand is None or minds_kinship(problem) or choose_solver(None) != "highs":
        return best_plan(problem, stages=False, watch=watch)
    begun = time.perf_counter()
    model = build(problem)
    built = time.perf_counter()
    best = in_hand

    def take(values: Amounts) -> float:
        nonlocal best
        model.program.values = values
        found = decode(model)
        value = evaluate(problem, found).value
        if value > best.value:
            best = Known(pens=found, value=value, bound=float("inf"))
        return value

    with quiet_stdout():
        bound = Prover(Relaxed(task_of(model)), watch, take).bound_above(in_hand.value)
    known = replace(best, bound=bound if bound > best.value + tolerance.OBJECTIVE else best.value)
    return _solution(problem, known, watch, (built - begun, time.perf_counter() - built))


def _solution(
    problem: PlanProblem, known: Known, watch: Watch, seconds: tuple[float, float]
) -> Solution:
    """What is known as a solution; ``seconds`` are those of building and of solving."""
    gap = (known.bound - known.value) / max(1.0, abs(known.value))
    return Solution(
        outcome=Outcome.OPTIMAL if known.proved else Outcome.FEASIBLE,
        pens=known.pens,
        lines=evaluate(problem, known.pens).lines,
        value=known.value,
        proof=Proof(
            best_value=known.value,
            bound=known.bound,
            gap=gap,
            solver="highs",
            solver_version=solver_version("highs"),
            build_seconds=seconds[0],
            solve_seconds=seconds[1],
            stopped="" if known.proved else watch.stopped_by,
        ),
    )
