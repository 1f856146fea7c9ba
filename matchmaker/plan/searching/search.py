"""The best plan of a model by HiGHS: relaxed, dived for, narrowed, then searched to gap 0.

1. The relaxed program over all pairs, with rows that make parts of pens count as whole ones do
   (``pricing``, ``room_cuts``): the bound.
2. A plan, from dives (``dive``, ``surplus``).
3. What that plan and that bound leave open is a smaller program (``narrowing``). In small flocks
   the numbers of pairs are branched on first (``totals``); the rest is HiGHS's own search.
"""

from __future__ import annotations

import time
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from matchmaker import tolerance
from matchmaker.errors import SolverStoppedError
from matchmaker.plan.arithmetic.result import Outcome
from matchmaker.plan.searching.dive import dive
from matchmaker.plan.searching.narrowing import narrowed, unsettled
from matchmaker.plan.searching.pricing import Relaxed
from matchmaker.plan.searching.surplus import dive_for_surplus
from matchmaker.plan.searching.task import task_of
from matchmaker.plan.searching.totals import (
    bound_numbers,
    boxes_above,
    everything,
    halves,
    hold_numbers,
)
from matchmaker.plan.solvers.engine import (
    FROM_NOTHING,
    NO_ANSWER,
    TIME_RAN_OUT,
    Run,
    from_a_plan,
    limits_of,
)
from matchmaker.plan.solvers.highs_run import run_highs
from matchmaker.plan.solvers.quiet import quiet_stdout

if TYPE_CHECKING:
    from matchmaker.plan.program.model import Model
    from matchmaker.plan.program.program import Amounts
    from matchmaker.plan.searching.narrowing import Narrowed
    from matchmaker.plan.searching.task import Task
    from matchmaker.plan.searching.totals import Box
    from matchmaker.plan.solvers.highs_run import Ended
    from matchmaker.plan.solvers.watch import Watch

FEW_PAIRS = 400
"""Up to so many pairs the numbers of pairs are branched on first; beyond, each relaxed program
takes too long (measured: 10 ms at 1,100 pairs, 50 ms at 10,000)."""

MOST_SOLVES = 60
"""Relaxed programs solved to branch on the numbers of pairs."""

MOST_BOXES = 8
"""With more boxes than these left, one search over all of them is faster."""

MOST_COLUMNS = 60_000
"""Where a plan and its bound leave more columns open than this, they are left open and the gap is
stated: HiGHS's own search then takes hours and gigabytes, and does not keep its time limit."""

DIVES = 3
"""Boxes that are dived in before any is searched: a better plan spares many of them."""


class Search:
    """One search: the plan in hand, the bound, and the watch that may end it."""

    __slots__ = ("best", "bound", "cost", "relaxed", "task", "value", "watch")

    def __init__(self, task: Task, watch: Watch, relaxed: Relaxed | None = None) -> None:
        self.task = task
        self.watch = watch
        self.relaxed = Relaxed(task, watch) if relaxed is None else relaxed
        self.cost = np.array(task.program.cost)
        self.best: Amounts | None = None
        self.value = float("-inf")
        self.bound = float("inf")

    def take(self, found: Amounts | None) -> None:
        """Keep a plan if it is better than the one in hand."""
        if found is None:
            return
        value = float(self.cost @ found)
        if value > self.value:
            self.best, self.value = found, value
            self.watch.report(best=value)

    def tighten(self, bound: float) -> None:
        """Keep a bound if it is tighter."""
        self.bound = min(self.bound, bound)
        self.watch.report(bound=self.bound)

    @property
    def done(self) -> bool:
        """Whether there is nothing more to search, or no time for it."""
        return self.settled or self.watch.over

    @property
    def settled(self) -> bool:
        """Whether the plan in hand is proved best."""
        return self.best is not None and self.bound <= self.value + tolerance.OBJECTIVE / 2


def find_best(model: Model, watch: Watch) -> Run:
    """Solve a model to gap 0 with HiGHS and say how it ended; the values are left in its program.

    Rows that hold for every plan are added to the program on the way.

    Raises
    ------
    SolverStoppedError
        If it ended with neither a plan nor the proof that none exists.
    """
    begun = time.perf_counter()
    with quiet_stdout():
        now = Search(task_of(model), watch)
        possible = run_search(now)
    seconds = time.perf_counter() - begun
    if not possible:
        return Run(outcome=Outcome.NONE, value=0.0, bound=0.0, seconds=seconds)
    if now.best is None:
        raise SolverStoppedError(TIME_RAN_OUT if watch.over else NO_ANSWER)
    model.program.values = now.best
    return Run(
        outcome=Outcome.OPTIMAL if now.settled else Outcome.FEASIBLE,
        value=now.value,
        bound=max(now.value, now.bound),
        seconds=seconds,
    )


def run_search(now: Search) -> bool:
    """Search until the plan in hand is proved best, or the watch ends it; ``False``: no plan.

    Within ``quiet_stdout``. The search may have a plan and a bound to start from.
    """
    if now.settled:
        return True
    now.relaxed.solve()
    if now.relaxed.live.impossible:
        return False
    now.tighten(now.relaxed.bound)
    solved = now.relaxed.live.solved
    boxes = _dive(now) if solved else []
    if now.done:
        return True
    if now.best is None or not solved:
        return _from_nothing(now)
    _search_boxes(now, boxes)
    return True


