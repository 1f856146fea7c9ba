"""A plan within a small part of the best, in little time: for plans made by the thousand.

The coming seasons of a flock take a plan a season and replicate. Whether each is the best or a
two-hundredth less matters little there, and to prove the last two-hundredth takes most of the time.
The program is the one that ``solve`` proves, without the rows that only a proof needs; what is
left between the plan and its bound is searched until nothing better by more than that part is left.
"""

from __future__ import annotations

import time
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from matchmaker import tolerance
from matchmaker.errors import NoPlanError
from matchmaker.plan.arithmetic.result import Outcome, Proof, Solution
from matchmaker.plan.arithmetic.verify import WrongPlanError, evaluate, verify
from matchmaker.plan.program.decode import decode
from matchmaker.plan.program.model import build
from matchmaker.plan.searching.best import best_plan
from matchmaker.plan.searching.conflict import find_conflict
from matchmaker.plan.searching.dive import dive
from matchmaker.plan.searching.narrowing import narrowed, unsettled
from matchmaker.plan.searching.room_cuts import add_room_cuts
from matchmaker.plan.searching.task import task_of
from matchmaker.plan.searching.totals import bound_numbers, boxes_above, hold_numbers
from matchmaker.plan.solvers.engine import (
    FROM_NOTHING,
    choose_solver,
    from_a_plan,
    limits_of,
    solver_version,
)
from matchmaker.plan.solvers.highs_run import run_highs
from matchmaker.plan.solvers.live import Live
from matchmaker.plan.solvers.quiet import quiet_stdout

if TYPE_CHECKING:
    from matchmaker.plan.posing.problem import PlanProblem
    from matchmaker.plan.program.model import Model
    from matchmaker.plan.program.program import Amounts
    from matchmaker.plan.searching.task import Task

NEAR_ENOUGH: Final = 0.005
"""The part of its value by which a plan may fall short of the best."""

ROUNDS: Final = 3
"""Rounds of rows for the room in pens: more of them bring the bound no nearer in their time."""

CORE: Final = (40,)
"""Pairs left open when the hens are placed."""

MOST_SOLVES: Final = 30
"""Relaxed programs solved to branch on the numbers of pairs, which often proves the plan."""

MOST_BOXES: Final = 4
"""With more sets of these numbers left than this, one search over all of them is faster."""

MOST_NODES: Final = 400
"""Nodes of a search after which the plan in hand stands, its gap stated."""


def quick_plan(
    problem: PlanProblem, *, gap: float = NEAR_ENOUGH, nodes: int = MOST_NODES, why: bool = True
) -> Solution:
    """Return a plan within ``gap`` of the best, in parts of its value; of equal plans any.

    The same problem gives the same plan: nothing in it hangs on time. Its proof states the bound
    and the gap that are left: more than ``gap`` only where a search for a better plan ended after
    so many ``nodes`` (flocks with rules of every kind; with 0 nothing is searched for). Where the
    kinship of the parents as a group is limited or has a price, and where HiGHS is not installed,
    the best plan is looked for.

    Raises
    ------
    NoPlanError
        If no plan satisfies the problem, with the names of what clashes (without ``why`` nobody
        looks for them: that takes longer than the plan).
    """
    if problem.group is not None or choose_solver(None) != "highs":
        return best_plan(problem, stages=False)
    begun = time.perf_counter()
    model = build(problem, lean=True)
    built = time.perf_counter()
    with quiet_stdout():
        now = _Quick(task_of(model), gap, nodes)
        possible = now.run()
    if not possible:
        raise NoPlanError(find_conflict(problem, solver="highs") if why else ())
    if now.plan is None:
        return best_plan(problem, stages=False)
    model.program.values = now.plan
    return _stated(model, now, (built - begun, time.perf_counter() - built))


