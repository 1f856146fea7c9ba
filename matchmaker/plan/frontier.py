"""From the best value to the least kinship of the parents: plans that no other beats in both.

Ends first; then, between two neighbours, the price at which both are worth the same: a plan better
at that price lies between them, and if there is none, none is best at any price between (dichotomy,
Aneja and Nair 1979, from memory). Plans that are best at no price are found by limits, in the
widest gaps, where there are fewer others than asked for.
"""

from __future__ import annotations

import time
from dataclasses import dataclass, replace
from functools import partial
from itertools import pairwise
from typing import TYPE_CHECKING, Final, TypeAlias

from matchmaker import tolerance
from matchmaker.errors import NoPlanError, SolverStoppedError
from matchmaker.plan.kinship_plan import KinshipSolver, with_pairs_fixed
from matchmaker.plan.watch import Watch, listening

if TYPE_CHECKING:
    from collections.abc import Callable

    from matchmaker.plan.engine import SolverName
    from matchmaker.plan.kinship_plan import Point
    from matchmaker.plan.problem import GroupKinship, PlanProblem
    from matchmaker.plan.result import Solution
    from matchmaker.plan.watch import Stopped

    Look: TypeAlias = Callable[[Point, Point, KinshipSolver], Point | None]

POINTS: Final = 11
"""Plans that are asked for unless told otherwise."""

SAME_KINSHIP: Final = 1e-7
"""Kinships of groups closer than this are the same: far below what a table shows."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FrontierPoint:
    """One plan of the frontier; ``number`` counts from 1, the best value first.

    ``kinship`` is that of the parents as a group, ``mean_inbreeding`` the mean over pairs of their
    chicks'. ``gap`` is how much better a plan could be in what this one was sought for, in wanted
    chicks or, where ``of_kinship``, in kinship. The plan is the best one while 0.01 of kinship
    costs from ``price_low`` to ``price_high`` wanted chicks (``None``: without end); both are
    ``None`` for a plan that is best under a limit only.
    """

    number: int
    solution: Solution
    value: float
    kinship: float
    mean_inbreeding: float
    gap: float
    of_kinship: bool
    price_low: float | None
    price_high: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Frontier:
    """Plans of ``pairs`` pairs each, from the best value to the least kinship.

    ``stopped`` says what ended the search while there may have been more to find.
    """

    pairs: int
    points: tuple[FrontierPoint, ...]
    seconds: float
    stopped: Stopped = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class FrontierSearch:
    """What looks for plans, for how many, and who is told of each."""

    solver: KinshipSolver
    points: int
    found: Callable[[int], None]


def frontier(
    problem: PlanProblem,
    group: GroupKinship | None = None,
    points: int = POINTS,
    *,
    solver: SolverName | None = None,
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
    solver, watch
        As in ``solve_plan``; a watch that ends early leaves the points found so far.
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
        fixed = with_pairs_fixed(replace(problem, group=None), solver=solver)
        search = FrontierSearch(
            solver=KinshipSolver(fixed, terms, solver=solver, watch=watch),
            points=points,
            found=found or (lambda _: None),
        )
        hull = _filled(_ends(search.solver), _at_a_price, search)
        line = _filled(hull, _under_a_limit, search)
        made = _numbered(search.solver, line, hull)
    return Frontier(
        pairs=search.solver.pairs,
        points=made,
        seconds=time.perf_counter() - begun,
        stopped=watch.stopped_by if watch.over else "",
    )


def _ends(search: KinshipSolver) -> list[Point]:
    """The best value with the least kinship for it; the least kinship with the best value."""
    best = search.best()
    first = _or_else(best, search.least(best.value)) if best.gap == 0 else best
    least = search.least()
    if least.gap:
        return _undominated([first, least])
    try:
        last = search.best(limit=least.kinship)
    except (NoPlanError, SolverStoppedError):
        last = least
    return _undominated([first, last])


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
        found = look(*step, search.solver)
        line = line if found is None else _undominated([*line, found])
    return line


def _at_a_price(one: Point, other: Point, solver: KinshipSolver) -> Point | None:
    """The plan best at the price at which two are worth the same, if it is better than they."""
    price = _price(one, other)
    found = solver.best(price, rounds=_rounds(solver))
    return found if _worth(found, price) > _worth(one, price) + _near(one, price) else None


def _under_a_limit(one: Point, other: Point, solver: KinshipSolver) -> Point | None:
    """The best plan under a limit half way between two, if one is found."""
    limit = (one.kinship + other.kinship) / 2
    try:
        return solver.best(limit=limit, rounds=_rounds(solver))
    except (NoPlanError, SolverStoppedError):
        return None


def _rounds(solver: KinshipSolver) -> int | None:
    """How often to search between the ends: as usual, or only to dive where searches are long."""
    return 0 if solver.many_pairs else None


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
    search: KinshipSolver, found: list[Point], hull: list[Point]
) -> tuple[FrontierPoint, ...]:
    """The points with their pens, and the prices at which each is best."""
    prices = [_price(one, other) for one, other in pairwise(hull)]
    lows: list[float | None] = [0.0, *prices]
    highs: list[float | None] = [*prices, None]
    ranges = {point.kinship: ends for point, *ends in zip(hull, lows, highs, strict=True)}
    made = []
    for number, point in enumerate(found, start=1):
        low, high = ranges.get(point.kinship, (None, None))
        begun = time.perf_counter()
        solution = search.solution(point, time.perf_counter() - begun)
        pairs = [pair for pen in solution.pens for pair in pen.pairs]
        made.append(
            FrontierPoint(
                number=number,
                solution=solution,
                value=point.value,
                kinship=point.kinship,
                mean_inbreeding=sum(one.kinship for one in pairs) / max(1, len(pairs)),
                gap=point.gap,
                of_kinship=point.of_kinship,
                price_low=low,
                price_high=high,
            )
        )
    return tuple(made)
