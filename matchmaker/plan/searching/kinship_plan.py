"""The best plan where the kinship of its parents as a group has a limit, a price, or both."""

from __future__ import annotations

import math
import time
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from matchmaker import tolerance
from matchmaker.errors import NoPlanError, SolverStoppedError
from matchmaker.plan.arithmetic.result import Outcome, PlannedPen, Proof, Solution
from matchmaker.plan.arithmetic.verify import WrongPlanError, evaluate, verify
from matchmaker.plan.program.decode import chosen
from matchmaker.plan.program.program import INFINITE
from matchmaker.plan.searching.conflict import find_conflict
from matchmaker.plan.searching.kinship_aim import Aim, NoSuchPlanError
from matchmaker.plan.searching.kinship_search import NEAREST, GroupSearch
from matchmaker.plan.searching.solve import solve_plan
from matchmaker.plan.searching.stages import Clock, settle_pens
from matchmaker.plan.solvers.engine import TIME_RAN_OUT, choose_solver, solver_version
from matchmaker.plan.solvers.watch import Watch, listening

if TYPE_CHECKING:
    from matchmaker.plan.posing.problem import GroupKinship, PlanProblem
    from matchmaker.plan.program.program import Amounts
    from matchmaker.plan.searching.kinship_aim import Found
    from matchmaker.plan.solvers.engine import SolverName

NONE_FOUND: Final = (
    "no plan was found, nor the proof that there is none: raise group_kinship_max in "
    "matchmaker.toml, or take one of the plans that plan --frontier lists"
)

KEEP_NODES: Final = 20
"""Nodes of the search for an equal plan that keeps more of the standing one."""

MANY_PAIRS: Final = 400
"""Measured on a flock of 424 allowed pairs: a dive takes a second and comes as near as a search of
five, which proves a little more of it."""

PART_OF_NODES: Final = 0.2
"""Under a limit each node takes longer: so many of the usual nodes are searched a round."""


def with_pairs_fixed(
    problem: PlanProblem, *, solver: SolverName | None = None, watch: Watch | None = None
) -> PlanProblem:
    """Return the problem with its number of pairs fixed, where it is not.

    It is that of the best plan without limit or price (of the best found, where the watch ends that
    search): with the number left open, what kinship costs would mix with how many birds breed.

    Raises
    ------
    NoPlanError
        If there is no plan even so.
    SolverStoppedError
        If time ran out before any plan was found.
    """
    if problem.limits.pairs is not None:
        return problem
    free = solve_plan(replace(problem, group=None), solver=solver, stages=False, watch=watch)
    pairs = sum(len(pen.pairs) for pen in free.pens)
    return replace(problem, limits=replace(problem.limits, pairs=pairs))


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """A plan by column, its value and group kinship, and by how much it may miss its aim.

    ``gap`` is in what was sought: wanted chicks, or kinship where the least was.
    """

    values: Amounts
    value: float
    kinship: float
    gap: float


