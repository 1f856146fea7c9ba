"""Bounds on the best value with each pair: from above by relaxed programs, from below by plans.

One model and one live relaxed program serve all pairs; of a pair only its column's bound changes,
and the dual simplex goes on from there. Rows of ``room_cuts`` that one pair needed stay for all,
and every plan found counts for all the pairs it holds (``regret_pool``).
"""

from __future__ import annotations

import contextlib
from typing import TYPE_CHECKING, Final, TypeAlias

import numpy as np

from matchmaker import tolerance
from matchmaker.plan.each_pair.forced_proof import Prover
from matchmaker.plan.each_pair.regret_pool import Pool
from matchmaker.plan.posing.layout import group_of
from matchmaker.plan.program.model import build
from matchmaker.plan.searching.dive import CORES, dive
from matchmaker.plan.searching.pricing import Relaxed
from matchmaker.plan.searching.search import Search, run_search
from matchmaker.plan.searching.solve import best_value
from matchmaker.plan.searching.task import task_of
from matchmaker.plan.solvers.engine import choose_solver
from matchmaker.plan.solvers.quiet import quiet_stdout
from matchmaker.plan.solvers.watch import Watch

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from matchmaker.plan.arithmetic.result import Solution
    from matchmaker.plan.posing.layout import Group
    from matchmaker.plan.posing.problem import Candidate, PlanProblem
    from matchmaker.plan.program.program import Amounts

MOST_DIVES: Final = 40
"""Dives for plans to begin with, one for a cock and row, the least known first."""

Class: TypeAlias = "tuple[str, Group]"
"""A cock and the kind of pairs in which he may stand."""


class _Part(Watch):
    """The watch of one pair's search: it ends when the whole does, and tells nobody."""

    __slots__ = ("_whole",)

    def __init__(self, whole: Watch) -> None:
        super().__init__(until=whole.until)
        self._whole = whole

    @property
    def over(self) -> bool:
        return self._whole.over


