"""Of all plans worth enough the one that keeps most pairs, then most pens, of a plan in hand.

To keep pairs is an aim that is not flat where the value is: the relaxed program follows it to a
plan nearly as it stands, so the first dive mostly finds the plan and the relaxed program proves it.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from matchmaker import tolerance
from matchmaker.plan.dive import dive
from matchmaker.plan.engine import FROM_NOTHING, from_a_plan, limits_of, run
from matchmaker.plan.highs_run import search
from matchmaker.plan.model import build
from matchmaker.plan.narrowing import narrowed, unsettled
from matchmaker.plan.quiet import quiet_stdout
from matchmaker.plan.result import Outcome
from matchmaker.plan.search import Search
from matchmaker.plan.stages import standing_pens
from matchmaker.plan.task import task_of

if TYPE_CHECKING:
    from matchmaker.plan.engine import SolverName
    from matchmaker.plan.live import Live
    from matchmaker.plan.model import Model
    from matchmaker.plan.problem import Candidate, PlanProblem
    from matchmaker.plan.program import Amounts
    from matchmaker.plan.result import Solution
    from matchmaker.plan.watch import Watch

WHOLE_STEP: Final = {"mip_abs_gap": 0.99}
"""The aim is a whole number: with less than one between plan and bound the plan is best."""


def keeping_model(
    problem: PlanProblem, best: Solution, candidate: Candidate, *, held: bool
) -> Model:
    """Return the model of a problem with a pair held, or banned; pens are labelled as in ``best``.

    The candidate must be one of the problem.
    """
    pens = tuple(sorted({(pen.pen, pen.cock) for pen in best.pens}))
    model = build(replace(problem, standing_pens=pens))
    column = model.x[model.layout.candidates.index(candidate)]
    if held:
        model.program.lower[column] = 1.0
    else:
        model.program.upper[column] = 0.0
    return model


def keep_most(
    model: Model,
    best: Solution,
    least: float,
    solver: SolverName,
    watch: Watch,
    *,
    start: Amounts | None = None,
) -> Outcome:
    """Leave in the program the plan worth ``least`` or more that keeps most of ``best``.

    The model gets a new aim and rows of its own; it can be used for nothing else after. ``NONE``
    says that no plan is worth so much, ``OPTIMAL`` that none keeps more; ``FEASIBLE`` that the
    watch ended the search: there is a plan if the program has values. ``start`` is a plan worth
    enough, as values of the model's columns as they were built.
    """
    model.at_least(model.value, least - tolerance.OBJECTIVE / 2)
    _aim_to_keep(model, best)
    if solver != "highs":
        return run(model.program, solver, time_limit=watch.left()).outcome
    with quiet_stdout():
        return _search(model, watch, start)


def _aim_to_keep(model: Model, best: Solution) -> None:
    """Aim at the number of pairs kept; of equal numbers at that of pens kept."""
    taken = {pair.key for pen in best.pens for pair in pen.pairs}
    candidates = model.layout.candidates
    kept = [place for place, one in enumerate(candidates) if one.key in taken]
    number = model.column(0, len(kept), whole=True)
    model.exactly({number: -1.0} | model.taken(kept), 0)
    pens = standing_pens(model)
    for column in pens:
        model.program.whole[column] = True
    most = sum(model.program.upper[column] for column in pens)
    model.maximise({number: most + 1.0} | pens)


def _search(model: Model, watch: Watch, start: Amounts | None) -> Outcome:
    program = model.program
    program.values = None
    now = Search(task_of(model), watch)
    live = now.relaxed.live
    if start is not None:
        now.take(_with_its_numbers(live, start))
    now.relaxed.solve()
    live = now.relaxed.live
    if live.impossible:
        return Outcome.NONE
    now.tighten(_whole_below(now.relaxed.bound))
    added = now.relaxed.added
    if live.solved:
        now.take(dive(now.task, live, watch))
    if not now.settled and not watch.over:
        outcome = _from_nothing(now) if now.best is None else _from_plan(now, added)
        if outcome is Outcome.NONE:
            return Outcome.NONE
    program.values = now.best
    return Outcome.OPTIMAL if now.settled else Outcome.FEASIBLE


def _with_its_numbers(live: Live, start: Amounts) -> Amounts | None:
    """A plan with the columns that were added since: the most they can be with it."""
    program = live.program
    columns = np.arange(len(start), dtype=np.int32)
    columns = columns[np.array(program.whole, dtype=bool)[columns]]
    given = np.round(start[columns])
    live.hold_all(columns, given, given)
    found = live.solution() if live.solve() else None
    lower, upper = (np.array(of)[columns] for of in (program.lower, program.upper))
    live.hold_all(columns, lower, upper)
    return found


def _whole_below(bound: float) -> float:
    """The aim of any plan is whole: a bound may be taken down to a whole number."""
    return math.floor(bound + tolerance.INTEGRALITY) if math.isfinite(bound) else bound


def _from_nothing(now: Search) -> Outcome | None:
    options: dict[str, Any] = FROM_NOTHING | {"presolve": "on"}
    program = now.task.program
    ended = search(program, options | _limits(now.watch), watch=now.watch)
    if ended.outcome in (Outcome.OPTIMAL, Outcome.FEASIBLE):
        now.take(program.values)
        now.tighten(now.value if ended.outcome is Outcome.OPTIMAL else ended.bound)
    return ended.outcome


def _from_plan(now: Search, added: Amounts) -> Outcome | None:
    """Search what the plan in hand leaves open, from that plan, for one that keeps one more."""
    program = now.task.program
    columns, values = unsettled(program, now.relaxed.bound, added, now.value + 0.5)
    part = narrowed(program, columns, values)
    options = from_a_plan(part.program) | {"presolve": "on"} | _limits(now.watch)
    options["objective_bound"] = part.offset - now.value - 0.5
    ended = search(part.program, options, watch=now.watch)
    if part.program.values is not None:
        now.take(part.full(part.program.values))
    if ended.outcome in (Outcome.OPTIMAL, Outcome.NONE):
        now.tighten(now.value)
    return Outcome.OPTIMAL


def _limits(watch: Watch) -> dict[str, Any]:
    return limits_of(watch.left(), None) | WHOLE_STEP