class KinshipSolver:
    """Plans of one problem with its number of pairs, for any price or limit of kinship.

    The limit and the price that ``group`` states are left to the caller. All solves share one
    program, and what one learns serves the next. ``nearest`` is near how many plans just above a
    limit one within it is looked for.

    Raises
    ------
    ValueError
        If the number of pairs is not fixed.
    """

    def __init__(
        self,
        problem: PlanProblem,
        group: GroupKinship,
        *,
        solver: SolverName | None = None,
        watch: Watch | None = None,
        nearest: int = NEAREST,
    ) -> None:
        if problem.limits.pairs is None:
            msg = "the number of pairs must be fixed before kinship is weighed"
            raise ValueError(msg)
        begun = time.perf_counter()
        self.problem = problem
        self.pairs = problem.limits.pairs
        self.solver = choose_solver(solver)
        self.watch = watch or Watch()
        self.scale = 4.0 * max(1, self.pairs) ** 2
        self._search = GroupSearch(
            replace(problem, group=None), group, self.solver, self.watch, nearest
        )
        self.build_seconds = time.perf_counter() - begun

    @property
    def many_pairs(self) -> bool:
        """Whether a search takes so long that a frontier makes do with dives between its ends."""
        return len(self._search.model.x) > MANY_PAIRS

    def start_from(self, pens: tuple[PlannedPen, ...]) -> None:
        """Take note of a plan of the problem: no search then ends without any.

        Raises
        ------
        ValueError
            If it is none of this problem.
        """
        self._search.adopt(pens)

    def best(
        self, price: float = 0.0, limit: float | None = None, *, rounds: int | None = None
    ) -> Point:
        """Return the plan of the best value - 100 price kinship, within a limit if given.

        ``rounds`` is how often what a dive leaves open is searched, 0 for not at all; the gap then
        says what is left.

        Raises
        ------
        NoPlanError
            If there is no plan; below the least kinship possible with what that is.
        SolverStoppedError
            If time ran out before any plan was found.
        """
        search = self._search
        goal = {search.value: 1.0, search.kinship: -100 * price / self.scale}
        if limit is None:
            return self._found_at_all(Aim(goal=goal), rounds)
        aim = Aim(goal=goal, kinship_max=self.scale * limit + tolerance.OBJECTIVE / 2)
        try:
            return self._found(aim, search.nodes(PART_OF_NODES), rounds)
        except NoSuchPlanError:
            raise NoPlanError((self._too_low(limit),)) from None
        except SolverStoppedError:
            # A tight limit leaves few plans: the one of least kinship is a start if it keeps it.
            if self.watch.over or self.least().kinship > limit:
                raise
            return self._found(aim, search.nodes(PART_OF_NODES))

    def _too_low(self, limit: float) -> str:
        """Say that a limit is below what is possible, and what is possible."""
        least = self.least()
        what = f"the parents' kinship as a group at most {limit:g}"
        known = "the least possible" if least.gap == 0 else "the least found"
        return f"{what}: {known} with {self.pairs} pairs is {_up(least.kinship):.4f}"

    def least(self, value: float = -INFINITE, *, rounds: int | None = None) -> Point:
        """Return the plan of the least kinship among those of at least this value.

        ``rounds`` as in ``best``.

        Raises
        ------
        NoPlanError, SolverStoppedError
            As ``best``.
        """
        aim = Aim(goal={self._search.kinship: -1.0}, value_min=value - tolerance.OBJECTIVE / 2)
        point = self._found_at_all(aim, rounds)
        return replace(point, gap=point.gap / self.scale)

    def keeping(self, point: Point) -> Point:
        """Return an equally good plan that keeps more pairs of the standing one, if soon found."""
        search, candidates = self._search, self._search.model.layout.candidates
        kept = [at for at, one in enumerate(candidates) if one.kept]
        if not kept or self.watch.over:
            return point
        aim = Aim(
            goal=search.model.taken(kept),
            kinship_max=self.scale * point.kinship + tolerance.OBJECTIVE / 2,
            value_min=point.value - tolerance.OBJECTIVE / 2,
        )
        try:
            found = search.best(aim, nodes=KEEP_NODES, rounds=1)
        except (NoSuchPlanError, SolverStoppedError):
            return point
        return point if found is None else replace(self._point(found), gap=point.gap)

    def solution(self, point: Point, seconds: float) -> Solution:
        """Return a point as a solution with its pens, checked against its problem.

        ``seconds`` is how long it took to find.

        Raises
        ------
        WrongPlanError
            If it breaks the problem or its value is not what the program says: a bug.
        """
        model = self._search.model
        model.program.values = point.values
        pens = settle_pens(model, Clock(self.solver, self.watch.until, watch=self.watch))
        score = evaluate(self.problem, pens)
        if abs(score.value - point.value) > tolerance.OBJECTIVE * max(1.0, abs(score.value)):
            words = f"the solver says {point.value}, the plan is worth {score.value}"
            raise WrongPlanError((words,))
        solution = Solution(
            outcome=Outcome.OPTIMAL if point.gap == 0 else Outcome.FEASIBLE,
            pens=pens,
            lines=score.lines,
            value=score.value,
            proof=self._proof(score.value, point.gap, seconds),
        )
        verify(self.problem, solution)
        return solution

    def _found_at_all(self, aim: Aim, rounds: int | None = None) -> Point:
        try:
            return self._found(aim, self._search.nodes(), rounds)
        except NoSuchPlanError:
            problem = replace(self.problem, group=None)
            raise NoPlanError(find_conflict(problem, solver=self.solver)) from None

    def _found(self, aim: Aim, nodes: int, rounds: int | None = None) -> Point:
        found = self._search.best(aim, nodes=nodes, rounds=rounds)
        if found is None:
            if self.watch.stopped:
                raise KeyboardInterrupt
            raise SolverStoppedError(TIME_RAN_OUT if self.watch.over else NONE_FOUND)
        return self._point(found)

    def _point(self, found: Found) -> Point:
        """Read a plan off; what lines count is counted anew, which an aim may have left open."""
        search = self._search
        search.model.program.values = found.values
        pairs = chosen(search.model)
        value = evaluate(self.problem, [PlannedPen(pen="", cock="", pairs=pairs)]).value
        if value > found.values[search.value] + tolerance.OBJECTIVE:
            search.adopt((PlannedPen(pen="", cock="", pairs=pairs),))
        return Point(
            values=found.values,
            value=value,
            kinship=float(found.values[search.kinship]) / self.scale,
            gap=0.0 if found.proved else found.bound - found.goal,
        )

    def _proof(self, value: float, gap: float, seconds: float) -> Proof:
        return Proof(
            best_value=value,
            bound=value + gap,
            gap=gap / max(1.0, abs(value)),
            solver=self.solver,
            solver_version=solver_version(self.solver),
            build_seconds=self.build_seconds,
            solve_seconds=seconds,
            stopped=self.watch.stopped_by if gap else "",
        )


