"""From the best value to the least kinship of the parents: plans that no other beats in both.

Ends first; then, between two neighbours, the price at which both are worth the same: a plan better
at that price lies between them, and if there is none, none is best at any price between (dichotomy,
Aneja and Nair 1979, from memory). Plans that are best at no price are found by limits, in the
widest gaps, where there are fewer others than asked for.
"""

from __future__ import annotations

import contextlib
import time
from dataclasses import dataclass, field, replace
from functools import partial
from itertools import pairwise
from typing import TYPE_CHECKING, Final, TypeAlias

from matchmaker import tolerance
from matchmaker.errors import NoPlanError, SolverStoppedError
from matchmaker.plan.program.program import INFINITE
from matchmaker.plan.searching.kinship_plan import KinshipSolver, with_pairs_fixed
from matchmaker.plan.solvers.watch import Watch, listening

if TYPE_CHECKING:
    from collections.abc import Callable, Collection

    from matchmaker.plan.arithmetic.result import Solution, Stopped
    from matchmaker.plan.posing.problem import GroupKinship, PlanProblem
    from matchmaker.plan.searching.kinship_plan import Point

    Look: TypeAlias = Callable[[Point, Point, "FrontierSearch"], Point | None]

POINTS: Final = 11
"""Plans that are asked for unless told otherwise."""

SAME_KINSHIP: Final = 1e-7
"""Kinships of groups closer than this are the same: far below what a table shows."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FrontierPoint:
    """One plan of the frontier; ``number`` counts from 1, the best value first.

    ``kinship`` is that of the parents as a group, ``mean_inbreeding`` the mean over pairs of their
    chicks'. ``gap`` is how much more any plan of no more kinship could be worth, in wanted chicks.
    No plan is better while 0.01 of kinship costs from ``price_low`` to ``price_high`` wanted chicks
    (``None``: without end); both are ``None`` where that is not proved of any price.
    """

    number: int
    solution: Solution
    value: float
    kinship: float
    mean_inbreeding: float
    gap: float
    price_low: float | None
    price_high: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Frontier:
    """Plans of ``pairs`` pairs each, from the best value to the least kinship.

    ``kinship_gap`` is how much less kinship than the last a plan could have. ``stopped`` says what
    ended the search while there may have been more to find.
    """

    pairs: int
    points: tuple[FrontierPoint, ...]
    seconds: float
    kinship_gap: float = 0.0
    stopped: Stopped = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bound:
    """No plan within ``limit`` has a value of more than ``most`` + 100 ``price`` · its kinship."""

    price: float
    limit: float
    most: float

    def on(self, kinship: float) -> float:
        """Return the most that plans of no more kinship can be worth; infinite if it tells none."""
        within = kinship <= self.limit + tolerance.LIMIT
        return self.most + 100 * self.price * kinship if within else INFINITE


@dataclass(frozen=True, slots=True, kw_only=True)
class FrontierSearch:
    """What looks for plans, for how many, who is told of each, and what was proved on the way.

    ``closed`` are the steps between which no plan is best at any price, by the kinship of both.
    """

    solver: KinshipSolver
    points: int
    found: Callable[[int], None]
    bounds: list[Bound] = field(default_factory=list)
    closed: set[tuple[float, float]] = field(default_factory=set)

    def best(
        self, price: float = 0.0, limit: float | None = None, *, rounds: int | None = None
    ) -> Point:
        """As ``KinshipSolver.best``; keeps the bound that it proves."""
        point = self.solver.best(price, limit, rounds=rounds)
        most = _worth(point, price) + point.gap
        self.bounds.append(
            Bound(price=price, limit=INFINITE if limit is None else limit, most=most)
        )
        return point

    @property
    def rounds(self) -> int | None:
        """How often to search between the ends: as usual; only to dive where searches are long."""
        return 0 if self.solver.many_pairs else None

    def gap(self, point: Point) -> float:
        """How much more any plan of no more kinship than a point's can be worth."""
        most = min(bound.on(point.kinship) for bound in self.bounds)
        gap = max(0.0, most - point.value)
        return 0.0 if gap <= tolerance.OBJECTIVE * max(1.0, abs(point.value)) else gap


def frontier(
    problem: PlanProblem,
    group: GroupKinship | None = None,
    points: int = POINTS,
    *,
    watch: Watch | None = None,
    found: Callable[[int], None] | None = None,
) -> Frontier:
    """Return up to so many plans between the best value and the least kinship of the parents.

    All have the number of pairs of the best plan (``with_pairs_fixed``). A limit or price in the
    terms of kinship counts nothing here.

    Parameters
    ----------
    problem
        What is allowed, wanted and demanded.
    group
        Terms of kinship (``kinship_terms``), where the problem has none of its own.
    points
        How many plans, two or more; fewer are returned where no more exist.
    watch
        As in ``solve_plan``; one that ends early leaves the points found so far.
    found
        Told the number of plans found, each time before more are looked for.

    Raises
    ------
    ValueError
        If there are no terms of kinship, or fewer than two points are asked for.
    NoPlanError
        If there is no plan.
    SolverStoppedError
        If time ran out before the first plan was found.
    """
    terms = group or problem.group
    if terms is None or points < 2:
        msg = "terms of kinship are missing" if terms is None else "a frontier has two ends"
        raise ValueError(msg)
    begun = time.perf_counter()
    watch = watch or Watch()
    with listening(watch):
        fixed = with_pairs_fixed(replace(problem, group=None), watch=watch)
        search = FrontierSearch(
            solver=KinshipSolver(fixed, terms, watch=watch, nearest=1),
            points=points,
            found=found or (lambda _: None),
        )
        line, least = _ends(search)
        line = _filled(line, _at_a_price, search)
        line = _filled(line, _under_a_limit, search)
        kinship_gap = max(0.0, line[-1].kinship - least)
        seconds = time.perf_counter() - begun
        made = _numbered(search, line, seconds, least_proved=kinship_gap <= SAME_KINSHIP)
    return Frontier(
        pairs=search.solver.pairs,
        points=made,
        seconds=seconds,
        kinship_gap=kinship_gap if kinship_gap > SAME_KINSHIP else 0.0,
        stopped=watch.stopped_by if watch.over else "",
    )


