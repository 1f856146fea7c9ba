"""The best plan that holds one pair, or does without it, and changes as little as it may.

Most pairs that are not in the best plan are in one that is worth as much. So first the plan is
looked for that is worth as much and keeps most pairs; only where there is none the best value with
the pair is searched for (``search``), from plans that follow value and pairs kept together.
"""

from __future__ import annotations

import time
from array import array
from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

from matchmaker import tolerance
from matchmaker.errors import NoPlanError, SolverStoppedError
from matchmaker.plan.arithmetic.result import Outcome, Proof, Solution
from matchmaker.plan.arithmetic.verify import WrongPlanError, evaluate, verify
from matchmaker.plan.each_pair.forced_keep import Keeping, keep_most, keeping_model
from matchmaker.plan.each_pair.forced_pens import pens_for_pair, plan_by_pens
from matchmaker.plan.each_pair.forced_problem import (
    check_one_turn,
    problem_with,
    problem_without,
)
from matchmaker.plan.each_pair.forced_proof import Prover
from matchmaker.plan.each_pair.forced_start import plan_at_last, plan_in_hand
from matchmaker.plan.nearly_best.near_model import as_solved, minds_kinship
from matchmaker.plan.posing.layout import ProblemError
from matchmaker.plan.searching.best import best_plan
from matchmaker.plan.searching.conflict import find_conflict
from matchmaker.plan.searching.search import Search, run_search
from matchmaker.plan.searching.stages import Clock, settle_pens
from matchmaker.plan.searching.task import task_of
from matchmaker.plan.solvers.engine import (
    NO_ANSWER,
    TIME_RAN_OUT,
    choose_solver,
    run,
    solver_version,
)
from matchmaker.plan.solvers.quiet import quiet_stdout
from matchmaker.plan.solvers.watch import Watch, listening

if TYPE_CHECKING:
    from matchmaker.plan.posing.problem import Candidate, PlanProblem
    from matchmaker.plan.program.model import Model
    from matchmaker.plan.program.program import Amounts
    from matchmaker.plan.solvers.engine import SolverName

KEPT: Final = 0.001
"""What a pair kept counts beside the value while a plan to start from is dived for."""


def plan_with(
    problem: PlanProblem,
    best: Solution,
    candidate: Candidate,
    *,
    bound: float | None = None,
    solver: SolverName | None = None,
    watch: Watch | None = None,
) -> Solution:
    """Return the best plan that holds a pair; of equal ones that which keeps most of ``best``.

    Kept are first as many pairs of ``best`` as can be, then as many of its cocks' pens (with over
    ``forced_keep.SEARCHED_PAIRS`` pairs: as many as dives find).

    Parameters
    ----------
    problem
        The problem, of which ``candidate`` is a candidate.
    best
        Its best plan, or that of the same problem without this candidate.
    candidate
        The pair to be held, in its row and turn.
    bound
        What no plan of ``problem`` is worth more than, in wanted chicks, where that is known:
        ``best.proof.bound`` if the candidate was one when ``best`` was solved. It spares the
        proof that the pair costs nothing.
    solver
        "highs" or "cbc"; HiGHS where it is installed unless asked otherwise.
    watch
        May end the search with the best plan so far (then ``FEASIBLE``).

    With a limit or a price on the kinship of the group of parents the plan is the best with the
    pair and as many pairs as ``problem.limits.pairs`` asks for, or ``best`` has; what it keeps of
    ``best`` is then left to chance.

    Raises
    ------
    ProblemError
        If the pair is not a candidate of the problem.
    NoPlanError
        If no plan holds the pair, with the names of the wishes and rules that clash.
    SeveralTurnsError
        If the kinship of the group counts and the pair is open in several turns.
    SolverStoppedError
        If the watch ended the search before there was a plan.
    """
    _check(problem, candidate)
    if minds_kinship(problem):
        check_one_turn(problem, candidate)
        return _with_kinship(problem_with(problem, candidate), best, watch)
    forced = _Forced(problem, best, candidate, held=True, solver=choose_solver(solver))
    return _solve(forced, bound, watch or Watch())


