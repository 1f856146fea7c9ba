"""What a plan of the elastic program loosens, in figures as a keeper would write them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.plan.no_plan.elastic import pools
from matchmaker.plan.no_plan.loosened import (
    COUNTED,
    MINIMUMS,
    Kind,
    Loosened,
    key_of,
    round_down,
    round_up,
    suits,
)
from matchmaker.plan.program.decode import decode

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from matchmaker.plan.arithmetic.result import PlannedPen
    from matchmaker.plan.no_plan.elastic import Elastic
    from matchmaker.plan.no_plan.loosened import Loosening
    from matchmaker.plan.posing.problem import Candidate

CHICK_DIGITS = 2
"""Digits behind the point of a number of expected chicks."""

NOISE = 1e-5
"""What a solver may leave of a column that is 0."""


def read_off(elastic: Elastic, chosen: Sequence[Loosening]) -> tuple[Loosened, ...]:
    """What the rules chosen have to be loosened to for the plan in hand.

    The figures are counted from the plan itself, not taken from the program's columns: rounding
    noise of the solver does not enter.
    """
    pens = decode(elastic.model)
    found = [
        _READERS[rule.kind](elastic, rule, pens) for rule in chosen if rule.kind is not Kind.ALLOW
    ]
    allow = [rule for rule in chosen if rule.kind is Kind.ALLOW]
    return (*found, *(_allowed(elastic, rule, pens, found) for rule in allow))


def _pairs(pens: Sequence[PlannedPen]) -> list[Candidate]:
    return [pair for pen in pens for pair in pen.pairs]


def _minimum(_: Elastic, rule: Loosening, pens: Sequence[PlannedPen]) -> Loosened:
    own = [pair for pair in _pairs(pens) if pair.line == rule.subject]
    if rule.field in COUNTED:
        birds = {pair.cock if rule.field == "cocks_min" else pair.hen for pair in own}
        to = float(len(birds))
    else:
        to = round_down(sum(getattr(pair, MINIMUMS[rule.field]) for pair in own), CHICK_DIGITS)
    return Loosened(rule=rule, to=min(to, rule.now))


def _step(elastic: Elastic, rule: Loosening, _: Sequence[PlannedPen]) -> Loosened:
    return Loosened(rule=rule, to=elastic.figure(rule))


def _chicks(_: Elastic, rule: Loosening, pens: Sequence[PlannedPen]) -> Loosened:
    return Loosened(rule=rule, to=round_up(sum(pair.chicks for pair in _pairs(pens)), 0))


def _eggs(elastic: Elastic, rule: Loosening, pens: Sequence[PlannedPen]) -> Loosened:
    at_once = (
        sum(pair.eggs for pair in _pairs(pens) if pair.turn in turns)
        for turns in elastic.loosenable.problem.turns
    )
    return Loosened(rule=rule, to=round_up(max(at_once), 0))


def _number(_: Elastic, rule: Loosening, pens: Sequence[PlannedPen]) -> Loosened:
    return Loosened(rule=rule, to=float(len(_pairs(pens))))


def _whole(_: Elastic, rule: Loosening, __: Sequence[PlannedPen]) -> Loosened:
    return Loosened(rule=rule, to=rule.most)


def _passed(elastic: Elastic, rule: Loosening, pens: Sequence[PlannedPen]) -> Loosened:
    """Pens with more places or a lower minimum: all that the plan needs so, by the same."""
    value = elastic.model.program.value_of
    cocks = {cock for cock, column in elastic.excess[rule] if value(column) > NOISE}
    (each,) = elastic.parts[rule]
    further = round_up(value(each) - NOISE, 0)
    return Loosened(
        rule=rule,
        to=rule.now + (further if rule.most > rule.now else -further),
        pens=tuple(pen.pen for pen in _of_pool(elastic, rule, pens) if pen.cock in cocks),
    )


def _kept(elastic: Elastic, rule: Loosening, pens: Sequence[PlannedPen]) -> Loosened:
    by_pen = pools(elastic.loosenable)
    other = tuple(
        pen.pen
        for pen in _of_pool(elastic, rule, pens)
        if not all(suits(rule.kind, by_pen[pen.pen, pen.turn], pair) for pair in pen.pairs)
    )
    return Loosened(rule=rule, pens=other)


def _of_pool(elastic: Elastic, rule: Loosening, pens: Sequence[PlannedPen]) -> list[PlannedPen]:
    """The pens in use that a rule of pens is about."""
    by_pen = pools(elastic.loosenable)
    return [
        pen
        for pen in pens
        if key_of(rule.kind, by_pen[pen.pen, pen.turn])[1:] == (rule.subject, rule.field)
    ]


def _hens(elastic: Elastic, rule: Loosening, pens: Sequence[PlannedPen]) -> Loosened:
    at_once = (
        sum(1 for pair in _pairs(pens) if pair.cock == rule.subject and pair.turn in turns)
        for turns in elastic.loosenable.problem.turns
    )
    return Loosened(rule=rule, to=float(max(at_once)))


def _allowed(
    elastic: Elastic, rule: Loosening, pens: Sequence[PlannedPen], others: Sequence[Loosened]
) -> Loosened:
    """The pairs of the plan that nothing else loosened admits."""
    given = {one.rule: one for one in others}
    extras = {extra.candidate.key: extra for extra in elastic.loosenable.extras}
    birds = dict.fromkeys(
        extras[pair.key].birds
        for pair in _pairs(pens)
        if pair.key in extras and not extras[pair.key].admitted(given)
    )
    return Loosened(rule=rule, to=float(len(birds)), pairs=tuple(sorted(birds)))


_READERS: Mapping[Kind, Callable[[Elastic, Loosening, Sequence[PlannedPen]], Loosened]] = {
    Kind.MINIMUM: _minimum,
    Kind.SIRE_SHARE: _step,
    Kind.MEAN_INBREEDING: _step,
    Kind.CHICKS: _chicks,
    Kind.EGGS: _eggs,
    Kind.PAIRS: _number,
    Kind.WISH: _whole,
    Kind.PLACES: _passed,
    Kind.PEN_MINIMUM: _passed,
    Kind.PEN_LINE: _kept,
    Kind.PEN_USE: _kept,
    Kind.PEN: _whole,
    Kind.HENS_PER_COCK: _hens,
    Kind.PENS_PER_COCK: _whole,
    Kind.KINSHIP: _step,
    Kind.PROOF: _step,
    Kind.CHANCE: _step,
    Kind.APART: _whole,
    Kind.ROW: _whole,
}
