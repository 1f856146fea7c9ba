"""What a keeper may do every spring: the plan, the same under other settings, and by hand."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from matchmaker.errors import NoPlanError
from matchmaker.plan.quick import quick_plan

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
    """The pens that the program gives, within a two-hundredth of the best.

    Without what lines ask for at least where no plan has that; none where no pair is allowed.
    """
    bare = replace(problem, lines=tuple(goal.without_minimums() for goal in problem.lines))
    for one in (problem, bare) if problem.candidates else ():
        try:
            return quick_plan(one).pens
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