def _stated(model: Model, now: _Quick, seconds: tuple[float, float]) -> Solution:
    """Read the plan back, check it, and state its bound; ``seconds`` to build and to solve."""
    problem = model.problem
    pens = decode(model)
    score = evaluate(problem, pens)
    # A search that ends near enough may leave untouched a column that could count more.
    slack = tolerance.OBJECTIVE * max(1.0, abs(now.value))
    if not now.value - slack <= score.value <= now.bound + slack:
        raise WrongPlanError(
            (f"the solver says {now.value}, at most {now.bound}, the plan is worth {score.value}",)
        )
    proved = now.bound <= score.value + tolerance.OBJECTIVE
    bound = score.value if proved else now.bound
    solution = Solution(
        outcome=Outcome.OPTIMAL if proved else Outcome.FEASIBLE,
        pens=pens,
        lines=score.lines,
        value=score.value,
        proof=Proof(
            best_value=score.value,
            bound=bound,
            gap=(bound - score.value) / max(1.0, abs(score.value)),
            solver="highs",
            solver_version=solver_version("highs"),
            build_seconds=seconds[0],
            solve_seconds=seconds[1],
            stopped="" if proved else "size",
        ),
    )
    verify(problem, solution)
    return solution


class _Quick:
    """One search: the plan in hand and what none exceeds."""

    __slots__ = ("bound", "cost", "gap", "nodes", "plan", "task", "value")

    def __init__(self, task: Task, gap: float, nodes: int) -> None:
        self.task = task
        self.gap = gap
        self.nodes = nodes
        self.cost = np.array(task.program.cost)
        self.plan: Amounts | None = None
        self.value, self.bound = -np.inf, np.inf

    @property
    def close(self) -> float:
        """By how much a plan must be better than the one in hand to be wanted."""
        return max(self.gap * max(1.0, abs(self.value)), tolerance.OBJECTIVE)

    def run(self) -> bool:
        """Search; say whether there can be a plan."""
        task = self.task
        live = Live(task.program, presolve=False)
        if live.solve():
            add_room_cuts(task, live, ROUNDS)
        if live.impossible:
            return False
        if live.solved:
            self.bound, added = live.value, live.added()
            self._take(dive(task, live, cores=CORE, close=self.gap / 2))
            if self.plan is not None:
                if self.bound > self.value + self.close:
                    self._search_the_rest(live, added)
                return True
        return self._from_nothing()

    def _take(self, found: Amounts | None) -> None:
        if found is not None and float(self.cost @ found) > self.value:
            self.plan, self.value = found, float(self.cost @ found)

    def _search_the_rest(self, live: Live, added: Amounts) -> None:
        """Search for a plan better by more than the gap: by numbers of pairs, then as a whole."""
        task = self.task
        least = self.value + self.close
        live.solve()
        boxes = boxes_above(task, live, least, MOST_SOLVES)
        if len(boxes) > MOST_BOXES:
            self.bound = max(self.value, self._search(self.bound, added, least))
            return
        bounds = [least]
        for box in boxes:
            hold_numbers(task, live, box.low, box.high)
            if live.solve():
                kept = [(task.program.lower[at], task.program.upper[at]) for at in task.totals]
                bound_numbers(task, zip(box.low, box.high, strict=True))
                bounds.append(self._search(live.value, live.added(), least))
                bound_numbers(task, kept)
            elif not live.impossible:
                bounds.append(box.bound)
        self.bound = max(self.value, min(self.bound, max(bounds)))

    def _search(self, bound: float, added: Amounts, least: float) -> float:
        """Search for a plan worth more than ``least``; return what no plan exceeds."""
        columns, values = unsettled(self.task.program, bound, added, least)
        part = narrowed(self.task.program, columns, values)
        options: dict[str, Any] = from_a_plan(part.program) | limits_of(None, self.nodes)
        options["mip_abs_gap"] = self.close
        options["objective_bound"] = part.offset - least - tolerance.OBJECTIVE
        ended = run_highs(part.program, options)
        if part.program.values is not None:
            self._take(part.full(part.program.values))
        left = bound if ended.outcome is None else ended.bound + part.offset
        return least if ended.outcome is Outcome.NONE else max(least, min(bound, left))

    def _from_nothing(self) -> bool:
        """Search the whole program where the dive found no plan."""
        program = self.task.program
        options = FROM_NOTHING | limits_of(None, MOST_NODES) | {"mip_rel_gap": self.gap}
        ended = run_highs(program, options)
        if ended.outcome is Outcome.NONE:
            return False
        if ended.outcome is not None:
            self._take(program.values)
            self.bound = max(self.value, min(self.bound, ended.bound))
        return True