def plan_without(
    problem: PlanProblem,
    best: Solution,
    candidate: Candidate,
    *,
    solver: SolverName | None = None,
    watch: Watch | None = None,
) -> Solution:
    """Return the best plan without a pair; of equal ones that which keeps most of ``best``.

    As ``plan_with``; ``best`` must be the best plan of ``problem``.
    """
    _check(problem, candidate)
    if minds_kinship(problem):
        return _with_kinship(problem_without(problem, candidate), best, watch)
    forced = _Forced(problem, best, candidate, held=False, solver=choose_solver(solver))
    return _solve(forced, best.proof.bound, watch or Watch())


def _check(problem: PlanProblem, candidate: Candidate) -> None:
    if candidate not in problem.candidates:
        msg = f"not a candidate: {candidate.hen} with {candidate.cock} ({candidate.row})"
        raise ProblemError(msg)


class _Forced:
    """A problem with one pair held or banned, and the best plan without that."""

    __slots__ = ("begun", "best", "candidate", "held", "problem", "solver")

    def __init__(
        self,
        problem: PlanProblem,
        best: Solution,
        candidate: Candidate,
        *,
        held: bool,
        solver: SolverName,
    ) -> None:
        self.problem, self.best, self.candidate = problem, best, candidate
        self.held, self.solver = held, solver
        self.begun = time.perf_counter()

    def model(self) -> Model:
        return keeping_model(self.problem, self.best, self.candidate, held=self.held)

    @property
    def as_it_is(self) -> bool:
        """Whether the best plan itself holds, or bans, the pair."""
        taken = any(self.candidate in pen.pairs for pen in self.best.pens)
        return taken == self.held

    def conflict(self) -> tuple[str, ...]:
        """Names of what clashes with the pair."""
        forcing = problem_with if self.held else problem_without
        return find_conflict(forcing(self.problem, self.candidate), solver=self.solver)


def _solve(forced: _Forced, bound: float | None, watch: Watch) -> Solution:
    keeping = Keeping(
        best=forced.best, candidate=forced.candidate, solver=forced.solver, watch=watch
    )
    with listening(watch):
        least = forced.best.proof.best_value
        known = bound is not None and bound <= least + tolerance.OBJECTIVE
        if forced.as_it_is and known and _is_worth(forced.best, least):
            return forced.best
        spare, value = None, -np.inf
        if forced.held and forced.solver == "highs":
            spare, value = plan_in_hand(forced.model(), forced.best, forced.candidate)
        model = forced.model()
        start = spare if value >= least - tolerance.OBJECTIVE / 2 else None
        if known and keep_most(model, replace(keeping, search=False), least, start=start):
            return _solution(forced, model, (Outcome.OPTIMAL, least, least), watch)
        proved, start = _best_value(forced, keeping, bound if known else None, spare)
        model = forced.model()
        if not keep_most(model, keeping, proved[1], start=start):
            raise SolverStoppedError(TIME_RAN_OUT if watch.over else NO_ANSWER)
        return _solution(forced, model, proved, watch)


def _is_worth(solution: Solution, value: float) -> bool:
    """Whether the pens printed are worth so much: a plan may have kept standing pairs instead."""
    return abs(solution.value - value) <= tolerance.OBJECTIVE


def _best_value(
    forced: _Forced, keeping: Keeping, bound: float | None, spare: Amounts | None
) -> tuple[tuple[Outcome, float, float], Amounts | None]:
    """Return how the search for the best value ended, that value, the bound on it, the plan."""
    model, watch = forced.model(), keeping.watch
    if forced.solver != "highs":
        end = run(model.program, forced.solver, time_limit=watch.left())
        if end.outcome is Outcome.NONE:
            raise NoPlanError(forced.conflict())
        return (end.outcome, end.value, end.bound), model.program.values
    with quiet_stdout():
        now = Search(task_of(model), watch)
        if bound is not None:
            now.tighten(bound)
        now.take(_near(now, model, forced.best, forced.candidate))
        if bound is not None and not now.done and not now.relaxed.live.impossible:
            now.take(_worth_as_much(forced, keeping, model.program.width))
        possible = run_search(now) if now.best is None else _prove(now)
        if possible and not now.settled:
            _fall_back(now, forced, model, spare)
    if not possible:
        raise NoPlanError(forced.conflict())
    if now.best is None:
        raise SolverStoppedError(TIME_RAN_OUT if watch.over else NO_ANSWER)
    outcome = Outcome.OPTIMAL if now.settled else Outcome.FEASIBLE
    return (outcome, now.value, max(now.value, now.bound)), now.best


