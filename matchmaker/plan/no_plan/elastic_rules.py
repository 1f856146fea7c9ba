"""Rows of the elastic program for lines, limits, wishes and rejected pairs."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING, Any, cast

from matchmaker.plan.arithmetic.bounds import high, low
from matchmaker.plan.no_plan.elastic import Elastic, loosens_pens, loosest, wish
from matchmaker.plan.no_plan.elastic_pens import add_cock, add_pens
from matchmaker.plan.no_plan.loosened import MINIMUMS, MOST_ALLOWED, Kind, Loosening
from matchmaker.plan.program.demand_rows import add_demand
from matchmaker.plan.program.line_rows import different_hens
from matchmaker.plan.program.program import INFINITE

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence

    from matchmaker.plan.no_plan.loosened import Extra, Loosenable
    from matchmaker.plan.posing.problem import LineGoal
    from matchmaker.plan.program.program import Program, Terms

SHARE_STEPS = 20
"""A sire's share is raised in twentieths."""

INBREEDING_STEP = 0.005
"""Mean inbreeding is raised by this much at a time."""


def elastic_program(loosenable: Loosenable) -> Elastic:
    """The elastic program of a problem, its objective set."""
    elastic = Elastic(loosenable=loosenable, model=loosest(loosenable))
    found = loosenable.rules()
    rules = {(rule.kind, rule.subject, rule.field): rule for rule in found}
    for goal in loosenable.problem.lines:
        _add_line(elastic, rules, goal)
    _add_limits(elastic, rules)
    _add_wishes(elastic, rules)
    if loosens_pens(loosenable):
        add_pens(elastic, rules)
    for limit in loosenable.cock_limits:
        add_cock(elastic, rules, limit)
    _add_extras(elastic)
    if loosenable.some:
        elastic.model.at_least(elastic.model.taken(range(len(elastic.model.x))), 1)
    elastic.minimise()
    return elastic


def _add_line(
    elastic: Elastic, rules: Mapping[tuple[Kind, str, str], Loosening], goal: LineGoal
) -> None:
    """A line's minimums, and the share of one sire in it."""
    model = elastic.model
    candidates = model.layout.candidates
    places = [place for place, one in enumerate(candidates) if one.line == goal.line]
    for field, summed in MINIMUMS.items():
        rule = rules.get((Kind.MINIMUM, goal.line, field))
        if rule is None:
            continue
        if field == "cocks_min":
            terms = _serving(elastic, places)
        elif field == "hens_min":
            terms = different_hens(elastic.model, places)
        else:
            terms = {model.x[at]: getattr(candidates[at], summed) for at in places}
        model.at_least(terms | {elastic.amount(rule, rule.now): 1.0}, low(rule.now))
    share = rules.get((Kind.SIRE_SHARE, goal.line, ""))
    if share:
        _add_share(elastic, share, places)


def _serving(elastic: Elastic, places: Sequence[int]) -> Terms:
    """Cocks with a pair among these, one column each."""
    model = elastic.model
    terms: Terms = {}
    for own in elastic.model.layout.by_cock(places).values():
        serves = model.column(0, 1, whole=True)
        model.at_most({serves: 1.0} | model.taken(own, -1.0), 0)
        terms[serves] = 1.0
    return terms


def _add_share(elastic: Elastic, rule: Loosening, places: Sequence[int]) -> None:
    """No cock has more than his share of these pairs: the share as it is, or as it is raised."""
    model = elastic.model
    steps = [step / SHARE_STEPS for step in range(1, SHARE_STEPS + 1)]
    rungs = elastic.ladder(rule, [step for step in steps if step > rule.now])
    figures = [rule.now, *rungs]
    for own in elastic.model.layout.by_cock(places).values():
        for figure, beyond in zip(figures, [*rungs.values(), None], strict=True):
            terms = model.taken(places, -figure) | model.taken(own, 1.0 - figure)
            if beyond is not None:
                elastic.row(terms, -INFINITE, high(0.0), beyond)


def _add_limits(elastic: Elastic, rules: Mapping[tuple[Kind, str, str], Loosening]) -> None:
    """The limits on the plan as a whole."""
    model = elastic.model
    candidates = model.layout.candidates
    everyone = list(range(len(candidates)))
    share = rules.get((Kind.SIRE_SHARE, "", ""))
    if share:
        _add_share(elastic, share, everyone)
    mean = rules.get((Kind.MEAN_INBREEDING, "", ""))
    if mean:
        _add_mean(elastic, mean)
    chicks = rules.get((Kind.CHICKS, "", ""))
    if chicks:
        excess = elastic.amount(chicks, chicks.most - chicks.now)
        terms: Terms = {model.x[at]: candidates[at].chicks for at in everyone}
        model.at_most(terms | {excess: -1.0}, high(chicks.now))
    eggs = rules.get((Kind.EGGS, "", ""))
    if eggs:
        excess = elastic.amount(eggs, eggs.most - eggs.now)
        for at_once in model.layout.at_once(everyone):
            terms = {model.x[at]: candidates[at].eggs for at in at_once}
            model.at_most(terms | {excess: -1.0}, high(eggs.now))
    pairs = rules.get((Kind.PAIRS, "", ""))
    if pairs:
        fewer = elastic.amount(pairs, pairs.now)
        further = elastic.slack(pairs, pairs.now)
        elastic.parts[pairs] |= {further: 1.0 / pairs.now}
        model.exactly(model.taken(everyone) | {fewer: 1.0, further: -1.0}, pairs.now)


