"""The verbs of the library, one per stage; each command of the command line calls one of them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.checking import Check, check, check_tables, tables_of
from matchmaker.errors import InputError
from matchmaker.explain.bird import why_bird
from matchmaker.explain.pair import why_pair
from matchmaker.explain.pen import why_pen
from matchmaker.explain.prices import pair_costs
from matchmaker.explain.whole import why_plan
from matchmaker.genetics.loci.known import KnownLoci, known_loci
from matchmaker.genetics.study import Study, study_flock
from matchmaker.grade.grading import Grading, grade_young
from matchmaker.grade.places import USUAL_FACTOR
from matchmaker.hatch.hatching import Hatching, write_hatch
from matchmaker.hatch.hatching import hatch as hatch_down
from matchmaker.looking import Hands, Horizon, look_ahead
from matchmaker.looking_further import ByOutcome, plan_by_outcome
from matchmaker.next_season import close_season
from matchmaker.pairs.table import PairTable, judge_pairs
from matchmaker.plan.bird_tests.testing import MOST_LISTED as MOST_TESTS
from matchmaker.plan.bird_tests.testing import Ranking
from matchmaker.plan.bird_tests.testing import rank_tests as rank_possible_tests
from matchmaker.plan.nearly_best.alternatives import Alternative
from matchmaker.plan.nearly_best.alternatives import alternatives as other_plans
from matchmaker.plan.nearly_best.near import MOST_LISTED, NearEquals
from matchmaker.plan.nearly_best.near import near_equals as count_near_equals
from matchmaker.plan.no_plan.diagnosis import Diagnosis
from matchmaker.plan.no_plan.diagnosis import diagnose as find_ways_out
from matchmaker.plan.season.one_more import Gain
from matchmaker.plan.season.one_more import one_more as gains_of_one_more
from matchmaker.plan.season.score import PlanScore, score_plan
from matchmaker.plan.season.season_frontier import SeasonFrontier, season_frontier
from matchmaker.plan.season.season_near import SeasonNear, season_near
from matchmaker.plan.season.season_plan import SeasonPlan, plan_season, pose_season
from matchmaker.rebalance.rebalancing import Loss, Rebalance, rebalance
from matchmaker.rebalance.robust import RobustChoice, robust_plan
from matchmaker.rebalance.spares import Precautions, precautions
from matchmaker.reporting import season_report as report
from matchmaker.route.asking import Asked as RouteAsked
from matchmaker.route.routing import Routing, find_routes
from matchmaker.route.stopping import Stopping, stopping
from matchmaker.season.guide import CERTAINTY, SeasonGuide, season_guide
from matchmaker.tables.pen_up import made_up_on
from matchmaker.tables.read_plan import read_plan

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from matchmaker.errors import NoPlanError
    from matchmaker.flock.flock import Flock
    from matchmaker.hatch.told import Told
    from matchmaker.plan.solvers.watch import Watch
    from matchmaker.tables.folder import FolderTables


__all__ = [
    "ByOutcome",
    "Check",
    "Grading",
    "Hands",
    "Hatching",
    "Horizon",
    "KnownLoci",
    "Loss",
    "Precautions",
    "Rebalance",
    "RobustChoice",
    "RouteAsked",
    "Routing",
    "SeasonGuide",
    "Stopping",
    "alternatives",
    "check",
    "close_season",
    "diagnose",
    "frontier",
    "grade",
    "hatch",
    "loci",
    "look_ahead",
    "near_equals",
    "one_more",
    "pair_costs",
    "pairs",
    "plan",
    "plan_by_outcome",
    "plan_near",
    "precautions",
    "rank_tests",
    "read",
    "rebalance",
    "report",
    "robust_plan",
    "route",
    "score",
    "season",
    "stopping",
    "study",
    "why_bird",
    "why_pair",
    "why_pen",
    "why_plan",
    "write_hatch",
]


def read(folder: Path) -> Flock:
    """The flock of a folder.

    Raises
    ------
    InputError
        With every fault that ``check`` finds, if there are any.
    """
    return study(folder).flock


def study(folder: Path) -> Study:
    """Kinship, shares, genotype probabilities and merit of a folder's flock.

    Raises
    ------
    InputError
        With every fault that ``check`` finds, if there are any.
    """
    return pairs(folder).study


def pairs(folder: Path, *, pen_up: dt.date | None = None) -> PairTable:
    """Every hen × cock of a folder's flock, judged and valued.

    ``pen_up`` is the day on which the pens are made up, if it is not the one of the settings; a
    plan of these pairs is then one for pens made up on that day.

    Raises
    ------
    InputError
        With every fault that ``check`` finds, if there are any.
    UsageError
        If there is no such folder, or the pens cannot be made up on that day.
    """
    tables = tables_of(folder)
    found = check_tables(tables if pen_up is None else made_up_on(tables, pen_up))
    if found.table is None:
        raise InputError(found.faults)
    return found.table


def plan(
    of: Path | PairTable,
    *,
    fresh: bool = False,
    matings: int | None = None,
    time_limit: float | None = None,
    watch: Watch | None = None,
) -> SeasonPlan:
    """The season's pens for a folder's flock, proved best under its rules.

    ``of`` is the folder, or its pairs judged before. ``time_limit`` is in seconds; a plan not
    proved by then says so in its ``solution.proof``.

    Raises
    ------
    InputError
        With every fault that ``check`` finds, if there are any.
    NoPlanError
        If no plan satisfies the rules and wishes; ``diagnose`` says why, and what would.
    SolverStoppedError
        If time ran out before any plan was found.
    """
    return plan_season(
        _judged(of), fresh=fresh, matings=matings, time_limit=time_limit, watch=watch
    )


def plan_near(of: Path | PairTable, file: Path, *, matings: int | None = None) -> SeasonNear:
    """Of the plans within 0.5 % of the best the one that keeps most pairs of a plan in a file.

    Raises
    ------
    InputError
        With every fault of the folder or of the file.
    NoPlanError
        If no plan satisfies the rules and wishes.
    """
    table = _judged(of)
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
    return season_frontier(_judged(of), matings=matings, watch=watch, found=found)


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
    table = _judged(of)
    return find_ways_out(table, pose_season(table, fresh=fresh, matings=matings), error.conflict)


def rank_tests(folder: Path, *, birds: int = MOST_TESTS) -> Ranking:
    """Which birds to test before planning: the ``birds`` tests that add most to the plan.

    Raises
    ------
    InputError
        With every fault that ``check`` finds, if there are any.
    """
    return rank_possible_tests(pairs(folder), birds=birds)


def season(
    of: Path | PairTable, *, certainty: float = CERTAINTY, watch: Watch | None = None
) -> SeasonGuide:
    """Dates, eggs to set and chicks to expect of the pens that stand, or of the best plan.

    Each line is to raise its wanted chicks with the chance ``certainty``.

    Raises
    ------
    InputError
        With every fault that ``check`` finds, if there are any.
    NoPlanError
        If no pens stand, and no plan satisfies the rules and wishes.
    """
    return season_guide(_judged(of), certainty=certainty, watch=watch)


def hatch(of: FolderTables, told: Sequence[Told]) -> Hatching:
    """What a hatch writes into the book, how it fits and what it teaches; ``write_hatch`` writes.

    Raises
    ------
    InputError
        With every fault of the tables, or those they would get by it (``UnfitHatchError``).
    UsageError
        If what is told cannot be meant.
    """
    return hatch_down(of, told, tables_of, check_tables)


def route(of: Path | Study, asked: RouteAsked | None = None) -> Routing:
    """The crossing schemes for a flock's target, step by step, and where its lines stand.

    Raises
    ------
    InputError
        With every fault that ``check`` finds, if there are any.
    UsageError
        If nothing is to be brought in, or the copies wanted are ones no bird should have.
    """
    return find_routes(of if isinstance(of, Study) else study(of), asked or RouteAsked())


def score(folder: Path, file: Path) -> PlanScore:
    """What a plan written by hand is worth and what it breaks; nothing is changed.

    Raises
    ------
    InputError
        With every fault of the folder or of the file.
    """
    flock = read(folder)
    rows = read_plan(file, flock.tables)
    birds = {band for row in rows for band in (row.hen, row.cock)}
    return score_plan(judge_pairs(study_flock(flock, birds)), rows)


def grade(
    of: Path | PairTable,
    day: dt.date,
    *,
    factor: float = USUAL_FACTOR,
    patience: float | None = None,
    watch: Watch | None = None,
) -> Grading:
    """Every young bird as it was known on a day: keep, let go or wait, for next spring's pens.

    ``factor`` birds are kept for each that will stand in a pen. ``patience`` is in seconds, for
    the search of what birds are worth; verdicts do not hang on it.

    Raises
    ------
    InputError
        With every fault that ``check`` finds, if there are any.
    UsageError
        If the day is far from the season.
    """
    return grade_young(_judged(of), day, factor=factor, patience=patience, watch=watch)


def loci(folder: Path | None = None) -> KnownLoci:
    """Every locus of the catalogue and, given a folder, those its settings describe.

    Raises
    ------
    UsageError
        If there is no such folder.
    InputError
        With every fault of the folder's settings, if there are any; its tables are not looked at.
    """
    return known_loci(folder)


def _judged(of: Path | PairTable) -> PairTable:
    return of if isinstance(of, PairTable) else pairs(of)
