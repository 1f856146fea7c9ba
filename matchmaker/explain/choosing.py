"""What it would take for a pair to be chosen, or a bird to be used: the least change of one number.

With a number changed each plan is worth something else. By arithmetic it is found where the best
plan with the pair comes out ahead of the best plan without it; there the season is planned anew,
just as the keeper would have it planned. If the pair is not in that plan, the plan is the next
rival; if it is, the steps before are tried, until one step less is not enough.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final, TypeAlias

from matchmaker import tolerance
from matchmaker.errors import NoPlanError
from matchmaker.explain.levers import LeverKind, Rivals, value_levers
from matchmaker.explain.patience import Patience
from matchmaker.explain.room_levers import room_levers
from matchmaker.plan.arithmetic.verify import evaluate, line_total
from matchmaker.plan.nearly_best.near_model import minds_kinship
from matchmaker.plan.posing.problem import BirdUsed
from matchmaker.plan.searching.best import best_plan

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from matchmaker.explain.forced import Forced, Posed
    from matchmaker.explain.levers import Lever
    from matchmaker.pairs.pair import Pair
    from matchmaker.plan.arithmetic.result import PlannedPen
    from matchmaker.plan.posing.problem import Candidate, PlanProblem

MOST_RIVALS: Final = 4
"""Plans without the pair that are met before a number is given up."""

PLANNED_AT_ONCE: Final = frozenset(
    {LeverKind.PREDICTION, LeverKind.PLACES, LeverKind.HENS_OF_COCK, LeverKind.PEN}
)
"""Numbers whose last step is planned at once: they call for other plans than the one in hand."""

LOST: Final = float("-inf")

EDGE: Final = tolerance.OBJECTIVE
"""Values closer than this are equal."""

Plan: TypeAlias = "tuple[PlannedPen, ...]"


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """A number changed by the least that brings about what is wished."""

    lever: Lever
    steps: int

    @property
    def number(self) -> float:
        """The number it takes."""
        return self.lever.number(self.steps)


@dataclass(frozen=True, slots=True, kw_only=True)
class Choosing:
    """How a pair that is not chosen might be, or a bird that is not used.

    ``tie`` says that a plan with it is as good as the best. ``changes`` are those of one number
    after which the season's plan holds it, one step less not being enough; ``tried`` are all
    numbers that were tried. Where the kinship of the parents as a group counts, each plan takes
    too long for that, and it is ``left_out``. ``cut_short`` says that time ran out first,
    ``hopeless`` that the pair gives no wanted chick, whatever anything counts.
    """

    tie: bool
    changes: tuple[Change, ...] = ()
    tried: tuple[Lever, ...] = ()
    left_out: bool = False
    cut_short: bool = False
    hopeless: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Contest:
    """What is wished against all plans without it.

    ``holds`` says whether a plan has what is wished; ``with_it`` is the best that has it now.
    """

    season: Posed
    holds: Callable[[Plan], bool]
    with_it: Plan

    def planned(self, lever: Lever, step: int, *, stages: bool = True) -> Plan | None:
        """The season's plan after so many steps; ``None`` where there is none.

        Without ``stages`` any of several best plans: quicker, to see roughly where it turns.
        """
        try:
            return best_plan(lever.problem_at(self.season, step), stages=stages).pens
        except NoPlanError:
            return None

    def ahead(self, lever: Lever, step: int, rival: Plan) -> bool:
        """Whether the plan with it is worth more than a rival after so many steps."""
        plans = (self.with_it, rival)
        only = {(p.hen, p.cock, p.row) for plan in plans for pen in plan for p in pen.pairs}
        problem = lever.problem_at(self.season, step, only)
        first, second = (value_of_plan(problem, plan) for plan in plans)
        return first > second + EDGE


def value_of_plan(problem: PlanProblem, plan: Plan) -> float:
    """The value of the same pairs in the same pens under another problem; lost if it is broken."""
    by_key = {one.key: one for one in problem.candidates}
    pens = tuple(replace(pen, pairs=tuple(by_key[pair.key] for pair in pen.pairs)) for pen in plan)
    score = evaluate(problem, pens)
    return LOST if score.broken else score.value


def what_would_choose(
    season: Posed, pair: Pair, forced: Forced, patience: Patience | None = None
) -> Choosing:
    """Find for each number that bears on a pair the least change that has the pair chosen."""
    if forced.loss is None or forced.loss < EDGE:
        return Choosing(tie=forced.loss is not None and abs(forced.loss) < EDGE)
    if not pair.value and pair.trial is None:
        return Choosing(tie=False, hopeless=True)
    if minds_kinship(season.problem):
        return Choosing(tie=False, left_out=True)
    levers: tuple[Lever, ...] = (
        *room_levers(season, pair),
        *value_levers(season.table, (pair.hen, pair.cock), pair.line, _rivals(season, forced.pens)),
    )
    contest = Contest(
        season=season,
        holds=lambda plan: any(_is(one, pair) for one in _pairs(plan)),
        with_it=forced.pens,
    )
    return _tried(contest, levers, patience or Patience())


def what_would_use(season: Posed, band: str, patience: Patience | None = None) -> Choosing:
    """Find for each number that bears on a bird the least change that has the bird used."""
    if minds_kinship(season.problem):
        return Choosing(tie=False, left_out=True)
    name = f"{band} used"
    wished = (*season.problem.demands, BirdUsed(name=name, bird=band))
    try:
        with_it = best_plan(replace(season.problem, demands=wished), stages=False)
    except NoPlanError:
        return Choosing(tie=False)
    if with_it.proof.best_value > season.best.proof.best_value - EDGE:
        return Choosing(tie=True)
    own = [one for one in _pairs(with_it.pens) if band in (one.hen, one.cock)]
    levers = tuple(value_levers(season.table, (band,), own[0].line, _rivals(season, with_it.pens)))
    contest = Contest(
        season=season,
        holds=lambda plan: any(band in (one.hen, one.cock) for one in _pairs(plan)),
        with_it=with_it.pens,
    )
    return _tried(contest, levers, patience or Patience())


def _tried(contest: Contest, levers: tuple[Lever, ...], patience: Patience) -> Choosing:
    changes: list[Change] = []
    for count, lever in enumerate(levers):
        if patience.over:
            return Choosing(tie=False, changes=tuple(changes), tried=levers[:count], cut_short=True)
        change = _least_change(contest, lever)
        changes += [] if change is None else [change]
    return Choosing(tie=False, changes=tuple(changes), tried=levers)


def _pairs(plan: Plan) -> Iterable[Candidate]:
    return (pair for pen in plan for pair in pen.pairs)


def _is(one: Candidate, pair: Pair) -> bool:
    return (one.hen, one.cock, one.row) == pair.key


def _rivals(season: Posed, with_it: Plan) -> Rivals:
    """Hens of the best plan who are not in the one with the pair, and lines with less in it."""
    then = list(_pairs(with_it))
    stays = {pair.hen for pair in then}
    had = {total.line: total.counted for total in season.best.lines}
    less = [
        goal.line
        for goal in season.problem.lines
        if line_total(goal, then).counted < had[goal.line] - EDGE
    ]
    gone = {pair.hen for pair in _pairs(season.best.pens)} - stays
    return Rivals(hens=tuple(sorted(gone)), lines=tuple(sorted(less)))


def _least_change(contest: Contest, lever: Lever) -> Change | None:
    enough = _enough(contest, lever)
    if enough is None:
        return None
    near = _turning(lambda step: _brings(contest, lever, step, stages=False), 0, enough)
    if not _brings(contest, lever, near):
        steps = _turning(lambda step: _brings(contest, lever, step), near, enough)
        return Change(lever=lever, steps=steps)
    while near > 1 and _brings(contest, lever, near - 1):
        near -= 1
    return Change(lever=lever, steps=near)


def _turning(brings: Callable[[int], bool], low: int, high: int) -> int:
    """The first step from which something is so, not so at ``low`` and so at ``high``: halved."""
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if brings(middle) else (middle, high)
    return high


def _brings(contest: Contest, lever: Lever, step: int, *, stages: bool = True) -> bool:
    plan = contest.planned(lever, step, stages=stages)
    return plan is not None and contest.holds(plan)


def _enough(contest: Contest, lever: Lever) -> int | None:
    """A number of steps after which the plan has what is wished; ``None`` if none is found."""
    if lever.kind in PLANNED_AT_ONCE:
        return lever.steps if _brings(contest, lever, lever.steps) else None
    rival, low = contest.season.best.pens, 0
    for _ in range(MOST_RIVALS):
        step = _first_ahead(contest, lever, rival, low)
        if step is None:
            return None
        plan = contest.planned(lever, step)
        if plan is None:
            return None
        if contest.holds(plan):
            return step
        rival, low = plan, step
    return None


def _first_ahead(contest: Contest, lever: Lever, rival: Plan, low: int) -> int | None:
    """The first step above ``low`` at which what is wished beats a rival, found by halving."""
    if lever.steps <= low or not contest.ahead(lever, lever.steps, rival):
        return None
    return _turning(lambda step: contest.ahead(lever, step, rival), low, lever.steps)
