"""What a keeper may do every spring: the plan, the same under other settings, and by hand."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from matchmaker.errors import NoPlanError
from matchmaker.plan.solve import solve_plan

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    import numpy as np

    from matchmaker.ahead.breeding import Filled
    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.problem import PlanProblem
    from matchmaker.tables.folder import FolderTables


def unchanged(tables: FolderTables) -> FolderTables:
    """The books as they are."""
    return tables


def by_plan(_table: PairTable, problem: PlanProblem, _rng: np.random.Generator) -> Sequence[Filled]:
    """The pens that the program gives; without what lines ask for at least where none has that."""
    problem = replace(problem, demands=(), group=None, limits=replace(problem.limits, pairs=None))
    for one in (
        problem,
        replace(problem, lines=tuple(goal.without_minimums() for goal in problem.lines)),
    ):
        if not one.candidates:
            return ()
        try:
            return solve_plan(one, stages=False).pens
        except NoPlanError:
            continue
    return ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Policy:
    """What is done every spring. ``first`` are this spring's pens where they are decided."""

    name: str
    sentence: str
    change: Callable[[FolderTables], FolderTables] = unchanged
    pens: Callable[[PairTable, PlanProblem, np.random.Generator], Sequence[Filled]] = by_plan
    first: Sequence[Filled] | None = None
