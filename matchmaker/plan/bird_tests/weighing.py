"""What the plan is worth after each answer of a test, solved only where that can differ."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from matchmaker import tolerance
from matchmaker.errors import NoPlanError
from matchmaker.pairs.rules import Rule
from matchmaker.pairs.table import judge_pairs
from matchmaker.plan.arithmetic.verify import evaluate
from matchmaker.plan.bird_tests.keeping import cocks_of, keep_most
from matchmaker.plan.posing.pose import pose_problem
from matchmaker.plan.posing.problem import PAIR_COST
from matchmaker.plan.posing.terms import season_terms
from matchmaker.plan.program.model import build
from matchmaker.plan.searching.solve import best_value, solve_plan
from matchmaker.plan.season.season_plan import NO_PAIR
from matchmaker.plan.solvers.engine import choose_solver, reduced_costs

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from matchmaker.pairs.pair import Pair
    from matchmaker.pairs.rules import Broken
    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.arithmetic.result import PlannedPen
    from matchmaker.plan.bird_tests.answers import Answer
    from matchmaker.plan.posing.problem import Candidate, PlanProblem
    from matchmaker.plan.posing.terms import SeasonTerms


LEAST_GAIN: Final = PAIR_COST
"""What changing the pens must add, in wanted chicks, to be worth it: as much as a plan asks of one
more pair."""


def worth_moving(gain: float) -> float:
    """The gain, 0 where it is below ``LEAST_GAIN``.

    >>> worth_moving(2.5), worth_moving(0.05), worth_moving(0.049), worth_moving(-1.0)
    (2.5, 0.05, 0.0, 0.0)
    """
    return gain if gain >= LEAST_GAIN - tolerance.OBJECTIVE else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """A hen whose cock an answer would change (``None``: in no pen)."""

    hen: str
    before: str | None
    after: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class AnswerWorth:
    """What the plan is worth after an answer: the best one, and the one made without the test.

    ``moves`` are the hens that would be elsewhere, as few as the best plan allows.
    """

    answer: Answer
    best: float
    unchanged: float
    moves: tuple[Move, ...] = ()

    @property
    def gain(self) -> float:
        """What changing the pens after this answer adds, in wanted chicks; never below 0."""
        return worth_moving(self.best - self.unchanged)


def expected_gain(answers: Sequence[AnswerWorth]) -> float:
    """The gains of the answers, each by its chance."""
    return sum(one.answer.chance * one.gain for one in answers)


@dataclass(frozen=True, slots=True, kw_only=True)
class Baseline:
    """The plan made without any test; no pens where no plan is possible, with what clashes."""

    table: PairTable
    problem: PlanProblem
    pens: tuple[PlannedPen, ...]
    value: float
    conflict: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """The season's problem after an answer.

    ``unchanged`` is what the plan made without the test is then worth, ``most`` a bound on what
    the best plan is worth.
    """

    answer: Answer
    problem: PlanProblem
    unchanged: float
    most: float

    @property
    def most_gain(self) -> float:
        """A bound on what changing the pens can add; 0 where that cannot be worth it."""
        return worth_moving(self.most - self.unchanged)


def baseline(table: PairTable) -> Baseline:
    """The plan of the season as known now."""
    problem = _posed(table)
    if not problem.candidates:
        return Baseline(table=table, problem=problem, pens=(), value=0.0, conflict=(NO_PAIR,))
    try:
        solution = solve_plan(problem)
    except NoPlanError as error:
        return Baseline(table=table, problem=problem, pens=(), value=0.0, conflict=error.conflict)
    return Baseline(table=table, problem=problem, pens=solution.pens, value=solution.value)


def _posed(table: PairTable) -> PlanProblem:
    """The season's problem, without regard to a standing plan and the kinship of the group."""
    return replace(pose_problem(table, fresh=True), group=None)


