"""The verbs of the library: a function for each command of the command line, of the same name.

Each takes a flock folder, or what another verb has made of it, so that nothing is worked out
twice. Beside them stand the functions behind the commands' options (``frontier`` is ``plan
--frontier``). All answers are frozen records; everything that is refused is a
``matchmaker.errors.MatchmakerError`` that says what, where and what to do.

Examples
--------
From nothing to a plan, and why it is as it is:

>>> import tempfile
>>> from pathlib import Path
>>> from matchmaker import verbs
>>> home = tempfile.TemporaryDirectory()
>>> folder = Path(home.name) / "my-flock"
>>> verbs.new(folder, like="tarn-croft")
>>> verbs.check(folder).faults
()
>>> table = verbs.pairs(folder)
>>> len(table.study.flock.birds), sum(pair.allowed for pair in table.pairs) > 100
(38, True)
>>> plan = verbs.plan(table)
>>> len(plan.pens), plan.solution.proof.gap
(5, 0.0)
>>> answer = verbs.why(plan, "CO26-001", "H25-001")
>>> answer.verdict.value, round(answer.pair.kinship, 3)
('rejected', 0.266)
>>> home.cleanup()
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.checking import Check, check, check_tables, tables_of
from matchmaker.explain.any import why
from matchmaker.explain.bird import why_bird
from matchmaker.explain.pair import why_pair
from matchmaker.explain.pen import why_pen
from matchmaker.explain.prices import pair_costs
from matchmaker.explain.whole import why_plan
from matchmaker.genetics.loci.known import KnownLoci, known_loci
from matchmaker.genetics.study import Study
from matchmaker.grade.grading import Grading, grade_young
from matchmaker.grade.places import USUAL_FACTOR
from matchmaker.hatch.hatching import Hatching, write_hatch
from matchmaker.hatch.hatching import hatch as hatch_down
from matchmaker.judging import judged, pairs
from matchmaker.looking import Hands, Horizon, look_ahead
from matchmaker.looking_further import ByOutcome, plan_by_outcome
from matchmaker.next_season import close_season
from matchmaker.plan.bird_tests.testing import MOST_LISTED, Ranking, rank_tests
from matchmaker.plan.season.season_plan import SeasonPlan, plan_season
from matchmaker.plan_options import (
    alternatives,
    diagnose,
    frontier,
    near_equals,
    one_more,
    plan_near,
    score,
)
from matchmaker.rebalance.rebalancing import Loss, Rebalance
from matchmaker.rebalance.rebalancing import rebalance as respond_to
from matchmaker.rebalance.robust import RobustChoice, robust_plan
from matchmaker.rebalance.spares import Precautions, precautions
from matchmaker.reporting import SeasonReport, season_report
from matchmaker.route.asking import Asked as RouteAsked
from matchmaker.route.routing import Routing, find_routes
from matchmaker.route.stopping import Stopping, stopping
from matchmaker.season.guide import CERTAINTY, SeasonGuide, season_guide
from matchmaker.start import Answers, new

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Sequence
    from pathlib import Path

    from matchmaker.ahead.outlook import Ahead
    from matchmaker.flock.flock import Flock
    from matchmaker.hatch.told import Told
    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.solvers.watch import Watch
    from matchmaker.tables.folder import FolderTables

__all__ = [
    "Answers",
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
    "SeasonReport",
    "Stopping",
    "ahead",
    "alternatives",
    "check",
    "close_season",
    "diagnose",
    "flock",
    "frontier",
    "grade",
    "hatch",
    "loci",
    "near_equals",
    "new",
    "one_more",
    "pair_costs",
    "pairs",
    "plan",
    "plan_by_outcome",
    "plan_near",
    "precautions",
    "read",
    "rebalance",
    "report",
    "robust_plan",
    "route",
    "score",
    "season",
    "stopping",
    "tests",
    "why",
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
    return flock(folder).flock


def flock(folder: Path) -> Study:
    """Kinship, shares, genotype probabilities and merit of a folder's flock.

    Raises
    ------
    InputError
        With every fault that ``check`` finds, if there are any.
    """
    return pairs(folder).study


def tests(folder: Path, *, birds: int = MOST_LISTED) -> Ranking:  # noqa: PT028 - the command's name
    """Which birds to test before planning: the ``birds`` tests that add most to the plan.

    Raises
    ------
    InputError
        With every fault that ``check`` finds, if there are any.
    """
    return rank_tests(pairs(folder), birds=birds)


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
    return plan_season(judged(of), fresh=fresh, matings=matings, time_limit=time_limit, watch=watch)


def rebalance(of: Path | PairTable, loss: Loss, *, watch: Watch | None = None) -> Rebalance:
    """The best responses to a loss, by the number of birds moved.

    Raises
    ------
    UsageError
        If a bird or pen is not known, no pens stand, or nothing is left of the season.
    InputError
        With every fault that ``check`` finds, or if a bird is in two pens, two cocks are in one.
    SolverStoppedError
        If a search was stopped before there was a response.
    """
    return respond_to(judged(of), loss, watch=watch)


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
    return season_guide(judged(of), certainty=certainty, watch=watch)


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
    return grade_young(judged(of), day, factor=factor, patience=patience, watch=watch)


def route(of: Path | Study, asked: RouteAsked | None = None) -> Routing:
    """The crossing schemes for a flock's target, step by step, and where its lines stand.

    Raises
    ------
    InputError
        With every fault that ``check`` finds, if there are any.
    UsageError
        If nothing is to be brought in, or the copies wanted are ones no bird should have.
    """
    return find_routes(of if isinstance(of, Study) else flock(of), asked or RouteAsked())


def ahead(
    of: Path | PairTable,
    horizon: Horizon | None = None,
    *,
    compare: Sequence[str] = (),
    hands: Hands | None = None,
) -> Ahead:
    """The coming seasons of a flock, played through under its plan and the policies in ``compare``.

    Worker processes are begun: a script calls this under ``if __name__ == "__main__":``.

    Raises
    ------
    InputError
        With every fault that ``check`` finds, if there are any.
    NoPlanError
        If no plan satisfies the rules and wishes.
    SolverStoppedError
        If time ran out before any plan was found.
    WorkersLostError
        If worker processes end again and again without an answer.
    """
    return look_ahead(judged(of), horizon, compare=compare, hands=hands)


def report(of: Path | PairTable, *, wait: bool = True, watch: Watch | None = None) -> SeasonReport:
    """All that the page of a season shows; ``matchmaker.report.page`` writes it.

    Without ``wait`` what pairs cost goes on being worked out in a thread until it is looked into.

    Raises
    ------
    InputError
        With every fault that ``check`` finds, if there are any.
    NoPlanError
        If no plan satisfies the rules and wishes.
    SolverStoppedError
        If time ran out before any plan was found.
    """
    return season_report(judged(of), wait=wait, watch=watch)


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