def _add_mean(elastic: Elastic, rule: Loosening) -> None:
    """The mean inbreeding of the chicks, at its limit or at the one it is raised to."""
    model = elastic.model
    count = int((rule.most - rule.now) / INBREEDING_STEP + 1e-9)
    steps = [round(rule.now + step * INBREEDING_STEP, 6) for step in range(1, count + 1)]
    rungs = elastic.ladder(rule, steps or [rule.most])
    for figure, beyond in zip([rule.now, *rungs], [*rungs.values(), None], strict=True):
        terms: Terms = {
            model.x[at]: one.kinship - figure for at, one in enumerate(model.layout.candidates)
        }
        if beyond is None:
            model.at_most(terms, high(0.0))
        else:
            elastic.row(terms, -INFINITE, high(0.0), beyond)


class _Caught:
    """Takes the rows that are meant for a program; columns go through."""

    def __init__(self, program: Program) -> None:
        self.column: Callable[..., int] = program.column
        self.rows: list[tuple[Terms, float, float]] = []

    def row(self, terms: Terms, low: float, high: float) -> int:
        self.rows.append((dict(terms), low, high))
        return -1


def _add_wishes(elastic: Elastic, rules: Mapping[tuple[Kind, str, str], Loosening]) -> None:
    """The rows of every wish that may be dropped, which need not hold where it is."""
    model = elastic.model
    program = model.program
    for demand in elastic.loosenable.problem.demands:
        if (Kind.WISH, demand.name, "") not in rules:
            continue
        caught = _Caught(program)
        model.program = cast("Any", caught)
        try:
            add_demand(model, demand)
        finally:
            model.program = program
        switch = elastic.switch(wish(demand.name))
        for terms, least, most in caught.rows:
            elastic.row(terms, least, most, switch)


def _add_extras(elastic: Elastic) -> None:
    """Rejected pairs: each only if all it needs is loosened, or if a wish allows it."""
    model = elastic.model
    columns = {one.key: model.x[at] for at, one in enumerate(model.layout.candidates)}
    _add_ladders(elastic)
    allowed: dict[tuple[str, str], int] = {}
    allows = any(rule.kind is Kind.ALLOW for rule in elastic.loosenable.rules())
    for extra in elastic.loosenable.extras:
        more: Terms = {}
        if extra.allowable and allows:
            if extra.birds not in allowed:
                allowed[extra.birds] = _allowing(elastic)
            more = {allowed[extra.birds]: -1.0}
        for rungs in _needed(elastic, extra):
            model.at_most({columns[extra.candidate.key]: 1.0} | rungs | more, 0)
    if allowed:
        rule = Loosening(kind=Kind.ALLOW, most=MOST_ALLOWED)
        elastic.parts[rule] = dict.fromkeys(allowed.values(), 1.0 / MOST_ALLOWED)
        model.at_most(dict.fromkeys(allowed.values(), 1.0), MOST_ALLOWED)


def _allowing(elastic: Elastic) -> int:
    """A column that is 1 where a pair is allowed by a wish: whole by itself, as pairs are."""
    return elastic.slack(Loosening(kind=Kind.ALLOW, most=MOST_ALLOWED), 1.0)


def _needed(elastic: Elastic, extra: Extra) -> Iterator[Terms]:
    """Per group of needs, less the switches any of which would meet it, as terms."""
    for group in extra.needs:
        terms: Terms = {}
        for need in group:
            rungs = elastic.steps.get(need.rule)
            terms[rungs[need.to] if rungs else elastic.switch(need.rule)] = -1.0
        yield terms


def _add_ladders(elastic: Elastic) -> None:
    """The steps of every rule that rejected pairs need loosened by more or less."""
    figures: dict[Loosening, set[float]] = defaultdict(set)
    for extra in elastic.loosenable.extras:
        for group in extra.needs:
            for need in group:
                if need.rule.kind in (Kind.KINSHIP, Kind.PROOF, Kind.CHANCE):
                    figures[need.rule].add(need.to)
    for rule, found in figures.items():
        elastic.ladder(rule, sorted(found, reverse=rule.most < rule.now))