def _dive(now: Search) -> list[Box]:
    """Dive for plans; return boxes that hold every plan better than the best found."""
    task, live = now.task, now.relaxed.live
    values = live.solution()
    now.take(dive(task, live, now.watch))
    if now.best is None or now.done:
        return []
    if len(task.pairs) <= FEW_PAIRS:
        live.solve()
        boxes = _dive_in_boxes(now, boxes_above(task, live, now.value, MOST_SOLVES))
        if len(boxes) <= MOST_BOXES:
            return boxes
    boxes = _halves(now, float(values[task.total]))
    now.tighten(max(now.value, *(box.bound for box in boxes)))
    if not now.done:
        now.take(dive_for_surplus(task, live, values, now.value, now.watch))
    return boxes


def _halves(now: Search, pairs: float) -> list[Box]:
    """Halve by the number of all pairs: as it is whole, it is below or above the relaxed one.

    Where lines have all they need this alone often proves the plan in hand.
    """
    task = now.task
    every = everything(task)
    if abs(pairs - round(pairs)) <= tolerance.INTEGRALITY or now.watch.over:
        return [replace(every, bound=now.relaxed.bound, added=now.relaxed.added)]
    found = []
    for low, high in halves(replace(every, numbers=(0.0,) * (len(every.low) - 1) + (pairs,)), -1):
        bound, added = now.relaxed.within(task.totals, np.array(low), np.array(high))
        found.append(replace(every, low=low, high=high, bound=bound, added=added))
    return sorted(found, key=lambda box: -box.bound)


def _from_nothing(now: Search) -> bool:
    """Search the whole program where there is no plan, or no relaxed program to bound it."""
    program = now.task.program
    options = FROM_NOTHING | limits_of(now.watch.left(), None)
    ended = run_highs(program, options, watch=now.watch, offset=0.0)
    if ended.outcome is Outcome.NONE:
        return False
    if ended.outcome is not None:
        now.take(program.values)
        now.tighten(now.value if ended.outcome is Outcome.OPTIMAL else ended.bound)
    return True


def _dive_in_boxes(now: Search, boxes: list[Box]) -> list[Box]:
    """Dive in the best boxes; return those that can still hold a better plan."""
    task, live = now.task, now.relaxed.live
    for box in boxes[:DIVES]:
        if box.bound > now.value + tolerance.OBJECTIVE and not now.watch.over:
            hold_numbers(task, live, box.low, box.high)
            if live.solve():
                now.take(dive(task, live, now.watch))
    lower, upper = (np.array(of)[task.totals] for of in (task.program.lower, task.program.upper))
    live.hold_all(task.totals, lower, upper)
    return [box for box in boxes if box.bound > now.value + tolerance.OBJECTIVE]


def _search_boxes(now: Search, boxes: list[Box]) -> None:
    """Search box by box, best bound first, for a plan better than the one in hand."""
    for place, box in enumerate(boxes):
        now.tighten(max(now.value, box.bound))
        if now.settled:
            return
        bound = box.bound if now.watch.over else _search_box(now, box)
        if bound > now.value + tolerance.OBJECTIVE / 2:
            now.tighten(max(bound, *(other.bound for other in boxes[place + 1 :]), now.value))
            return
    now.tighten(now.value)


def _search_box(now: Search, box: Box) -> float:
    """Search one box; return the bound left on it, no more than the value in hand if it is done."""
    task, program = now.task, now.task.program
    low, high = np.array(box.low), np.array(box.high)
    bound, added = box.bound, box.added
    if added is None:
        bound, added = now.relaxed.within(task.totals, low, high)
    if bound <= now.value + tolerance.OBJECTIVE / 2:
        return bound
    kept = [(program.lower[column], program.upper[column]) for column in task.totals]
    bound_numbers(task, zip(low, high, strict=True))
    columns, values = unsettled(program, bound, added, now.value)
    part = narrowed(program, columns, values) if len(columns) <= MOST_COLUMNS else None
    bound_numbers(task, kept)
    if part is None:
        return bound
    ended = _search_part(now, part, box)
    if part.program.values is not None:
        now.take(part.full(part.program.values))
    now.watch.report(nodes=ended.nodes)
    if ended.outcome in (Outcome.OPTIMAL, Outcome.NONE):
        return now.value
    return min(bound, max(now.value, ended.bound + part.offset))


def _search_part(now: Search, part: Narrowed, box: Box) -> Ended:
    """Search what the plan in hand leaves open in a box, from that plan if it lies there."""
    options = from_a_plan(part.program) | limits_of(now.watch.left(), None)
    numbers = np.zeros(0) if now.best is None else np.round(now.best[now.task.totals])
    if now.best is not None and np.all((numbers >= box.low) & (numbers <= box.high)):
        return run_highs(
            part.program,
            options,
            start=now.best[part.columns],
            watch=now.watch,
            offset=part.offset,
        )
    options["objective_bound"] = part.offset - now.value - tolerance.OBJECTIVE
    return run_highs(part.program, options, watch=now.watch)
