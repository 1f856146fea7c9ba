"""Plans with less kinship among the parents for a little of the value, found in little time.

``frontier`` proves what it can between both its ends. Here one plan is dived for at each part of
the value that may be given up: the least kinship found, and at that the best value found.
"""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Final

from matchmaker.errors import NoPlanError, SolverStoppedError
from matchmaker.plan.arithmetic.group_arithmetic import group_kinship_of, matings_of
from matchmaker.plan.arithmetic.verify import evaluate
from matchmaker.plan.searching.frontier import SAME_KINSHIP
from matchmaker.plan.searching.kinship_plan import KinshipSolver
from matchmaker.plan.solvers.watch import Watch, listening

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from matchmaker.plan.arithmetic.result import PlannedPen, Solution
    from matchmaker.plan.posing.problem import GroupKinship, PlanProblem
    from matchmaker.plan.searching.kinship_plan import Point

GIVEN_UP: Final = (0.005, 0.02, 0.05)
"""Parts of the best value for which less kinship is looked for."""

DIVES: Final = 0
"""Rounds of search after a dive: none, nothing is to be proved."""


def less_related(
    problem: PlanProblem,
    best: Solution,
    group: GroupKinship,
    *,
    given_up: Sequence[float] = GIVEN_UP,
    watch: Watch | None = None,
) -> tuple[tuple[PlannedPen, ...], ...]:
    """Return plans of as many pairs as the best, each with less kinship of the parents.

    One for each part of the best plan's value that may be ``given_up`` (0 to 1), as far as one is
    found; cocks keep their pens' labels where they hold pens of the same kind. A plan is left out
    that an earlier one equals or betters in kinship.

    Parameters
    ----------
    problem
        The one that ``best`` solves: every plan returned keeps its rules, a limit on the kinship
        of the group among them.
    best
        The best plan; the search starts from it.
    group
        Terms of kinship; a limit or price in them counts nothing here.
    given_up
        Parts of the value, from the least.
    watch
        May end the search: what was found so far is returned.
    """
    watch = watch or Watch()
    pairs = sum(len(pen.pairs) for pen in best.pens)
    labels = tuple(sorted({(pen.pen, pen.cock) for pen in best.pens}))
    fixed = replace(
        problem, group=None, limits=replace(problem.limits, pairs=pairs), standing_pens=labels
    )
    taken = [pair for pen in best.pens for pair in pen.pairs]
    with listening(watch):
        search = KinshipSolver(fixed, group, watch=watch, nearest=1)
        search.start_from(best.pens)
        kinship = group_kinship_of(group, matings_of(taken), pairs)
        found = list(_found(search, best.value, kinship, given_up))
    return tuple(pens for pens in found if not evaluate(problem, pens).broken)


def _found(
    search: KinshipSolver, value: float, kinship: float, given_up: Sequence[float]
) -> Iterator[tuple[PlannedPen, ...]]:
    """Pens of plans each of less kinship than the one before, the first than ``kinship``."""
    for part in given_up:
        least = value - part * abs(value)
        point = _of(search, partial(search.least, least, rounds=DIVES))
        if point is not None and point.kinship < kinship - SAME_KINSHIP:
            kinship = point.kinship
            better = _of(search, partial(search.best, limit=kinship, rounds=DIVES))
            yield search.solution(point if better is None else better, 0.0).pens


def _of(search: KinshipSolver, look: Callable[[], Point]) -> Point | None:
    """What a look finds; ``None`` if that is no plan, or the watch has ended the search."""
    try:
        return None if search.watch.over else look()
    except (NoPlanError, SolverStoppedError):
        return None
    except KeyboardInterrupt:
        if search.watch.stopped:
            return None
        raise
