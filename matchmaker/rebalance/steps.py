"""What the pens are worth by the number of birds moved, and where it stops paying."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from matchmaker import tolerance
from matchmaker.errors import SolverStoppedError
from matchmaker.plan.arithmetic.breaches import broken_sums
from matchmaker.plan.arithmetic.verify import evaluate
from matchmaker.plan.posing.problem import PlanLimits
from matchmaker.rebalance.loosening import without_limits, without_minimums, without_wishes
from matchmaker.rebalance.posing import unmoved
from matchmaker.rebalance.responding import Answer, Responder

if TYPE_CHECKING:
    from matchmaker.plan.arithmetic.result import PlannedPen
    from matchmaker.plan.solvers.watch import Watch
    from matchmaker.rebalance.posing import Posed

MOST_STEPS: Final = 8
"""Numbers of moves that are told one by one; beyond, every doubling."""

LEAST_TOLD: Final = 0.05
"""Wanted chicks that are told as 0.1; less is nothing to anybody."""

WORTH_A_MOVE: Final = 0.5
"""Wanted chicks that a bird more to be moved must win back for more moves to be proposed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """What the pens are worth with so many moves at most, in wanted chicks.

    ``answer`` is ``None`` where nobody is moved and that breaks what the season asks for.
    ``broken`` says what of that it breaks.
    """

    moves: int
    value: float
    answer: Answer | None
    broken: tuple[str, ...] = ()


def steps_of(
    posed: Posed, most: int | None, watch: Watch | None
) -> tuple[Responder, tuple[Step, ...]]:
    """The value for each number of moves, with the responder that found them.

    Where none keeps all that the season asks for, minimums are left out, then wishes, then limits;
    what each step then breaks is told with it.
    """
    responder = Responder(posed.problem, watch)
    best = responder.best(most)
    for loosen in (without_minimums, without_wishes, without_limits):
        if best is None:
            responder = Responder(loosen(posed.problem), watch)
            best = responder.best(most)
    nobody = _step_without_moves(posed)
    found = [] if best is None else [_step(posed, best)]
    for number in () if best is None else _numbers(best.moves):
        if number < found[0].moves:
            try:
                fewer = responder.best(number)
            except SolverStoppedError:
                break
            found = found if fewer is None else [_step(posed, fewer), *found]
    better = _improving([step for step in found if step.moves > 0], nobody)
    return responder, (nobody, *better)


def _numbers(most: int) -> list[int]:
    """The numbers of moves that are tried below the best one's, from most to fewest.

    All of few; of many moves nobody needs to know what each brings.
    """
    few = range(1, min(most, MOST_STEPS + 1))
    many = (MOST_STEPS * 2**power for power in range(1, 10))
    return sorted({*few, *(number for number in many if number < most)}, reverse=True)


def _improving(steps: list[Step], nobody: Step) -> list[Step]:
    """The steps that are worth more than all with fewer moves."""
    found: list[Step] = []
    for step in steps:
        least = found[-1].value if found else nobody.value
        if step.value > least + tolerance.OBJECTIVE or nobody.answer is None:
            found.append(step)
    return found


def _step(posed: Posed, answer: Answer) -> Step:
    return Step(
        moves=answer.moves,
        value=answer.value,
        answer=answer,
        broken=told_breaches(posed, answer.pens),
    )


def told_breaches(posed: Posed, pens: tuple[PlannedPen, ...]) -> tuple[str, ...]:
    """What a response breaks of all that the season asks for, in the season's own numbers.

    Minimums of chicks are those the keeper wrote, and chicks on their way count.
    """
    rest = [words for words in evaluate(posed.problem, pens).broken if " expects " not in words]
    plan = [pair for pen in pens for pair in pen.pairs]
    asked = replace(posed.problem, lines=posed.asked, limits=PlanLimits(), carriers=())
    sums = broken_sums(asked, [*plan, *posed.bank.pairs])
    return (*rest, *(words for words in sums if " expects " in words))


def nobody_moved(posed: Posed) -> Answer:
    """The pens as an answer in which no bird is moved."""
    pens = unmoved(posed)
    score = evaluate(posed.problem, pens)
    return Answer(pens=pens, value=score.value, bound=score.value, lines=score.lines, moved=())


def _step_without_moves(posed: Posed) -> Step:
    pens = unmoved(posed)
    score = evaluate(posed.problem, pens)
    answer = None if score.broken else nobody_moved(posed)
    return Step(moves=0, value=score.value, answer=answer, broken=told_breaches(posed, pens))


def proposed(steps: tuple[Step, ...], enough: float | None = None) -> Step:
    """The fewest moves beyond which no number of them is worth its work.

    Or fewer, if with them the pens are worth ``enough`` already: what was lost is won back then.
    """
    for place, step in enumerate(steps[:-1]):
        pays = any(
            later.value - step.value >= WORTH_A_MOVE * (later.moves - step.moves)
            for later in steps[place + 1 :]
        )
        done = enough is not None and step.value >= enough - LEAST_TOLD
        if step.answer is not None and (done or not pays):
            return step
    return steps[-1]
