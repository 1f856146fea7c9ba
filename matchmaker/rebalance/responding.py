"""The best response to a loss, and the best with so many moves: one program, solved repeatedly.

Of one solve after another only a bound changes, and the dual simplex goes on from where it was.
"""

from __future__ import annotations

import contextlib
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from matchmaker import tolerance
from matchmaker.errors import NoPlanError, SolverStoppedError
from matchmaker.plan.arithmetic.moved import birds_moved
from matchmaker.plan.arithmetic.result import Outcome
from matchmaker.plan.arithmetic.verify import WrongPlanError, evaluate
from matchmaker.plan.program.decode import decode
from matchmaker.plan.program.model import build
from matchmaker.plan.searching.dive import core, dive, solve_part
from matchmaker.plan.searching.narrowing import narrowed, unsettled
from matchmaker.plan.searching.pricing import Relaxed
from matchmaker.plan.searching.solve import solve_plan
from matchmaker.plan.searching.stages import MORE_CHICKS, TIE_NODES
from matchmaker.plan.searching.task import task_of
from matchmaker.plan.solvers.engine import FROM_NOTHING, choose_solver, from_a_plan, limits_of, run
from matchmaker.plan.solvers.highs import FEW_SIDE_SEARCHES
from matchmaker.plan.solvers.highs_run import run_highs
from matchmaker.plan.solvers.quiet import quiet_stdout
from matchmaker.plan.solvers.watch import Watch

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from matchmaker.plan.arithmetic.result import LineTotal, PlannedPen
    from matchmaker.plan.posing.problem import PlanProblem
    from matchmaker.plan.program.model import Model
    from matchmaker.plan.program.program import Amounts


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """The best plan with so many moves: ``value`` in wanted chicks, ``bound`` what none exceeds."""

    pens: tuple[PlannedPen, ...]
    value: float
    bound: float
    lines: tuple[LineTotal, ...]
    moved: tuple[tuple[str, str | None], ...]

    @property
    def moves(self) -> int:
        """How many birds are moved."""
        return len(self.moved)

    @property
    def proved(self) -> bool:
        """Whether no response with so many moves is better."""
        return self.bound <= self.value + tolerance.OBJECTIVE


CORES_TRIED: Final = (60, 240)
"""Pairs left open when hens are placed with the pens settled, one size after another."""

FEW_PAIRS: Final = 400
"""Up to so many pairs one dive is enough: the whole program is small then."""

OPEN_CORE: Final = 200
"""Pairs left open beside all pens, where that is not near enough."""

SIDE_NODES: Final = 200
"""Most nodes of each of these searches: they only have to find a plan."""


ORDERED: Final = 100.0
"""What an order that is written already counts between responses of the same value."""


class _Search:
    """One search: the plan in hand, and what none exceeds.

    Most of the pens stay as they are, so the relaxed program is near the truth: a dive or two find
    a plan near its bound, and what the two leave open is a small program.
    """

    def __init__(self, relaxed: Relaxed, watch: Watch, close: float) -> None:
        self.relaxed, self.watch, self.close = relaxed, watch, close
        self.cost = np.array(relaxed.task.program.cost)
        self.plan: Amounts | None = None
        self.value, self.bound = -np.inf, np.inf

    @property
    def done(self) -> bool:
        """Whether the plan is near enough to the bound, or time is up."""
        near = self.bound <= self.value + max(self.close, tolerance.OBJECTIVE / 2)
        return (self.plan is not None and near) or self.watch.over

    def run(self, nodes: int | None) -> bool:
        """Search; say whether there can be a plan."""
        relaxed = self.relaxed
        relaxed.solve()
        live = relaxed.live  # it may be another one since: pairs that were left out came in
        if live.impossible:
            return False
        if live.solved:
            self.bound = relaxed.bound
            added = relaxed.added
            small = len(relaxed.task.pairs) <= FEW_PAIRS
            for size in CORES_TRIED[:1] if small else CORES_TRIED:
                self._take(dive(relaxed.task, live, self.watch, cores=(size,)))
                live.solve()
                if self.done:
                    return True
            if not small:
                self._take(self._with_open_pens())
            if self.plan is not None and not self.done:
                self._search_the_rest(added, nodes)
        return self._from_nothing(nodes) if self.plan is None and not self.watch.over else True

    def _take(self, found: Amounts | None) -> None:
        if found is not None and float(self.cost @ found) > self.value:
            self.plan, self.value = found, float(self.cost @ found)

    def _with_open_pens(self) -> Amounts | None:
        part, kept, values = core(self.relaxed.task, self.relaxed.live, OPEN_CORE, pens_open=True)
        options = {**FEW_SIDE_SEARCHES, "mip_rel_gap": 0.0, "mip_max_nodes": SIDE_NODES}
        options["mip_abs_gap"] = self.close / 2
        return solve_part(part, kept, values, options, self.watch)

    def _search_the_rest(self, added: Amounts, nodes: int | None) -> None:
        """Search what the plan in hand and the bound leave open."""
        program = self.relaxed.task.program
        least = self.value + self.close
        columns, values = unsettled(program, self.bound, added, least)
        part = narrowed(program, columns, values)
        options: dict[str, Any] = from_a_plan(part.program) | limits_of(self.watch.left(), nodes)
        options["mip_abs_gap"] = self.close
        options["objective_bound"] = part.offset - least - tolerance.OBJECTIVE
        ended = run_highs(part.program, options, watch=self.watch)
        if part.program.values is not None:
            self._take(part.full(part.program.values))
        left = least
        if ended.outcome is not Outcome.NONE:
            left = max(least, ended.bound + part.offset)
        self.bound = max(self.value, min(self.bound, left))

    def _from_nothing(self, nodes: int | None) -> bool:
        """Search the whole program where the dives found no plan."""
        program = self.relaxed.task.program
        options = FROM_NOTHING | limits_of(self.watch.left(), nodes)
        ended = run_highs(program, options, watch=self.watch)
        if ended.outcome is Outcome.NONE:
            return False
        if ended.outcome is not None:
            self._take(program.values)
            self.bound = min(self.bound, max(self.value, ended.bound))
        return True