def solve_group(
    problem: PlanProblem,
    *,
    solver: SolverName | None = None,
    time_limit: float | None = None,
    watch: Watch | None = None,
) -> Solution:
    """Return the best plan under the limit and the price of the parents' kinship as a group.

    ``value`` and ``proof.best_value`` are the value of that plan without price. With a price the
    best plan is that of the best value - 100 price kinship, and ``proof.bound`` is its value and
    the gap of that difference: not a bound on the value alone, which other plans may exceed.

    Raises
    ------
    ValueError
        If the problem has no terms of kinship.
    NoPlanError
        If no plan satisfies the problem; where the limit is to blame, with the least kinship
        possible.
    SolverStoppedError
        If time ran out before any plan was found.
    """
    if problem.group is None:
        msg = "the problem has no terms of kinship"
        raise ValueError(msg)
    begun = time.perf_counter()
    watch = watch or Watch()
    if time_limit is not None:
        watch.until = begun + time_limit
    with listening(watch):
        fixed = with_pairs_fixed(problem, solver=solver, watch=watch)
        search = KinshipSolver(fixed, problem.group, solver=solver, watch=watch)
        point = _best_within(search, problem.group)
        if point.gap == 0:
            point = search.keeping(point)
        return search.solution(point, time.perf_counter() - begun)


def _best_within(search: KinshipSolver, group: GroupKinship) -> Point:
    """The best plan for the price, and if that passes the limit, the best within it."""
    price, limit = group.price or 0.0, group.limit
    free = search.best(price)
    if limit is None or free.kinship <= limit + tolerance.LIMIT:
        return free
    return search.best(price, limit)


def _up(kinship: float) -> float:
    """Kinship rounded up to what is printed: written as a limit it can be kept.

    >>> _up(0.28771), _up(0.25)
    (0.2878, 0.25)
    """
    return math.ceil(kinship * 10_000 - tolerance.OBJECTIVE) / 10_000
