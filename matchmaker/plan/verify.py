"""A plan scored and checked against its problem by plain arithmetic, without any solver."""

from __future__ import annotations

from collections import Counter, defaultdict
from typing import TYPE_CHECKING, NamedTuple

from matchmaker import tolerance
from matchmaker.errors import MatchmakerError
from matchmaker.plan.layout import natural
from matchmaker.plan.problem import (
    PAIR_COST,
    BirdInPen,
    BirdNotInPen,
    BirdUsed,
    HensApart,
    HensTogether,
    PairTogether,
)
from matchmaker.plan.result import LineTotal, Outcome
from matchmaker.plan.saturation import saturate

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from matchmaker.plan.problem import Candidate, Demand, LineGoal, PenKind, PlanProblem
    from matchmaker.plan.result import PlannedPen, Proof, Solution


class WrongPlanError(MatchmakerError):
    """A solved plan breaks its own problem: a bug. ``broken`` names everything that fails."""

    def __init__(self, broken: tuple[str, ...]) -> None:
        self.broken = broken
        super().__init__("the plan does not satisfy its problem: " + "; ".join(broken))


class Score(NamedTuple):
    """A plan's value in wanted chicks, what each line gets of it, and what the plan breaks."""

    value: float
    lines: tuple[LineTotal, ...]
    broken: tuple[str, ...]


def evaluate(problem: PlanProblem, pens: Iterable[PlannedPen]) -> Score:
    """Score any plan, also one edited by hand, and list in words every rule it breaks."""
    plan = tuple(pens)
    pairs = [pair for pen in plan for pair in pen.pairs]
    lines = tuple(line_total(goal, pairs) for goal in problem.lines)
    importance = {goal.line: goal.importance for goal in problem.lines}
    value = sum(importance[total.line] * total.counted for total in lines)
    broken = (
        *_broken_pairs(problem, plan),
        *_broken_birds(problem, plan),
        *_broken_pens(problem, plan),
        *_broken_lines(problem, lines),
        *(f"wish not kept: {one.name}" for one in problem.demands if not is_met(one, plan)),
    )
    return Score(value - PAIR_COST * len(pairs), lines, broken)


def verify(problem: PlanProblem, solution: Solution) -> None:
    """Check a solution against its problem: every rule, every total, the value and the proof.

    Raises
    ------
    WrongPlanError
        Naming everything that fails.
    """
    score = evaluate(problem, solution.pens)
    wrong = (
        *score.broken,
        *_unlisted(problem, solution),
        *_wrong_totals(solution, score),
        *_wrong_proof(solution.outcome, solution.value, solution.proof),
        *_wrong_order(solution.pens),
    )
    if wrong:
        raise WrongPlanError(wrong)


def line_total(goal: LineGoal, pairs: Iterable[Candidate]) -> LineTotal:
    """Return what these pairs give one line."""
    own = [pair for pair in pairs if pair.line == goal.line]
    worth = sum(pair.value for pair in own)
    return LineTotal(
        line=goal.line,
        cocks=len({pair.cock for pair in own}),
        hens=len({pair.hen for pair in own}),
        worth=worth,
        counted=saturate(worth, goal.chicks_wanted),
        wanted=sum(pair.wanted for pair in own),
    )


def is_met(demand: Demand, pens: tuple[PlannedPen, ...]) -> bool:
    """Return whether a plan does what a demand asks."""
    match demand:
        case PairTogether():
            return demand.cock in _cocks_of(demand.hen, pens)
        case BirdInPen() | BirdNotInPen():
            inside = demand.pen in _pens_of(demand.bird, pens)
            return inside is isinstance(demand, BirdInPen)
        case HensTogether():
            return _pens_of(demand.first, pens) == _pens_of(demand.second, pens)
        case HensApart():
            return not (_cocks_of(demand.first, pens) & _cocks_of(demand.second, pens))
        case BirdUsed():
            return bool(_pens_of(demand.bird, pens))


def _hens(pen: PlannedPen) -> set[str]:
    return {pair.hen for pair in pen.pairs}


def _pens_of(bird: str, pens: tuple[PlannedPen, ...]) -> set[str]:
    return {pen.pen for pen in pens if bird == pen.cock or bird in _hens(pen)}


def _cocks_of(hen: str, pens: tuple[PlannedPen, ...]) -> set[str]:
    return {pen.cock for pen in pens if hen in _hens(pen)}


def _broken_pairs(problem: PlanProblem, plan: tuple[PlannedPen, ...]) -> Iterator[str]:
    allowed = {(one.hen, one.cock, one.row) for one in problem.candidates}
    lines = {goal.line for goal in problem.lines}
    for pen in plan:
        for pair in pen.pairs:
            if (pair.hen, pair.cock, pair.row) not in allowed:
                yield f"not an allowed pair: {pair.hen} with {pair.cock} ({pair.row})"
            if pair.cock != pen.cock:
                yield f"pen {pen.pen}: {pair.hen} is paired with {pair.cock}, not {pen.cock}"
            if pair.line and pair.line not in lines:
                yield f"no such line: {pair.line}"


