"""A problem with some of its rules loosened and nothing else changed."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from typing import TYPE_CHECKING, Final, TypeAlias

from matchmaker.plan.no_plan.loosened import COUNTED, MINIMUMS, Kind, Loosened, key_of

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Mapping

    from matchmaker.plan.no_plan.loosened import Loosenable, Loosening
    from matchmaker.plan.posing.problem import CockLimit, LineGoal, PenKind, PlanLimits, PlanProblem

Given: TypeAlias = "Mapping[tuple[Kind, str, str], Loosened]"
"""What is loosened, by kind, subject and field of the rule."""


FREE: Final[Mapping[str, object]] = {"line": "", "rows": ()}
"""Fields of a pen that say what it is kept for, and what they are when it is for anything."""


def loosen(loosenable: Loosenable, loosened: Iterable[Loosened]) -> PlanProblem:
    """The problem with these rules loosened and nothing else changed."""
    of_rule = {one.rule: one for one in loosened}
    given = {(rule.kind, rule.subject, rule.field): one for rule, one in of_rule.items()}
    allowed = {pair for one in of_rule.values() for pair in one.pairs}
    taken = [
        extra.candidate
        for extra in loosenable.extras
        if extra.admitted(of_rule) or (extra.allowable and extra.birds in allowed)
    ]
    problem = loosenable.problem
    return replace(
        problem,
        candidates=(*problem.candidates, *taken),
        kinds=tuple(_loosen_pens(loosenable.kinds, given, loosenable.pens)),
        cocks=tuple(_loosen_cock(limit, given) for limit in loosenable.cock_limits),
        lines=tuple(_loosen_line(goal, given) for goal in problem.lines),
        limits=_loosen_limits(problem.limits, given),
        demands=tuple(one for one in problem.demands if (Kind.WISH, one.name, "") not in given),
    )


def all_the_way(loosenable: Loosenable, rules: Iterable[Loosening]) -> PlanProblem:
    """The problem with these rules loosened as far as they go."""
    rules = tuple(rules)
    problem = loosen(loosenable, [whole(loosenable, rule) for rule in rules])
    if any(rule.kind is Kind.PAIRS for rule in rules):
        return replace(problem, limits=replace(problem.limits, pairs=None))
    return problem


def whole(loosenable: Loosenable, rule: Loosening) -> Loosened:
    """A rule loosened as far as it goes, for all pens and pairs it is about."""
    pens = (
        pen
        for kind in loosenable.problem.kinds
        for pen in kind.pens
        if (kind.pens[0], kind.turn) == (rule.subject, rule.field)
    )
    allowed = (extra.birds for extra in loosenable.extras if extra.allowable)
    return Loosened(
        rule=rule,
        to=rule.most,
        pens=tuple(pens),
        pairs=tuple(dict.fromkeys(allowed)) if rule.kind is Kind.ALLOW else (),
    )


def _loosen_line(goal: LineGoal, given: Given) -> LineGoal:
    changed: dict[str, float] = {
        field: int(one.to) if field in COUNTED else one.to
        for field in MINIMUMS
        if (one := given.get((Kind.MINIMUM, goal.line, field)))
    }
    share = given.get((Kind.SIRE_SHARE, goal.line, ""))
    if share:
        changed["sire_share_max"] = share.to
    return replace(goal, **changed)  # type: ignore[arg-type]


def _loosen_limits(limits: PlanLimits, given: Given) -> PlanLimits:
    changed = {
        field: one.to
        for field, kind in (
            ("sire_share_max", Kind.SIRE_SHARE),
            ("mean_inbreeding_max", Kind.MEAN_INBREEDING),
            ("chicks_max", Kind.CHICKS),
            ("eggs_max", Kind.EGGS),
        )
        if (one := given.get((kind, "", "")))
    }
    pairs = given.get((Kind.PAIRS, "", ""))
    return replace(limits, **changed, pairs=int(pairs.to) if pairs else limits.pairs)


def _loosen_cock(limit: CockLimit, given: Given) -> CockLimit:
    hens = given.get((Kind.HENS_PER_COCK, limit.cock, ""))
    pens = given.get((Kind.PENS_PER_COCK, "", ""))
    return replace(
        limit,
        hens_max=int(hens.to) if hens else limit.hens_max,
        pens_max=max(limit.pens_max, int(pens.to)) if pens else limit.pens_max,
    )


def _loosen_pens(
    kinds: Iterable[PenKind],
    given: Given,
    spare: Collection[PenKind],
) -> Iterator[PenKind]:
    """Pens with what is loosened for each; of pens that are alike those named part company."""
    for kind in kinds:
        if kind in spare and key_of(Kind.PEN, kind) not in given:
            continue
        changed = {
            pen: _loosen_pen(replace(kind, pens=(pen,)), key_of(Kind.PEN, kind)[1:], given)
            for pen in kind.pens
        }
        alike: dict[PenKind, list[str]] = defaultdict(list)
        for pen, now in changed.items():
            alike[replace(now, pens=())].append(pen)
        yield from (replace(now, pens=tuple(pens)) for now, pens in alike.items())


def _loosen_pen(pen: PenKind, pool: tuple[str, str], given: Given) -> PenKind:
    changed: dict[str, object] = {}
    for kind, field in (
        (Kind.PLACES, "hens_max"),
        (Kind.PEN_MINIMUM, "hens_min"),
        (Kind.PEN_LINE, "line"),
        (Kind.PEN_USE, "rows"),
    ):
        one = given.get((kind, *pool))
        if one and pen.pens[0] in one.pens:
            changed[field] = FREE[field] if field in FREE else int(one.to)
    return replace(pen, **changed)  # type: ignore[arg-type]