def outlook(base: Baseline, locus: str, answer: Answer) -> Outlook:
    """The season after an answer: everything that hangs on genotypes is judged anew."""
    told = judge_pairs(base.table.study.informed(locus, (answer.evidence,)))
    problem = _posed(told)
    unchanged = evaluate(problem, _revalued(base.pens, told)).value
    return Outlook(
        answer=answer, problem=problem, unchanged=unchanged, most=_most(base, problem, unchanged)
    )


def settle_worth(seen: Outlook) -> AnswerWorth:
    """Solve for the best plan after an answer, where it can differ at all.

    Where no plan satisfies the rules any more, the pens stay as they would have been.
    """
    best = best_value(seen.problem) if seen.most_gain else None
    return AnswerWorth(
        answer=seen.answer,
        best=seen.unchanged if best is None else max(best, seen.unchanged),
        unchanged=seen.unchanged,
    )


def moves_after(base: Baseline, seen: Outlook) -> tuple[Move, ...]:
    """The hens whose cock the best plan after an answer changes, as few as it allows."""
    old = cocks_of(base.pens)
    new = cocks_of(keep_most(seen.problem, base.pens))
    return tuple(
        Move(hen=hen, before=old.get(hen), after=new.get(hen))
        for hen in sorted(old.keys() | new.keys())
        if old.get(hen) != new.get(hen)
    )


def _revalued(pens: Sequence[PlannedPen], told: PairTable) -> Iterator[PlannedPen]:
    """The pens with their pairs as they count after an answer."""
    known = {pair.key: pair for pair in told.pairs}
    terms = season_terms(told)
    for pen in pens:
        yield replace(pen, pairs=tuple(_recounted(one, known, terms) for one in pen.pairs))


def _recounted(
    one: Candidate, known: Mapping[tuple[str, str, str], Pair], terms: SeasonTerms
) -> Candidate:
    pair = known.get((one.hen, one.cock, one.row))
    if pair is None or not (pair.allowed or all(map(_promises_less, pair.broken))):
        return replace(
            one,
            value=0.0,
            wanted=0.0,
            wanted_cocks=0.0,
            wanted_hens=0.0,
            sure_cocks=0.0,
            sure_hens=0.0,
            test_chicks=0.0,
        )
    return terms.candidate(pair, terms.turn(one.turn), kept=False)


def _promises_less(broken: Broken) -> bool:
    """Whether a rule only says that a pair is likely to give too little, not that it does harm."""
    if broken.rule is Rule.UNPROVEN:
        return broken.facts.get("needs") != "free"
    return broken.rule in {Rule.NO_WANTED_CHICKS, Rule.NOTHING_TO_TEST}


def _most(base: Baseline, problem: PlanProblem, unchanged: float) -> float:
    """A bound on the best value after an answer.

    If every pair counts at most what it did, no plan is worth more than the best was. Otherwise
    the bound is the value with parts of birds allowed (the program's relaxation).
    """
    if problem == base.problem or _dominated(base.problem, problem):
        return max(base.value, unchanged)
    if choose_solver(None) != "highs":
        return float("inf")
    relaxed, _ = reduced_costs(build(problem).program)
    return relaxed + tolerance.OBJECTIVE


def _dominated(before: PlanProblem, after: PlanProblem) -> bool:
    """Whether every plan after an answer was possible before it, and worth as much."""
    if (before.tests, before.carriers) != (after.tests, after.carriers):
        return False
    held = {one.key: one for one in before.candidates}
    return all(one.key in held and _no_better(one, held[one.key]) for one in after.candidates)


def _no_better(one: Candidate, old: Candidate) -> bool:
    """Whether a pair gives no more than it did and takes no less room."""
    gives = (
        *("value", "wanted", "wanted_cocks", "wanted_hens"),
        *("sure_cocks", "sure_hens", "test_chicks"),
    )
    return all(getattr(one, name) <= getattr(old, name) for name in gives) and all(
        getattr(one, name) >= getattr(old, name) for name in ("chicks", "eggs")
    )
