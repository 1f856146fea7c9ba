"""The best plan of a problem: solved, settled, read back and checked."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

from matchmaker import tolerance
from matchmaker.errors import NoPlanError, SolverStoppedError
from matchmaker.plan.arithmetic.result import Outcome, Proof, Solution
from matchmaker.plan.arithmetic.verify import WrongPlanError, evaluate, verify
from matchmaker.plan.posing.layout import ProblemError
from matchmaker.plan.program.decode import decode
from matchmaker.plan.program.model import build
from matchmaker.plan.searching.conflict import find_conflict
from matchmaker.plan.searching.search import find_best
from matchmaker.plan.searching.stages import Clock, settle
from matchmaker.plan.solvers.engine import choose_solver, run, solver_version
from matchmaker.plan.solvers.watch import Watch, listening

if TYPE_CHECKING:
    from matchmaker.plan.posing.problem import Candidate, PlanProblem
    from matchmaker.plan.program.model import Model
    from matchmaker.plan.solvers.engine import Run, SolverName


def solve_plan(
    problem: PlanProblem,
    *,
    solver: SolverName | None = None,
    time_limit: float | None = None,
    stages: bool = True,
    watch: Watch | None = None,
) -> Solution:
    """Return the best plan, proved best, the same for the same problem in any order.

    Parameters
    ----------
    problem
        What is allowed, wanted and demanded.
    solver
        "highs" or "cbc"; HiGHS where it is installed unless asked otherwise.
    time_limit
        Seconds from the call after which to stop with the best plan so far (then ``FEASIBLE``, with
        its bound and gap). It is kept to within a fifth, the building of the program apart.
    stages
        Whether to prefer the standing plan and break ties; without, only the value is best.
    watch
        Is told how far the search is and may stop it; the best plan so far is then returned, as
        when time is out. Ctrl-C does the same where nobody else handles it. CBC knows time only.

    Raises
    ------
    NoPlanError
        If no plan satisfies the problem, with the names of what clashes.
    SolverStoppedError
        If time ran out before any plan was found.
    KeyboardInterrupt
        If the search was stopped before any plan was found.
    """
    begun = time.perf_counter()
    name = choose_solver(solver)
    watch = watch or Watch()
    if time_limit is not None:
        watch.until = begun + time_limit
    with listening(watch):
        model = build(problem)
        built = time.perf_counter()
        first = _first(model, name, watch)
        if first.outcome is Outcome.NONE:
            raise NoPlanError(find_conflict(problem, solver=name))
        pens = decode(model)
        best = evaluate(problem, pens).value
        if abs(best - first.value) > tolerance.OBJECTIVE * max(1.0, abs(best)):
            raise WrongPlanError((f"the solver says {first.value}, the plan is worth {best}",))
        if stages and first.outcome is Outcome.OPTIMAL:
            pens = settle(model, best, Clock(name, watch.until, watch=watch))
    score = evaluate(problem, pens)
    solution = Solution(
        outcome=first.outcome,
        pens=pens,
        lines=score.lines,
        value=score.value,
        proof=_proof(first, best, name, (begun, built, watch)),
    )
    verify(problem, solution)
    return solution


def best_value(
    problem: PlanProblem,
    forced: tuple[Candidate, ...] = (),
    *,
    solver: SolverName | None = None,
) -> float | None:
    """Return the best value with these pairs forced into the plan; ``None`` if there is no plan.

    Raises
    ------
    ProblemError
        If a forced pair is not a candidate of the problem.
    """
    model = build(problem)
    columns = dict(zip(model.layout.candidates, model.x, strict=True))
    for pair in forced:
        if pair not in columns:
            msg = f"not a candidate: {pair.hen} with {pair.cock} ({pair.row})"
            raise ProblemError(msg)
        model.program.lower[columns[pair]] = 1
    name = choose_solver(solver)
    end = _first(model, name, Watch())
    if end.outcome is Outcome.NONE:
        return None
    return evaluate(problem, decode(model)).value


def _first(model: Model, solver: SolverName, watch: Watch) -> Run:
    """Find the best value; a search stopped before it has any plan passes the interrupt on."""
    try:
        if solver == "highs":
            return find_best(model, watch)
        return run(model.program, solver, time_limit=watch.left())
    except SolverStoppedError:
        if watch.stopped:
            raise KeyboardInterrupt from None
        raise


def _proof(
    first: Run, best: float, solver: SolverName, course: tuple[float, float, Watch]
) -> Proof:
    """State what the first stage proved: the search's own bound, rounding noise aside.

    ``course`` is when the call began, when the program was built, and the watch.
    """
    bound = best if abs(first.bound - best) < tolerance.OBJECTIVE else max(first.bound, best)
    begun, built, watch = course
    return Proof(
        best_value=best,
        bound=bound,
        gap=(bound - best) / max(1.0, abs(best)),
        solver=solver,
        solver_version=solver_version(solver),
        build_seconds=built - begun,
        solve_seconds=time.perf_counter() - built,
        stopped="" if first.outcome is Outcome.OPTIMAL else watch.stopped_by,
    )
