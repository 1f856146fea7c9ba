"""Of all plans worth enough the one that keeps most pairs, then most pens, of a plan in hand.

To keep pairs is an aim that is not flat where the value is: the relaxed program follows it to a
plan nearly as it stands, so the first dive mostly finds the plan and the relaxed program proves it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from matchmaker import tolerance
from matchmaker.plan.arithmetic.result import Outcome
from matchmaker.plan.each_pair.forced_pens import pens_for_pair, plan_by_pens
from matchmaker.plan.program.model import build
from matchmaker.plan.searching.dive import dive
from matchmaker.plan.searching.narrowing import narrowed, unsettled
from matchmaker.plan.searching.search import Search
from matchmaker.plan.searching.stages import standing_pens
from matchmaker.plan.searching.task import task_of
from matchmaker.plan.solvers.engine import limits_of, run
from matchmaker.plan.solvers.highs import FEW_SIDE_SEARCHES
from matchmaker.plan.solvers.highs_run import run_highs
from matchmaker.plan.solvers.quiet import quiet_stdout

if TYPE_CHECKING:
    from matchmaker.plan.arithmetic.result import Solution
    from matchmaker.plan.posing.problem import Candidate, PlanProblem
    from matchmaker.plan.program.model import Model
    from matchmaker.plan.program.program import Amounts
    from matchmaker.plan.solvers.engine import SolverName
    from matchmaker.plan.solvers.live import Live
    from matchmaker.plan.solvers.watch import Watch

SEARCHED_PAIRS: Final = 160
"""With more allowed pairs than this a plan that a dive finds stands; the search for one where the
dives find none ends early, by a number of nodes: to the end it takes up to three seconds."""

TO_THE_END: Final = {"presolve": "off", **FEW_SIDE_SEARCHES, "mip_rel_gap": 0.0}
NEARLY: Final = {
    "presolve": "on",
    **FEW_SIDE_SEARCHES,
    "mip_allow_restart": False,
    "mip_rel_gap": 0.1,
    "mip_max_nodes": 300,
}
"""What the two searches run with. Presolve with restarts has called a program impossible that has a
plan just at the value asked for; nothing is concluded from it here."""

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


@dataclass(frozen=True, slots=True, kw_only=True)
class Keeping:
    """What is to be kept: of ``best`` as much as can be with ``candidate`` held (or banned).

    ``search`` says whether to search where the dives find no plan.
    """

    best: Solution
    candidate: Candidate
    solver: SolverName
    watch: Watch
    search: bool = True


def keep_most(
    model: Model, keeping: Keeping, least: float, *, start: Amounts | None = None
) -> bool:
    """Leave in the program the plan worth ``least`` or more that keeps most; say if there is one.

    The model gets a new aim and rows of its own; it can be used for nothing else after. ``start``
    is a plan worth enough, as values of the model's columns as they were built. Without one that
    none is found does not say that there is none.
    """
    model.at_least(model.value, least - tolerance.OBJECTIVE / 2)
    _aim_to_keep(model, keeping.best)
    if keeping.solver != "highs":
        return run(model.program, keeping.solver).outcome is not Outcome.NONE
    with quiet_stdout():
        return _search(model, keeping, start)


def _aim_to_keep(model: Model, best: Solution) -> None:
    """Aim at the number of pairs kept; of equal numbers at that of pens kept."""
    taken = {pair.key for pen in best.pens for pair in pen.pairs}
    candidates = model.layout.candidates
    kept = [place for place, one in enumerate(candidates) if one.key in taken]
    number = model.count(model.taken(kept), len(kept))
    pens = standing_pens(model)
    for column in pens:
        model.program.whole[column] = True
    most = sum(model.program.upper[column] for column in pens)
    model.maximise({number: most + 1.0} | pens)


def _search(model: Model, keeping: Keeping, start: Amounts | None) -> bool:
    program, watch = model.program, keeping.watch
    program.values = None
    now = Search(task_of(model), watch)
    if start is not None:
        now.take(_with_its_numbers(now.relaxed.live, start))
    now.relaxed.solve()
    live = now.relaxed.live
    if live.solved:
        now.tighten(_whole_below(now.relaxed.bound))
        added = now.relaxed.added
        now.take(dive(now.task, live, watch))
        if not now.done:
            changes = pens_for_pair(model, keeping.best.pens, keeping.candidate)
            now.take(plan_by_pens(now.task, live, changes, watch))
        few = len(model.x) <= SEARCHED_PAIRS
        if not now.done and (few or (now.best is None and keeping.search)):
            _search_for_more(now, added, few=few)
    program.values = now.best
    return now.best is not None


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


def _search_for_more(now: Search, added: Amounts, *, few: bool) -> None:
    """Search for a plan, or what the plan in hand leaves open for one that keeps more."""
    program = now.task.program
    options: dict[str, Any] = WHOLE_STEP | (TO_THE_END if few else NEARLY)
    options |= limits_of(now.watch.left(), None) if few else {}
    columns, values = unsettled(program, now.relaxed.bound, added, now.value + 0.5)
    part = narrowed(program, columns, values)
    if now.best is not None:
        options |= {"objective_bound": part.offset - now.value - 0.5}
    run_highs(part.program, options, watch=now.watch)
    if part.program.values is not None:
        now.take(part.full(part.program.values))