def _ends(search: FrontierSearch) -> tuple[list[Point], float]:
    """The best value and the least kinship, each as good as can be in the other.

    Also a kinship that no plan goes below.
    """
    best = search.best()
    first = _or_else(best, search.solver.least(best.value)) if best.gap == 0 else best
    least = search.solver.least()
    last = least
    if least.gap == 0:
        with contextlib.suppress(NoPlanError, SolverStoppedError):
            last = search.best(limit=least.kinship)
    return _undominated([first, last]), least.kinship - least.gap


def _or_else(known: Point, other: Point) -> Point:
    return other if other.kinship < known.kinship else known


def _filled(line: list[Point], look: Look, search: FrontierSearch) -> list[Point]:
    """Look between the neighbours farthest apart, until there are enough plans or no more."""
    done: set[tuple[float, float]] = set()
    while len(line) < search.points and not search.solver.watch.over:
        search.found(len(line))
        steps = [step for step in pairwise(line) if _key(step) not in done]
        if not steps:
            break
        step = max(steps, key=partial(_width, line))
        done.add(_key(step))
        found = look(*step, search)
        line = line if found is None else _undominated([*line, found])
    return line


def _at_a_price(one: Point, other: Point, search: FrontierSearch) -> Point | None:
    """The plan best at the price at which two are worth the same, if it is better than they."""
    price = _price(one, other)
    found = search.best(price, rounds=search.rounds)
    if _worth(found, price) > _worth(one, price) + _near(one, price):
        return found
    if search.bounds[-1].on(one.kinship) <= one.value + _near(one, price):
        search.closed.add(_key((one, other)))
    return None


def _under_a_limit(one: Point, other: Point, search: FrontierSearch) -> Point | None:
    """The best plan under a limit half way between two, if one is found."""
    try:
        return search.best(limit=(one.kinship + other.kinship) / 2, rounds=search.rounds)
    except (NoPlanError, SolverStoppedError):
        return None


def _undominated(points: list[Point]) -> list[Point]:
    """The points in order, without those that another is as good as in both."""
    kept: list[Point] = []
    for point in sorted(points, key=lambda one: (-one.value, one.kinship)):
        if not kept or point.kinship < kept[-1].kinship - SAME_KINSHIP:
            kept.append(point)
    return kept


def _key(step: tuple[Point, Point]) -> tuple[float, float]:
    return step[0].kinship, step[1].kinship


def _width(line: list[Point], step: tuple[Point, Point]) -> float:
    """How far apart two neighbours are, in parts of the whole frontier."""
    one, other = step
    chicks = line[0].value - line[-1].value
    kinship = line[0].kinship - line[-1].kinship
    return (one.value - other.value) / chicks + (one.kinship - other.kinship) / kinship


def _price(one: Point, other: Point) -> float:
    """Wanted chicks for 0.01 of kinship at which two plans are worth the same."""
    return (one.value - other.value) / (100 * (one.kinship - other.kinship))


def _worth(point: Point, price: float) -> float:
    return point.value - 100 * price * point.kinship


def _near(point: Point, price: float) -> float:
    return tolerance.OBJECTIVE * max(1.0, abs(_worth(point, price)))


def _numbered(
    search: FrontierSearch, line: list[Point], seconds: float, *, least_proved: bool
) -> tuple[FrontierPoint, ...]:
    """The points with their pens, their gaps, and the prices at which each is best."""
    gaps = [search.gap(point) for point in line]
    ends = (gaps[0] == 0, gaps[-1] == 0 and least_proved)
    prices = _prices(line, search.closed, ends)
    made = []
    for number, (point, gap) in enumerate(zip(line, gaps, strict=True), start=1):
        solution = search.solver.solution(replace(point, gap=gap), seconds)
        pairs = [pair for pen in solution.pens for pair in pen.pairs]
        low, high = prices.get(point.kinship, (None, None))
        made.append(
            FrontierPoint(
                number=number,
                solution=solution,
                value=point.value,
                kinship=point.kinship,
                mean_inbreeding=sum(one.kinship for one in pairs) / max(1, len(pairs)),
                gap=gap,
                price_low=low,
                price_high=high,
            )
        )
    return tuple(made)


def _prices(
    line: list[Point], closed: Collection[tuple[float, float]], ends: tuple[bool, bool]
) -> dict[float, tuple[float, float | None]]:
    """From which price to which each point is proved best, by its kinship.

    Those are corners of the concave hull, along which prices rise, with a ``closed`` step to both
    sides; ``ends`` says whether the first and the last are proved to be the ends.
    """
    hull: list[Point] = []
    for point in line:
        while len(hull) > 1 and _price(hull[-2], hull[-1]) >= _price(hull[-1], point):
            hull.pop()
        hull.append(point)
    steps = list(pairwise(hull))
    proved = [ends[0], *(_key(step) in closed for step in steps), ends[1]]
    lows = [0.0, *(_price(*step) for step in steps)]
    highs = [*lows[1:], None]
    return {
        point.kinship: (lows[at], highs[at])
        for at, point in enumerate(hull)
        if proved[at] and proved[at + 1]
    }