class Table:
    """Bounds for the pairs of a problem: ``bound`` from above, ``pool.value`` from below.

    ``bound`` is minus infinity where it is proved that no plan holds the pair. Pairs are named by
    their places in ``candidates``.
    """

    __slots__ = ("_best", "_model", "_problem", "_relaxed", "_watch", "bound", "candidates", "pool")

    def __init__(self, problem: PlanProblem, best: Solution, watch: Watch) -> None:
        self._problem, self._best, self._watch = problem, best, watch
        self._model = build(problem)
        self.candidates: tuple[Candidate, ...] = self._model.layout.candidates
        self.pool = Pool(self._model)
        self.pool.add(best.pens)
        self.bound = np.full(len(self.candidates), best.proof.bound)
        self._relaxed: Relaxed | None = None

    def open(self, places: Sequence[int]) -> list[int]:
        """Of these the pairs whose two bounds do not meet."""
        return [at for at in places if self.bound[at] > self.pool.value[at] + tolerance.OBJECTIVE]

    def bound_all(self, places: Sequence[int], *, dives: int = MOST_DIVES) -> None:
        """Bound pairs in little time: one relaxed program each, and plans that serve many."""
        if choose_solver(None) != "highs" or not self.open(places) or self._watch.over:
            return
        with quiet_stdout():
            relaxed = self._relaxed = Relaxed(task_of(self._model))
            relaxed.solve()
            if not relaxed.live.solved:
                self._relaxed = None
                return
            relaxed.live.keep_costs()
            self.pool.step_from(self._best.pens, self.open(places))
            for place in sorted(self.open(places), key=self._by_cock):
                if self._watch.over:
                    return
                self._bound(relaxed, place)
            self._dive_by_class(relaxed, places, dives)

    def _by_cock(self, place: int) -> tuple[str, str, str, str]:
        """Order in which a pair's program is least unlike that of the pair before."""
        one = self.candidates[place]
        return one.cock, one.row, one.turn, one.hen

    def close_all(self, places: Sequence[int]) -> None:
        """Search until the bounds of these pairs meet, or the watch ends it."""
        with quiet_stdout():
            width = {at: self.bound[at] - self.pool.value[at] for at in self.open(places)}
            for place in sorted(width, key=lambda at: (width[at], at)):
                if self._watch.over:
                    return
                if self.open([place]):
                    self._close(place)

    @contextlib.contextmanager
    def _held(self, relaxed: Relaxed, place: int) -> Iterator[None]:
        """Within this block the program and the relaxed program hold a pair."""
        program, column = self._model.program, self._model.x[place]
        if not relaxed.live.inside()[column]:
            relaxed.live.take_in(np.array([column], dtype=np.int32))
        program.lower[column] = 1.0
        relaxed.live.hold(column, 1.0, 1.0)
        try:
            yield
        finally:
            program.lower[column] = 0.0
            relaxed.live.hold(column, 0.0, 1.0)

    def _bound(self, relaxed: Relaxed, place: int) -> None:
        with self._held(relaxed, place):
            if relaxed.prices:
                column = np.array([self._model.x[place]], dtype=np.int32)
                bound, _ = relaxed.within(column, np.ones(1), np.ones(1))
                self._tighten(place, bound)
            elif relaxed.live.solve():
                self._tighten(place, relaxed.live.value)
                self._take_if_whole(relaxed.live.solution())
            elif relaxed.live.impossible:
                self._tighten(place, -np.inf)

    def _tighten(self, place: int, bound: float) -> None:
        self.bound[place] = min(self.bound[place], bound)

    def _take_if_whole(self, values: Amounts) -> None:
        whole = np.array(self._model.program.whole, dtype=bool)
        if np.all(np.abs(values[whole] - np.round(values[whole])) <= tolerance.INTEGRALITY):
            self.pool.add_solved(values)

    def _dive_by_class(self, relaxed: Relaxed, places: Sequence[int], dives: int) -> None:
        """Look for plans with pairs of which none is known, then for better ones, class by class.

        A plan with one pair of a cock serves many: all his others are looked for one step from it.
        """
        done: set[Class] = set()
        for _ in range(dives):
            classes = {key: own for key, own in self._classes(places).items() if key not in done}
            if not classes or self._watch.over:
                return
            key = max(classes, key=lambda key: (*self._unknown(classes[key]), key))
            done.add(key)
            his = [at for at in self.open(places) if self.candidates[at].cock == key[0]]
            self._dive(relaxed, max(classes[key], key=self._hope), his)

    def _classes(self, places: Sequence[int]) -> dict[Class, list[int]]:
        """The open pairs by cock and kind."""
        classes: dict[Class, list[int]] = {}
        for place in self.open(places):
            one = self.candidates[place]
            classes.setdefault((one.cock, group_of(one)), []).append(place)
        return classes

    def _unknown(self, own: Sequence[int]) -> tuple[int, float]:
        """Of how many pairs no plan is known, and the widest range there is."""
        value = self.pool.value[own]
        return int(np.count_nonzero(value == -np.inf)), float(np.max(self.bound[own] - value))

    def _hope(self, place: int) -> tuple[bool, float]:
        """Which pair is to be dived for: one without a plan, and worth most."""
        return bool(self.pool.value[place] == -np.inf), float(self.bound[place])

    def _dive(self, relaxed: Relaxed, place: int, others: Sequence[int]) -> None:
        with self._held(relaxed, place):
            live = relaxed.live
            found = None
            if live.solve():
                found = dive(relaxed.task, live, self._watch, cores=CORES[:1])
        if found is not None:
            self.pool.step_from(self.pool.add_solved(found), self.open(others))

    def _close(self, place: int) -> None:
        if self._relaxed is None:
            value = best_value(self._problem, (self.candidates[place],))
            self._tighten(place, -np.inf if value is None else value)
            if value is not None:
                self.pool.value[place] = max(self.pool.value[place], value)
            return
        with self._held(self._relaxed, place):
            if self.pool.value[place] == -np.inf:
                self._search(self._relaxed, place)
            else:
                self._prove(self._relaxed, place)

    def _search(self, relaxed: Relaxed, place: int) -> None:
        """Search for the best plan with a pair of which none is known."""
        now = Search(relaxed.task, _Part(self._watch), relaxed)
        now.tighten(float(self.bound[place]))
        if not run_search(now):
            self._tighten(place, -np.inf)
            return
        if now.best is not None:
            self.pool.add_solved(now.best)
        self._tighten(place, now.bound)

    def _prove(self, relaxed: Relaxed, place: int) -> None:
        """Prove that no plan with a pair is better than the one known, or find it."""

        def take(values: Amounts) -> float:
            pens = self.pool.add_solved(values)
            self.pool.step_from(pens, self.open(range(len(self.candidates))))
            return float(self.pool.value[place])

        prover = Prover(relaxed, _Part(self._watch), take)
        self._tighten(place, prover.bound_above(float(self.pool.value[place])))
