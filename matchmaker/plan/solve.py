"""The best plan of a problem: solved, settled, read back and checked."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

from matchmaker import tolerance
from matchmaker.errors import NoPlanError
from matchmaker.plan.conflict import find_conflict
from matchmaker.plan.decode import decode
from matchmaker.plan.dive import plan_to_start_from
from matchmaker.plan.engine import choose_solver, run, solver_version
from matchmaker.plan.layout import ProblemError
from matchmaker.plan.model import build
from matchmaker.plan.result import Outcome, Proof, Solution
from matchmaker.plan.stages import Clock, settle
from matchmaker.plan.verify import WrongPlanError, evaluate, verify

if TYPE_CHECKING:
    from matchmaker.plan.engine import Run, SolverName
    from matchmaker.plan.model import Model
    from matchmaker.plan.problem import Candidate, PlanProblem
    from matchmaker.plan.program import Amounts


def solve_plan(
    problem: PlanProblem,
    *,
    solver: SolverName | None = None,
    time_limit: float | None = None,
    stages: bool = True,
) -> Solution:
    """Return the best plan, proved best, the same for the same problem in any order.

    Parameters
    ----------
    problem
        What is allowed, wanted and demanded.
    solver
        "highs" or "cbc"; HiGHS where it is installed unless asked otherwise.
    time_limit
        Seconds after which to stop with the best plan so far (then ``FEASIBLE``, with its gap).
    stages
        Whether to prefer the standing plan and break ties; without, only the value is best.

    Raises
    ------
    NoPlanError
        If no plan satisfies the problem, with the names of what clashes.
    SolverStoppedError
        If time ran out before any plan was found.
    """
    begun = time.perf_counter()
    name = choose_solver(solver)
    clock = Clock(name, None if time_limit is None else begun + time_limit)
    model = build(problem)
    built = time.perf_counter()
    first = run(model.program, name, time_limit=clock.left(), start=_start(model, name))
    if first.outcome is Outcome.NONE:
        raise NoPlanError(find_conflict(problem, solver=name))
    pens = decode(model)
    best = evaluate(problem, pens).value
    if abs(best - first.value) > tolerance.OBJECTIVE * max(1.0, abs(best)):
        raise WrongPlanError((f"the solver says {first.value}, the plan is worth {best}",))
    if stages and first.outcome is Outcome.OPTIMAL:
        pens = settle(model, best, clock)
    score = evaluate(problem, pens)
    solution = Solution(
        outcome=first.outcome,
        pens=pens,
        lines=score.lines,
        value=score.value,
        proof=_proof(first, best, name, (begun, built)),
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
    end = run(model.program, name, start=_start(model, name))
    if end.outcome is Outcome.NONE:
        return None
    return evaluate(problem, decode(model)).value


def _start(model: Model, solver: SolverName) -> Amounts | None:
    """A plan to start from, where the solver can make use of one."""
    return plan_to_start_from(model) if solver == "highs" else None


def _proof(first: Run, best: float, solver: SolverName, started: tuple[float, float]) -> Proof:
    """State what the first stage proved: the search's own bound, rounding noise aside."""
    bound = best if abs(first.bound - best) < tolerance.OBJECTIVE else max(first.bound, best)
    begun, built = started
    return Proof(
        best_value=best,
        bound=bound,
        gap=(bound - best) / max(1.0, abs(best)),
        solver=solver,
        solver_version=solver_version(solver),
        build_seconds=built - begun,
        solve_seconds=time.perf_counter() - built,
    )