def _broken_birds(problem: PlanProblem, plan: tuple[PlannedPen, ...]) -> Iterator[str]:
    places = Counter(pair.hen for pen in plan for pair in pen.pairs)
    yield from (f"{hen} has {count} places" for hen, count in sorted(places.items()) if count > 1)
    limits = {limit.cock: limit for limit in problem.cocks}
    pens = Counter(pen.cock for pen in plan)
    hens: Counter[str] = Counter()
    for pen in plan:
        hens[pen.cock] += len(pen.pairs)
    for cock, count in sorted(pens.items()):
        limit = limits.get(cock)
        if limit is None:
            yield f"{cock} is no cock of this season"
            continue
        if count > limit.pens_max:
            yield f"{cock} has {count} pens, at most {limit.pens_max}"
        if hens[cock] > limit.hens_max:
            yield f"{cock} has {hens[cock]} hens, at most {limit.hens_max}"


def _broken_pens(problem: PlanProblem, plan: tuple[PlannedPen, ...]) -> Iterator[str]:
    kinds = {pen: kind for kind in problem.kinds for pen in kind.pens}
    listed = Counter(pen.pen for pen in plan)
    yield from (f"pen {pen} is listed {count} times" for pen, count in listed.items() if count > 1)
    for pen in plan:
        if pen.pen in kinds:
            yield from _broken_pen(pen, kinds[pen.pen])
        else:
            yield f"pen {pen.pen} is not open"


def _broken_pen(pen: PlannedPen, kind: PenKind) -> Iterator[str]:
    least = max(1, kind.hens_min)
    if len(pen.pairs) < least:
        yield f"pen {pen.pen} has {len(pen.pairs)} hens, at least {least}"
    if len(pen.pairs) > kind.hens_max:
        yield f"pen {pen.pen} has {len(pen.pairs)} hens, at most {kind.hens_max}"
    rows = {(pair.row, pair.line) for pair in pen.pairs}
    if not kind.dam_known and len(rows) > 1:
        yield f"pen {pen.pen} mixes {len(rows)} rows of matings and its dams are not known"
    if kind.line and {pair.line for pair in pen.pairs} - {kind.line}:
        yield f"pen {pen.pen} is for chicks of line {kind.line} only"


def _broken_lines(problem: PlanProblem, totals: tuple[LineTotal, ...]) -> Iterator[str]:
    for goal, total in zip(problem.lines, totals, strict=True):
        if total.cocks < goal.cocks_min:
            yield f"line {goal.line} has {total.cocks} cocks, at least {goal.cocks_min}"
        if total.hens < goal.hens_min:
            yield f"line {goal.line} has {total.hens} hens, at least {goal.hens_min}"
        if total.wanted < goal.wanted_min - tolerance.INTEGRALITY * max(1.0, goal.wanted_min):
            yield (
                f"line {goal.line} expects {total.wanted:.2f} wanted chicks, "
                f"at least {goal.wanted_min:g}"
            )


def _unlisted(problem: PlanProblem, solution: Solution) -> Iterator[str]:
    listed = set(problem.candidates)
    for pen in solution.pens:
        for pair in pen.pairs:
            if pair not in listed:
                yield f"figures of {pair.hen} with {pair.cock} are not those of the problem"


def _wrong_totals(solution: Solution, score: Score) -> Iterator[str]:
    if abs(solution.value - score.value) > tolerance.OBJECTIVE:
        yield f"value stated {solution.value}, by arithmetic {score.value}"
    stated = {total.line: total for total in solution.lines}
    for total in score.lines:
        if total.line not in stated or not _same_total(stated[total.line], total):
            yield f"totals of line {total.line} are not those of its pairs"


def _same_total(stated: LineTotal, counted: LineTotal) -> bool:
    return (stated.cocks, stated.hens) == (counted.cocks, counted.hens) and all(
        abs(one - other) <= tolerance.OBJECTIVE
        for one, other in (
            (stated.worth, counted.worth),
            (stated.counted, counted.counted),
            (stated.wanted, counted.wanted),
        )
    )


def _wrong_proof(outcome: Outcome, value: float, proof: Proof) -> Iterator[str]:
    near = tolerance.OBJECTIVE * max(1.0, abs(proof.best_value))
    if proof.bound < proof.best_value - near:
        yield f"bound {proof.bound} is below the best value {proof.best_value}"
    if value > proof.best_value + near:
        yield f"value {value} is above the best value {proof.best_value}"
    if outcome is Outcome.OPTIMAL and proof.gap > near:
        yield f"called best with a gap of {proof.gap}"
    if outcome is Outcome.NONE:
        yield "there are pens, but the outcome says there is no plan"


def _wrong_order(pens: tuple[PlannedPen, ...]) -> Iterator[str]:
    labels = [pen.pen for pen in pens]
    if labels != sorted(labels, key=natural):
        yield "pens are not in order of their labels"
    by_pen: dict[str, list[str]] = defaultdict(list)
    for pen in pens:
        by_pen[pen.pen] += [pair.hen for pair in pen.pairs]
    for pen_label, hens in by_pen.items():
        if hens != sorted(hens, key=natural):
            yield f"hens of pen {pen_label} are not in order of their bands"