def _fall_back(now: Search, forced: _Forced, model: Model, spare: Amounts | None) -> None:
    """Take the plan that was at hand before the search, or one that little more time finds."""
    now.take(spare)
    if now.best is None:
        now.take(plan_at_last(now, model, forced.best, forced.candidate))


def _prove(now: Search) -> bool:
    """Prove that no plan is better than the one in hand, or find the one that is."""

    def take(found: Amounts) -> float:
        now.take(found)
        return now.value

    if not now.settled:
        now.tighten(Prover(now.relaxed, now.watch, take).bound_above(now.value))
    return True


def _worth_as_much(forced: _Forced, keeping: Keeping, width: int) -> Amounts | None:
    """Search for a plan worth as much as the best that keeps much of it.

    The kept pairs guide it where the value is flat. That none is found proves nothing.
    """
    model = forced.model()
    keep_most(model, keeping, keeping.best.proof.best_value)
    values = model.program.values
    return None if values is None else values[:width]


def _near(now: Search, model: Model, best: Solution, candidate: Candidate) -> Amounts | None:
    """Dive for a plan by its value and by the pairs it keeps: the value alone is often flat."""
    now.relaxed.solve()
    live, program = now.relaxed.live, model.program
    if not live.solved or now.watch.over:
        return None
    taken = {pair.key for pen in best.pens for pair in pen.pairs}
    kept = [at for at, one in enumerate(model.layout.candidates) if one.key in taken]
    cost = array("d", program.cost)
    model.maximise(model.value | model.taken(kept, KEPT))
    live.aim(np.array(program.cost))
    live.solve(primal=True)
    found = None
    if live.solved:
        changes = pens_for_pair(model, best.pens, candidate)
        found = plan_by_pens(now.task, live, changes, now.watch)
    program.cost = cost
    live.aim(np.array(cost))
    return found


def _solution(
    forced: _Forced, model: Model, proved: tuple[Outcome, float, float], watch: Watch
) -> Solution:
    """Read the plan in the program back, label its pens, and check it."""
    outcome, least, bound = proved
    built = time.perf_counter()
    pens = settle_pens(model, Clock(forced.solver, watch.until, watch=watch))
    score = evaluate(forced.problem, pens)
    if score.value < least - tolerance.OBJECTIVE:
        raise WrongPlanError((f"the solver says {least}, the plan is worth {score.value}",))
    value = max(least, score.value)
    bound = value if outcome is Outcome.OPTIMAL else max(bound, value)
    solution = Solution(
        outcome=outcome,
        pens=pens,
        lines=score.lines,
        value=score.value,
        proof=Proof(
            best_value=value,
            bound=bound,
            gap=(bound - value) / max(1.0, abs(value)),
            solver=forced.solver,
            solver_version=solver_version(forced.solver),
            build_seconds=0.0,
            solve_seconds=built - forced.begun,
            stopped="" if outcome is Outcome.OPTIMAL else watch.stopped_by,
        ),
    )
    verify(forced.problem, solution)
    _hold_to_it(forced, solution)
    return solution


def _hold_to_it(forced: _Forced, solution: Solution) -> None:
    """Check that the pair is in the plan, or not."""
    if any(forced.candidate in pen.pairs for pen in solution.pens) != forced.held:
        one = forced.candidate
        raise WrongPlanError((f"{one.hen} with {one.cock}: not as it was forced",))


def _with_kinship(problem: PlanProblem, best: Solution, watch: Watch | None) -> Solution:
    """Solve a changed problem in which the kinship of the group counts."""
    problem = as_solved(problem, best)
    solution = best_plan(problem, watch=watch)
    verify(problem, solution)
    return solution
