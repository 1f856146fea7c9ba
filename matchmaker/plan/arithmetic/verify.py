"""A plan worked out anew and held against its problem, by sums alone, without any solver."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, NamedTuple

from matchmaker import tolerance
from matchmaker.errors import MatchmakerError
from matchmaker.flock.listing import natural
from matchmaker.plan.arithmetic.breaches import broken_sums
from matchmaker.plan.arithmetic.moved import broken_moves, work
from matchmaker.plan.arithmetic.result import LineTotal, Outcome
from matchmaker.plan.arithmetic.saturation import counted
from matchmaker.plan.arithmetic.wishes_kept import is_met
from matchmaker.plan.posing.problem import PAIR_COST

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from matchmaker.plan.arithmetic.result import PlannedPen, Proof, Solution
    from matchmaker.plan.posing.problem import Candidate, LineGoal, PenKind, PlanProblem, TestGoal


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
    value += sum(test_worth(goal, pairs) for goal in problem.tests)
    broken = (
        *_broken_pairs(problem, plan),
        *_broken_birds(problem, plan),
        *_broken_pens(problem, plan),
        *broken_sums(problem, pairs),
        *broken_moves(problem, plan),
        *(
            f"wish not kept: {one.name}"
            for one in problem.demands
            if not is_met(one, plan, problem.turns)
        ),
    )
    return Score(value - PAIR_COST * work(problem, plan), lines, broken)


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


def test_worth(goal: TestGoal, pairs: Iterable[Candidate]) -> float:
    """Return what these pairs' test chicks of one bird are worth, in wanted chicks."""
    chicks = sum(pair.test_chicks for pair in pairs if pair.tested == goal.bird)
    return min(start + slope * chicks for slope, start in goal.pieces)


def line_total(goal: LineGoal, pairs: Iterable[Candidate]) -> LineTotal:
    """Return what these pairs give one line."""
    own = [pair for pair in pairs if pair.line == goal.line]
    worth = sum(pair.value for pair in own)
    return LineTotal(
        line=goal.line,
        cocks=len({pair.cock for pair in own}),
        hens=len({pair.hen for pair in own}),
        worth=worth,
        counted=counted(goal, worth),
        wanted=sum(pair.wanted for pair in own),
    )


def _broken_pairs(problem: PlanProblem, plan: tuple[PlannedPen, ...]) -> Iterator[str]:
    allowed = {one.key for one in problem.candidates}
    known = {goal.line for goal in problem.lines} | {""}
    for pen in plan:
        for pair in pen.pairs:
            if pair.key not in allowed:
                words = f"{pair.hen} with {pair.cock} ({pair.row}){_during(pair.turn)}"
                yield f"not an allowed pair: {words}"
            if pair.cock != pen.cock:
                yield f"pen {pen.pen}: {pair.hen} is paired with {pair.cock}, not {pen.cock}"
            if pair.turn != pen.turn:
                yield f"pen {pen.pen} stands{_during(pen.turn)}, {pair.hen}{_during(pair.turn)}"
            if pair.line not in known:
                yield f"no such line: {pair.line}"


def _during(turn: str) -> str:
    return f" during {turn}" if turn else ""


def _broken_birds(problem: PlanProblem, plan: tuple[PlannedPen, ...]) -> Iterator[str]:
    """Nobody is in too many places, or has too many hens or pens, at once."""
    cocks = {limit.cock for limit in problem.cocks}
    for cock in sorted({pen.cock for pen in plan} - cocks):
        yield f"{cock} is no cock of this season"
    found: dict[str, None] = {}
    for together in problem.turns:
        at_once = [pen for pen in plan if pen.turn in together]
        found |= dict.fromkeys(_crowded(problem, at_once))
    yield from found


def _crowded(problem: PlanProblem, at_once: list[PlannedPen]) -> Iterator[str]:
    places = Counter(pair.hen for pen in at_once for pair in pen.pairs)
    yield from (f"{hen} has {count} places" for hen, count in sorted(places.items()) if count > 1)
    limits = {limit.cock: limit for limit in problem.cocks}
    pens = Counter(pen.cock for pen in at_once if pen.cock in limits)
    hens = Counter(pen.cock for pen in at_once for _ in pen.pairs)
    for cock, count in sorted(pens.items()):
        limit = limits[cock]
        if count > limit.pens_max:
            yield f"{cock} has {count} pens, at most {limit.pens_max}"
        if hens[cock] > limit.hens_max:
            yield f"{cock} has {hens[cock]} hens, at most {limit.hens_max}"


def _broken_pens(problem: PlanProblem, plan: tuple[PlannedPen, ...]) -> Iterator[str]:
    kinds = {(pen, kind.turn): kind for kind in problem.kinds for pen in kind.pens}
    listed = Counter((pen.pen, pen.turn) for pen in plan)
    for (pen, turn), count in listed.items():
        if count > 1:
            yield f"pen {pen} is listed {count} times{_during(turn)}"
    for one in plan:
        if (one.pen, one.turn) in kinds:
            yield from _broken_pen(one, kinds[one.pen, one.turn])
        else:
            yield f"pen {one.pen} is not open{_during(one.turn)}"


def _broken_pen(pen: PlannedPen, kind: PenKind) -> Iterator[str]:
    least = max(1, kind.hens_min)
    if len(pen.pairs) < least:
        yield f"pen {pen.pen} has {len(pen.pairs)} hens, at least {least}"
    if len(pen.pairs) > kind.hens_max:
        yield f"pen {pen.pen} has {len(pen.pairs)} hens, at most {kind.hens_max}"
    if not kind.dam_known:
        yield from _broken_unknown_dams(pen)
    if kind.line and {pair.line for pair in pen.pairs} - {kind.line}:
        yield f"pen {pen.pen} is for chicks of line {kind.line} only"
    if kind.rows and {pair.row for pair in pen.pairs} - set(kind.rows):
        yield f"pen {pen.pen} is kept for other rows of matings"


def _broken_unknown_dams(pen: PlannedPen) -> Iterator[str]:
    rows = {(pair.row, pair.line) for pair in pen.pairs}
    if len(rows) > 1:
        yield f"pen {pen.pen} mixes {len(rows)} rows of matings and its dams are not known"
    for pair in pen.pairs:
        if pair.dams_known:
            yield f"pen {pen.pen}: the eggs of {pair.hen} must be told apart and are not"


def _unlisted(problem: PlanProblem, solution: Solution) -> Iterator[str]:
    listed = {one.key: one for one in problem.candidates}
    for pen in solution.pens:
        for pair in pen.pairs:
            if listed.get(pair.key) != pair:
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
    order = [(natural(pen.pen), pen.turn) for pen in pens]
    if order != sorted(order):
        yield "pens are not in order of their labels"
    for pen in pens:
        hens = [pair.hen for pair in pen.pairs]
        if hens != sorted(hens, key=natural):
            yield f"hens of pen {pen.pen} are not in order of their bands"