class Responder:
    """Solves one posed problem for several numbers of moves, or without some of its birds."""

    def __init__(self, problem: PlanProblem, watch: Watch | None = None) -> None:
        self.problem = problem
        self.watch = watch or Watch()
        self._model: Model | None = None
        self._relaxed: Relaxed | None = None
        self._found: dict[tuple[PlannedPen, ...], Amounts] = {}

    def best(
        self,
        most: int | None = None,
        *,
        close: float = 0.0,
        nodes: int | None = None,
        without: Iterable[str] = (),
    ) -> Answer | None:
        """Return the best plan that moves so many birds at most; ``None`` where there is none.

        It is best to within ``close``, in wanted chicks, or within what the search over ``nodes``
        leaves open; its bound says how near it is. ``without`` are birds that get no place.

        Raises
        ------
        SolverStoppedError
            If the search was stopped, or ended, before there was a plan.
        """
        if choose_solver(None) != "highs":
            return self._by_another_solver(most, without)
        with quiet_stdout():
            model, relaxed = self._prepared()
            held = {column: 0.0 for bird in without for column in _places_of(model, bird)}
            if most is not None:
                held[model.moved] = float(most)
            with _at_most(model, relaxed, held):
                now = _Search(relaxed, self.watch, close)
                possible = now.run(nodes)
        if not possible:
            return None
        if now.plan is None:
            raise SolverStoppedError("no response was found before the search was stopped")
        answer = self._read(model, now.plan, max(now.value, now.bound))
        self._found[answer.pens] = now.plan
        return answer

    def settled(self, answer: Answer, ordered: Iterable[tuple[str, str]] = ()) -> Answer:
        """Of responses of the same value and no more moves, one whose pairs are worth more in full.

        One that keeps what is ``ordered`` already, (bird, pen), goes before. What a line has
        beyond its needs counts nothing in the value, but it is a better response that leaves no
        pen without its cock. The first such one that is found stands; the search ends after a
        fixed number of nodes.
        """
        if choose_solver(None) != "highs" or answer.pens not in self._found:
            return answer
        model = build(self.problem)
        model.program.upper[model.moved] = float(answer.moves)
        model.at_least(model.value, answer.value - tolerance.OBJECTIVE / 2)
        importance = {goal.line: goal.importance for goal in self.problem.lines}
        worth = {
            column: importance.get(one.line, 0.0) * one.value + MORE_CHICKS * one.wanted
            for column, one in zip(model.x, model.layout.candidates, strict=True)
        }
        wanted = frozenset(ordered)
        for column, one in zip(model.x, model.layout.candidates, strict=True):
            worth[column] += ORDERED * ((one.hen, one.turn) in wanted)
        for (slot, _), column in model.y.items():
            worth[column] = ORDERED * ((slot.cock, slot.turn) in wanted)
        model.maximise(worth)
        try:
            run(
                model.program,
                "highs",
                time_limit=self.watch.left(),
                start=self._found[answer.pens],
                node_limit=TIE_NODES,
            )
        except SolverStoppedError:
            return answer
        if model.program.values is None:
            return answer
        better = self._read(model, model.program.values, answer.bound)
        return better if better.value >= answer.value - tolerance.OBJECTIVE else answer

    def _prepared(self) -> tuple[Model, Relaxed]:
        if self._model is None or self._relaxed is None:
            self._model = build(self.problem)
            self._relaxed = Relaxed(task_of(self._model), self.watch)
        return self._model, self._relaxed

    def _read(self, model: Model, values: Amounts, bound: float) -> Answer:
        model.program.values = values
        pens = decode(model)
        score = evaluate(self.problem, pens)
        if score.broken:
            raise WrongPlanError(score.broken)
        return Answer(
            pens=pens,
            value=score.value,
            bound=max(bound, score.value),
            lines=score.lines,
            moved=birds_moved(self.problem, pens),
        )

    def _by_another_solver(self, most: int | None, without: Iterable[str]) -> Answer | None:
        moves, banned = self.problem.moves, frozenset(without)
        problem = replace(
            self.problem,
            moves=None if moves is None else replace(moves, most=most),
            candidates=tuple(
                one for one in self.problem.candidates if banned.isdisjoint((one.hen, one.cock))
            ),
        )
        try:
            found = solve_plan(problem, stages=False, watch=self.watch)
        except NoPlanError:
            return None
        return Answer(
            pens=found.pens,
            value=found.value,
            bound=found.proof.bound,
            lines=found.lines,
            moved=birds_moved(problem, found.pens),
        )


def _places_of(model: Model, bird: str) -> Iterator[int]:
    """The columns of the pens that a cock may get, or of the pairs that a hen may be in."""
    yield from (column for (slot, _), column in model.y.items() if slot.cock == bird)
    for column, one in zip(model.x, model.layout.candidates, strict=True):
        if one.hen == bird:
            yield column


@contextlib.contextmanager
def _at_most(model: Model, relaxed: Relaxed, held: Mapping[int, float]) -> Iterator[None]:
    """Within this block columns are at most so much."""
    program = model.program
    were = {column: program.upper[column] for column in held}
    for column, most in held.items():
        program.upper[column] = min(were[column], most)
        relaxed.live.hold(column, program.lower[column], program.upper[column])
    try:
        yield
    finally:
        for column, was in were.items():
            program.upper[column] = was
            relaxed.live.hold(column, program.lower[column], was)
