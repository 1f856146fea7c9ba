"""Bounds on the best value with each pair: from above by relaxed programs, from below by plans.

One model and one live relaxed program serve all pairs; of a pair only its column's bound changes,
and the dual simplex goes on from there. Rows of ``room_cuts`` that one pair needed stay for all.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from matchmaker import tolerance
from matchmaker.plan.dive import dive
from matchmaker.plan.engine import from_a_plan, limits_of
from matchmaker.plan.highs_run import search
from matchmaker.plan.layout import group_of
from matchmaker.plan.model import build
from matchmaker.plan.narrowing import narrowed, unsettled
from matchmaker.plan.pricing import Relaxed
from matchmaker.plan.quiet import quiet_stdout
from matchmaker.plan.regret_pool import Pool
from matchmaker.plan.result import Outcome
from matchmaker.plan.search import Search, run_search
from matchmaker.plan.task import task_of
from matchmaker.plan.totals import boxes_above

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.plan.layout import Group
    from matchmaker.plan.problem import Candidate, PlanProblem
    from matchmaker.plan.program import Amounts
    from matchmaker.plan.result import Solution
    from matchmaker.plan.totals import Box
    from matchmaker.plan.watch import Watch

MOST_SOLVES = 60


class Table:
    """Bounds for the pairs of a problem: ``bound`` from above, ``pool.value`` from below.

    ``bound`` is minus infinity where it is proved that no plan holds the pair.
    """

    def __init__(self, problem: PlanProblem, best: Solution, watch: Watch) -> None:
        self.model = build(problem)
        self.task = task_of(self.model)
        self.candidates: tuple[Candidate, ...] = self.model.layout.candidates
        self.watch = watch
        self.pool = Pool(self.model)
        self.bound = np.full(len(self.candidates), best.proof.bound)
        self.pool.add(best.pens)
        self.best_pens = best.pens
        self.relaxed: Relaxed | None = None

    @property
    def places(self) -> list[int]:
        return list(range(len(self.candidates)))

    def open(self, places: Sequence[int]) -> list[int]:
        """Of these the pairs whose two bounds do not meet."""
        return [at for at in places if self.bound[at] > self.pool.value[at] + tolerance.OBJECTIVE]

    def bound_all(self, places: Sequence[int]) -> None:
        with quiet_stdout():
            relaxed = self.relaxed = Relaxed(self.task)
            relaxed.solve()
            if not relaxed.live.solved:
                return
            self.pool.step_from(self.best_pens, self.open(places))
            for place in self.open(places):
                if self.watch.over:
                    return
                self._bound(place)
            self._dive_by_class(places)

    def hold(self, place: int) -> None:
        column = self.model.x[place]
        live = self.relaxed.live
        if not live.inside()[column]:
            live.take_in(np.array([column], dtype=np.int32))
        self.task.program.lower[column] = 1.0
        live.hold(column, 1.0, 1.0)

    def free(self, place: int) -> None:
        column = self.model.x[place]
        self.task.program.lower[column] = 0.0
        self.relaxed.live.hold(column, 0.0, 1.0)

    def _bound(self, place: int) -> None:
        self.hold(place)
        live = self.relaxed.live
        if live.solve():
            self.lower_bound(place, live.value)
            self._take_if_whole(live.solution())
        elif live.impossible:
            self.bound[place] = -np.inf
        self.free(place)

    def lower_bound(self, place: int, bound: float) -> None:
        self.bound[place] = min(self.bound[place], bound)

    def _take_if_whole(self, values: Amounts) -> None:
        whole = np.array(self.task.program.whole, dtype=bool)
        if np.all(np.abs(values[whole] - np.round(values[whole])) <= tolerance.INTEGRALITY):
            self.pool.add_solved(values)

    def _dive_by_class(self, places: Sequence[int]) -> None:
        """For each cock and row the pair that may be worth most: its plan serves the others too."""
        classes: dict[tuple[str, Group], list[int]] = {}
        for place in self.open(places):
            one = self.candidates[place]
            classes.setdefault((one.cock, group_of(one)), []).append(place)
        for own in classes.values():
            left = self.open(own)
            if not left or self.watch.over:
                continue
            place = max(left, key=lambda at: self.bound[at])
            self.hold(place)
            if self.relaxed.live.solve():
                found = dive(self.task, self.relaxed.live, self.watch)
                if found is not None:
                    pens = self.pool.add_solved(found)
                    self.pool.step_from(pens, self.open(own))
            self.free(place)

    def close_all(self, places: Sequence[int]) -> None:
        with quiet_stdout():
            order = sorted(self.open(places), key=lambda at: (-self.bound[at], at))
            for place in order:
                if self.watch.over:
                    return
                if self.open([place]):
                    self._close(place)

    def _close(self, place: int) -> None:
        self.hold(place)
        if self.pool.value[place] == -np.inf:
            self._search(place)
        else:
            self._prove(place)
        self.free(place)

    def _search(self, place: int) -> None:
        now = Search(self.task, self.watch, self.relaxed)
        now.tighten(float(self.bound[place]))
        if not run_search(now):
            self.bound[place] = -np.inf
            return
        if now.best is not None:
            self.pool.add_solved(now.best)
        self.lower_bound(place, now.bound)

    def _prove(self, place: int) -> None:
        relaxed = self.relaxed
        relaxed.solve()
        if relaxed.live.impossible:
            raise AssertionError
        self.lower_bound(place, relaxed.bound)
        if not self.open([place]) or not relaxed.live.solved:
            return
        boxes = boxes_above(
            self.task, relaxed.live, self.pool.value[place] + tolerance.OBJECTIVE / 2, MOST_SOLVES
        )
        left = -np.inf
        for box in boxes:
            value = self.pool.value[place]
            if box.bound <= value + tolerance.OBJECTIVE / 2:
                continue
            if self.watch.over:
                left = max(left, box.bound)
                continue
            left = max(left, self._search_box(place, box))
        self.lower_bound(place, max(left, self.pool.value[place]))

    def _search_box(self, place: int, box: Box) -> float:
        program, task = self.task.program, self.task
        low, high = np.array(box.low), np.array(box.high)
        bound, added = self.relaxed.within(task.totals, low, high)
        value = float(self.pool.value[place])
        if bound <= value + tolerance.OBJECTIVE / 2:
            return bound
        kept = [(program.lower[c], program.upper[c]) for c in task.totals]
        for c, lo, hi in zip(task.totals, low, high, strict=True):
            program.lower[c], program.upper[c] = lo, hi
        columns, values = unsettled(program, bound, added, value)
        part = narrowed(program, columns, values)
        for c, (lo, hi) in zip(task.totals, kept, strict=True):
            program.lower[c], program.upper[c] = lo, hi
        options: dict[str, Any] = from_a_plan(part.program) | limits_of(self.watch.left(), None)
        options["objective_bound"] = part.offset - value - tolerance.OBJECTIVE
        ended = search(part.program, options, watch=self.watch)
        if part.program.values is not None:
            self.pool.add_solved(part.full(part.program.values))
        if ended.outcome in (Outcome.OPTIMAL, Outcome.NONE):
            return self.pool.value[place]
        return min(bound, max(value, ended.bound + part.offset))
