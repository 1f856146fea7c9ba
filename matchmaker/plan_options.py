"""What else may be asked of a plan: the options of ``plan``, a function each."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.genetics.study import study_flock
from matchmaker.judging import judged, pairs
from matchmaker.pairs.table import judge_pairs
from matchmaker.plan.nearly_best.alternatives import alternatives as other_plans
from matchmaker.plan.nearly_best.near import MOST_LISTED
from matchmaker.plan.nearly_best.near import near_equals as count_near_equals
from matchmaker.plan.no_plan.diagnosis import diagnose as find_ways_out
from matchmaker.plan.season.one_more import one_more as gains_of_one_more
from matchmaker.plan.season.score import score_plan
from matchmaker.plan.season.season_frontier import season_frontier
from matchmaker.plan.season.season_near import season_near
from matchmaker.plan.season.season_plan import pose_season
from matchmaker.tables.read_plan import read_plan

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from matchmaker.errors import NoPlanError
    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.nearly_best.alternatives import Alternative
    from matchmaker.plan.nearly_best.near import NearEquals
    from matchmaker.plan.no_plan.diagnosis import Diagnosis
    from matchmaker.plan.season.one_more import Gain
    from matchmaker.plan.season.score import PlanScore
    from matchmaker.plan.season.season_frontier import SeasonFrontier
    from matchmaker.plan.season.season_near import SeasonNear
    from matchmaker.plan.season.season_plan import SeasonPlan
    from matchmaker.plan.solvers.watch import Watch


def plan_near(of: Path | PairTable, file: Path, *, matings: int | None = None) -> SeasonNear:
    """Of the plans within 0.5 % of the best the one that keeps most pairs of a plan in a file.

    Raises
    ------
    InputError
        With every fault of the folder or of the file.
    NoPlanError
        If no plan satisfies the rules and wishes.
    """
    table = judged(of)
    return season_near(table, read_plan(file, table.study.flock.tables), matings=matings)


def frontier(
    of: Path | PairTable,
    *,
    matings: int | None = None,
    watch: Watch | None = None,
    found: Callable[[int], None] | None = None,
) -> SeasonFrontier:
    """Up to eleven plans from the best value to the least kinship of the parents as a group.

    Raises
    ------
    InputError
        With every fault that ``check`` finds, if there are any.
    NoPlanError
        If no plan satisfies the rules and wishes.
    """
    return season_frontier(judged(of), matings=matings, watch=watch, found=found)


def near_equals(best: SeasonPlan, *, most: int = MOST_LISTED) -> NearEquals:
    """How many plans come within 1 % of this one; counting ends at ``most``."""
    return count_near_equals(best.problem, best.solution, most=most)


def alternatives(best: SeasonPlan, most: int) -> tuple[Alternative, ...]:
    """Up to so many plans within 1 % of this one, each as different as can be from all before."""
    return other_plans(best.problem, best.solution, most)


def one_more(best: SeasonPlan) -> tuple[Gain, ...]:
    """What one more place, pen, cock or 0.01 of kinship would add to this plan, each re-solved."""
    return gains_of_one_more(best)


def diagnose(
    of: Path | PairTable, error: NoPlanError, *, fresh: bool = False, matings: int | None = None
) -> Diagnosis:
    """Why there is no plan, and ways out of it, each verified by a plan; asked for as ``plan``.

    Raises
    ------
    InputError
        With every fault that ``check`` finds, if there are any.
    """
    table = judged(of)
    return find_ways_out(table, pose_season(table, fresh=fresh, matings=matings), error.conflict)


def score(folder: Path, file: Path) -> PlanScore:
    """What a plan written by hand is worth and what it breaks; nothing is changed.

    Raises
    ------
    InputError
        With every fault of the folder or of the file.
    """
    flock = pairs(folder).study.flock
    rows = read_plan(file, flock.tables)
    birds = {band for row in rows for band in (row.hen, row.cock)}
    return score_plan(judge_pairs(study_flock(flock, birds)), rows)
