"""The plan nearest to one that is given, of those nearly best."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.cli.streams import note
from matchmaker.errors import NoPlanError
from matchmaker.plan.near_keep import plan_near
from matchmaker.plan.season_plan import NO_PAIR, pose_season, season_plan_of
from matchmaker.report.alternatives import kept_sentence
from matchmaker.tables.read_plan import read_plan

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.cli.choices import PlanChoice
    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.season_plan import SeasonPlan


def plan_nearest(table: PairTable, file: Path, choice: PlanChoice) -> SeasonPlan:
    """The plan that keeps most of the one in the file; says what it keeps and what that costs.

    Raises
    ------
    NoPlanError
        If no plan satisfies the rules and wishes.
    InputError
        With every fault of the file.
    """
    rows = read_plan(file, table.study.flock.tables)
    problem = pose_season(table, fresh=True, matings=choice.matings)
    if not problem.candidates:
        raise NoPlanError((NO_PAIR,))
    near = plan_near(problem, rows)
    note(kept_sentence(near, str(file)))
    return season_plan_of(table, near.problem, near.solution)
