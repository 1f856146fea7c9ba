"""The search for plans by value and kinship of the group, the number of pairs being given.

One program serves any number of searches: each may pay for kinship, keep it under a limit, or ask
for as little as can be; what one learns of squares (``kinship_cuts``) and of plans the next has.
Each goes round in the same way: the relaxed program, with the lines it needs; a plan to start from;
what plan and bound leave open (``narrowing``), searched; the lines which that plan needs.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from matchmaker import tolerance
from matchmaker.errors import SolverStoppedError
from matchmaker.plan.arithmetic.result import Outcome
from matchmaker.plan.program.kinship_cuts import add_kinship
from matchmaker.plan.program.model import build
from matchmaker.plan.program.program import INFINITE
from matchmaker.plan.searching.dive import dive
from matchmaker.plan.searching.kinship_aim import Aim, Found, NoSuchPlanError, amount
from matchmaker.plan.searching.kinship_start import dive_at_prices, look_near
from matchmaker.plan.searching.narrowing import narrowed, unsettled
from matchmaker.plan.searching.room_cuts import add_room_cuts
from matchmaker.plan.searching.task import task_of
from matchmaker.plan.solvers.engine import FROM_NOTHING, from_a_plan, limits_of, run
from matchmaker.plan.solvers.highs_run import run_highs
from matchmaker.plan.solvers.live import Live
from matchmaker.plan.solvers.quiet import quiet_stdout

if TYPE_CHECKING:
    from matchmaker.plan.arithmetic.result import PlannedPen
    from matchmaker.plan.posing.problem import GroupKinship, PlanProblem
    from matchmaker.plan.program.kinship_cuts import Line
    from matchmaker.plan.program.program import Amounts
    from matchmaker.plan.solvers.engine import SolverName
    from matchmaker.plan.solvers.watch import Watch

MOST_RELAXED: Final = 60
"""Rounds of lines added to the relaxed program; the usual number is five."""

FEW_PAIRS: Final = 150
MOST_NODES: Final = 20_000
MOST_ROUNDS: Final = 20
"""With so few pairs searches are short, and go on until nothing is left to prove."""

FAR: Final = 0.005
"""A plan further than this below the bound, in parts of its value, is a poor one to start from."""

NEAR_ENOUGH: Final = 0.01
"""With a plan this near the bound of a limit no other is looked for."""

NEAREST: Final = 3
"""Plans just above a limit near which one within it is looked for."""

ROUNDS: Final = 2
"""Searches of one aim: the second nearly always proves what the first found. What is left is stated
as the gap: on a flock of 424 allowed pairs more rounds took ten times as long for a percent."""


NODES_OF_PAIRS: Final = 6_000
"""Nodes times allowed pairs that one round may take."""


class GroupSearch:
    """The program of a problem with kinship in it, and the plans met so far.

    ``value`` and ``kinship`` are columns: the plan's value, and vᵀKv.
    """

    def __init__(
        self,
        problem: PlanProblem,
        group: GroupKinship,
        solver: SolverName,
        watch: Watch,
        nearest: int = NEAREST,
    ) -> None:
        self.model = build(problem)
        self.cuts = add_kinship(self.model, group)
        self.kinship = self.cuts.kinship
        self.value = self.model.column(-INFINITE, INFINITE, whole=False)
        self.model.exactly(self.model.value | {self.value: -1.0}, 0)
        self.solver: SolverName = solver
        self.watch = watch
        self.most_near = nearest
        self.plans: list[Amounts] = []
        self.bound = INFINITE
        self.added: Amounts = np.zeros(self.model.program.width)
        self.task = task_of(self.model)
        with quiet_stdout():
            self._live = Live(self.model.program, None, watch) if solver == "highs" else None

    def nodes(self, share: float = 1.0) -> int:
        """Nodes of a search: fewer where each takes longer. A count ends the same every time."""
        return max(
            MOST_NODES if len(self.model.x) <= FEW_PAIRS else 20,
            int(share * NODES_OF_PAIRS / max(1, len(self.model.x))),
        )

    def adopt(self, pens: tuple[PlannedPen, ...]) -> None:
        """Take note of a plan made elsewhere."""
        taken = {pair for pen in pens for pair in pen.pairs}
        program = self.model.program
        kept = np.array(sorted(set(range(program.width)) - set(self.model.x)), dtype=np.int32)
        values = np.zeros(program.width)
        for column, one in zip(self.model.x, self.model.layout.candidates, strict=True):
            values[column] = float(one in taken)
        self._reset(Aim(goal={self.value: 1.0}))
        part = program.part(kept, values)
        if run(part, self.solver).outcome is Outcome.NONE or part.values is None:
            raise ValueError("the plan is none of this problem")
        values[kept] = part.values
        self.meet(values)

    def relax(self, aim: Aim) -> bool:
        """Solve the relaxed program of an aim, with all lines and rows that it needs.

        ``bound`` and ``added`` say how it ended: infinite and nothing, where the watch ended it.
        ``False``: not even that has a plan.
        """
        self._reset(aim)
        live = self._live
        if live is None:
            return True
        self.bound, self.added = INFINITE, np.zeros(self.model.program.width)
        with quiet_stdout():
            live.solve()
            for _ in range(MOST_RELAXED):
                if not live.solved:
                    break
                self.bound, self.added = live.value, live.added()
                if not self._tighten(live):
                    break
                live.solve()
        return not live.impossible

    def _tighten(self, live: Live) -> bool:
        """Add what the relaxed program's solution breaks; say whether there was anything."""
        rows = add_room_cuts(self.task, live)
        return bool(live.solved and (self.cut(live.solution()) or rows))

    def best(
        self, aim: Aim, *, nodes: int | None = None, rounds: int | None = None
    ) -> Found | None:
        """Search for the best plan of an aim; ``None`` if it ended with neither plan nor proof.

        Raises
        ------
        NoSuchPlanError
            If there is none.
        """
        if not self.relax(aim):
            raise NoSuchPlanError
        bound = self.bound
        best = self._start(aim)
        few = len(self.model.x) <= FEW_PAIRS
        for _ in range((MOST_ROUNDS if few else ROUNDS) if rounds is None else rounds):
            if self.watch.over or (best is not None and self._found(aim, best, bound).proved):
                break
            values, proved = self._search(aim, best, nodes)
            bound = min(bound, proved)
            best = self.known(aim)
            if values is None or not self.cut(values):
                break
            self.relax(aim)
            bound = min(bound, self.bound)
        return None if best is None else self._found(aim, best, bound)

    def _start(self, aim: Aim) -> Amounts | None:
        """A plan to start from: one met before, or where that is poor, one looked for."""
        if self._is_near(aim, self.known(aim)):
            return self.known(aim)
        self.dive()
        limited = aim.kinship_max < INFINITE
        if limited and self._live is not None:
            self._keep_limit(aim)
        if self._live is not None and (limited or self.value not in aim.goal):
            for plan in self.nearest(aim):
                if not self._is_near(aim, self.known(aim), NEAR_ENOUGH):
                    look_near(self, self._live, aim, plan)
        return self.known(aim)

    def _keep_limit(self, aim: Aim) -> None:
        """Look for a plan that keeps the limit of an aim, where none is known."""
        if self.known(aim) is None:
            dive_at_prices(self, aim)
        least = aim.for_least(self.kinship)
        if self.known(aim) is None and self.relax(least):
            self._start(least)
            self.relax(aim)

    def _is_near(self, aim: Aim, plan: Amounts | None, within: float = FAR) -> bool:
        """Whether a plan is near the bound, in parts of its value, or of all that is asked for."""
        if plan is None:
            return False
        goal = amount(aim.goal, plan)
        whole = plan[self.value] if self.value in aim.goal else goal
        return bool(self.bound - goal <= within * abs(whole))

    def _found(self, aim: Aim, best: Amounts, bound: float) -> Found:
        return Found(values=best, goal=amount(aim.goal, best), bound=bound)

    def _reset(self, aim: Aim) -> None:
        """Put an aim into the program and its relaxed twin."""
        program = self.model.program
        program.maximise(aim.goal)
        program.upper[self.kinship] = aim.kinship_max
        program.lower[self.value] = aim.value_min
        if self._live is not None:
            with quiet_stdout():
                self._live.aim(np.array(program.cost))
                self._live.hold(self.kinship, 0.0, aim.kinship_max)
                self._live.hold(self.value, aim.value_min, INFINITE)

    def cut(self, values: Amounts) -> list[Line]:
        """Add the lines that values fall below to the program and its relaxed twin."""
        lines = self.cuts.cut(values)
        if self._live is not None:
            for line in lines:
                columns = np.array([line.s, line.g], dtype=np.int32)
                self._live.row(columns, np.array([1.0, -line.slope]), line.start, INFINITE)
        return lines

    def meet(self, values: Amounts) -> None:
        """Take note of a plan, its kinship and value as they truly are."""
        full = self.cuts.completed(values)
        full[self.value] = amount(self.model.value, full)
        pairs = full[self.model.x]
        same = [one for one in self.plans if np.array_equal(pairs, one[self.model.x])]
        if all(one[self.value] < full[self.value] - tolerance.OBJECTIVE for one in same):
            # An aim that leaves the value out leaves what lines count open: it may come better.
            self.plans = [one for one in self.plans if all(one is not other for other in same)]
            self.plans.append(full)

    def known(self, aim: Aim) -> Amounts | None:
        """The best plan met so far that keeps to an aim."""
        fitting = [
            plan
            for plan in self.plans
            if plan[self.kinship] <= aim.kinship_max + tolerance.OBJECTIVE
            and plan[self.value] >= aim.value_min - tolerance.OBJECTIVE
        ]
        return max(fitting, key=lambda plan: amount(aim.goal, plan), default=None)

    def nearest(self, aim: Aim) -> list[Amounts]:
        """The best plan that keeps to an aim, and a few that pass its limit by least."""
        above = [
            plan
            for plan in self.plans
            if plan[self.kinship] > aim.kinship_max and plan[self.value] >= aim.value_min
        ]
        above.sort(key=lambda plan: plan[self.kinship])
        best = self.known(aim)
        return above[: self.most_near] if best is None else [best, *above[: self.most_near]]

    def dive(self) -> Amounts | None:
        """Dive from the relaxed program as it stands; the plan found, if one is."""
        if self._live is None or not self._live.solved or self.watch.over:
            return None
        with quiet_stdout():
            found = dive(self.task, self._live, self.watch)
            self._live.solve()
        if found is not None:
            self.meet(found)
            found = self.cuts.completed(found)
        return found

    def _search(
        self, aim: Aim, best: Amounts | None, nodes: int | None
    ) -> tuple[Amounts | None, float]:
        """Search what is open: the plan found, as the program has it, and the bound proved."""
        if self.solver != "highs":
            return self._search_slowly(nodes)
        program = self.model.program
        if best is None:
            limits = limits_of(self.watch.left(), nodes)
            with quiet_stdout():
                ended = run_highs(program, FROM_NOTHING | limits, watch=self.watch)
            if ended.outcome is Outcome.NONE:
                raise NoSuchPlanError
            return self._take(program.values if ended.outcome else None), ended.bound
        return self._search_part(aim, best, nodes)

    def _search_part(
        self, aim: Aim, best: Amounts, nodes: int | None
    ) -> tuple[Amounts | None, float]:
        """Search what the plan in hand and the bound leave open, from that plan."""
        goal = amount(aim.goal, best)
        program = self.model.program
        part = narrowed(program, *unsettled(program, self.bound, self.added, goal))
        options = from_a_plan(part.program) | limits_of(self.watch.left(), nodes)
        with quiet_stdout():
            ended = run_highs(part.program, options, start=best[part.columns], watch=self.watch)
        if ended.outcome is Outcome.NONE or not len(part.columns):
            return None, goal
        values = part.program.values
        bound = max(goal, ended.bound + part.offset)
        return self._take(None if values is None else part.full(values)), bound

    def _search_slowly(self, nodes: int | None) -> tuple[Amounts | None, float]:
        """By the other solver, over the whole program and from nothing."""
        program = self.model.program
        try:
            ended = run(program, self.solver, time_limit=self.watch.left(), node_limit=nodes)
        except SolverStoppedError:
            return None, INFINITE
        if ended.outcome is Outcome.NONE:
            raise NoSuchPlanError
        return self._take(program.values), ended.bound

    def _take(self, values: Amounts | None) -> Amounts | None:
        if values is not None:
            self.meet(values)
        return values
