"""The season's problem with one thing more: a place, a pen, a cock, a little more of a limit."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Any, Final

from matchmaker import tolerance
from matchmaker.flock.listing import natural
from matchmaker.pairs.rules import Rule
from matchmaker.pairs.table import judge_pairs
from matchmaker.plan.posing.pose import pose_problem
from matchmaker.plan.season.newcomer import free_name, with_new_cock

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from matchmaker.pairs.pair import Pair
    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.posing.problem import PenKind, PlanProblem
    from matchmaker.plan.season.season_plan import SeasonPlan

MORE_CAP: Final = 0.01
"""By how much a limit on kinship or inbreeding is raised."""

MORE_CHICKS: Final = 10
"""By how many chicks the rearing room grows, and by how many eggs a week the incubator."""

MORE_DAYS: Final = 7
"""For how many days longer eggs are kept."""


class Added(StrEnum):
    """What there is one more of."""

    PLACE = "place"
    PEN = "pen"
    CARRIER = "carrier-cock"
    NEW_COCK = "new-cock"
    CAP = "kinship-cap"
    LINE_CAP = "line-kinship-cap"
    MEAN_CAP = "mean-inbreeding-cap"
    GROUP_CAP = "group-kinship-cap"
    ROOM = "rearing-room"
    EGGS = "incubator"
    WEEK = "week-of-eggs"


@dataclass(frozen=True, slots=True, kw_only=True)
class Variant:
    """A problem with one thing more; ``facts`` are what a sentence about it needs."""

    what: Added
    subject: str
    problem: PlanProblem
    facts: Mapping[str, Any] = field(default_factory=dict)


def variants(plan: SeasonPlan) -> Iterator[Variant]:
    """Yield every problem with one thing more that makes sense for this plan."""
    yield from _places(plan)
    yield from _one_pen(plan)
    yield from _carriers(plan)
    yield from _new_cock(plan)
    yield from _caps(plan)
    yield from _limits(plan)
    yield from _week(plan)


def _posed(plan: SeasonPlan, table: PairTable) -> PlanProblem:
    """The problem of a changed table, for as many pairs as the plan was asked to have."""
    problem = pose_problem(table)
    return replace(problem, limits=replace(problem.limits, pairs=plan.problem.limits.pairs))


def _places(plan: SeasonPlan) -> Iterator[Variant]:
    """One more place in each kind of pen that is used; pens of a kind are alike."""
    used = {pen.pen for pen in plan.solution.pens}
    told: set[str] = set()
    for kind in plan.problem.kinds:
        inside = sorted(used & set(kind.pens), key=natural)
        if not inside or told & set(kind.pens):
            continue
        told |= set(kind.pens)
        others = tuple(pen for pen in sorted(kind.pens, key=natural) if pen != inside[0])
        kinds = tuple(_with_place(plan.problem.kinds, inside[0]))
        yield Variant(
            what=Added.PLACE,
            subject=inside[0],
            problem=replace(plan.problem, kinds=kinds),
            facts={"others": others, "hens_max": kind.hens_max},
        )


def _with_place(kinds: Iterable[PenKind], pen: str) -> Iterator[PenKind]:
    for kind in kinds:
        if pen not in kind.pens:
            yield kind
            continue
        yield replace(kind, pens=(pen,), hens_max=kind.hens_max + 1)
        rest = tuple(one for one in kind.pens if one != pen)
        if rest:
            yield replace(kind, pens=rest)


def _one_pen(plan: SeasonPlan) -> Iterator[Variant]:
    """One more pen like the biggest there is."""
    if not plan.problem.kinds:
        return
    biggest = max(plan.problem.kinds, key=lambda kind: kind.hens_max)
    like = min(biggest.pens, key=natural)
    taken = {pen for kind in plan.problem.kinds for pen in kind.pens}
    label = free_name("new pen", taken)
    kinds = tuple(
        replace(kind, pens=(*kind.pens, label)) if like in kind.pens else kind
        for kind in plan.problem.kinds
    )
    yield Variant(
        what=Added.PEN,
        subject=like,
        problem=replace(plan.problem, kinds=kinds),
        facts={"hens_max": biggest.hens_max},
    )


def _carriers(plan: SeasonPlan) -> Iterator[Variant]:
    """One more cock like the best of each line that carries the trait, just as related."""
    birds = plan.table.study.flock.by_band()
    for line in sorted({name for row in plan.table.crossings for name in row.carrier_lines}):
        own = {c.cock for c in plan.problem.candidates if birds[c.cock].line == line}
        best = _best_cock(plan, own)
        if best is None:
            continue
        yield Variant(
            what=Added.CARRIER,
            subject=line,
            problem=with_copy(plan.problem, best),
            facts={"like": best},
        )


def _best_cock(plan: SeasonPlan, cocks: set[str]) -> str | None:
    """The used cock whose pairs are worth most, else the spare one with the best pair."""
    worth: dict[str, float] = defaultdict(float)
    for pair in (pair for pen in plan.solution.pens for pair in pen.pairs):
        if pair.cock in cocks:
            worth[pair.cock] += pair.value
    if not worth:
        for one in plan.problem.candidates:
            if one.cock in cocks:
                worth[one.cock] = max(worth[one.cock], one.value)
    return max(sorted(worth), key=lambda cock: worth[cock], default=None)


def with_copy(problem: PlanProblem, cock: str) -> PlanProblem:
    """Return the problem with a second cock like this one; what tests him tests only the first."""
    second = free_name(f"another {cock}", {one.cock for one in problem.cocks})
    copies = tuple(
        replace(one, cock=second, kept=False)
        for one in problem.candidates
        if one.cock == cock and one.tested != cock
    )
    limits = tuple(replace(one, cock=second) for one in problem.cocks if one.cock == cock)
    group = problem.group
    if group is not None:
        nodes = tuple((second, node) for bird, node in group.birds if bird == cock)
        group = replace(group, birds=(*group.birds, *nodes))
    return replace(
        problem,
        candidates=(*problem.candidates, *copies),
        cocks=(*problem.cocks, *limits),
        group=group,
    )


def _new_cock(plan: SeasonPlan) -> Iterator[Variant]:
    newcomer = with_new_cock(plan.table)
    if newcomer is not None:
        yield Variant(
            what=Added.NEW_COCK,
            subject=newcomer.breed,
            problem=_posed(plan, newcomer.table),
            facts={"line": newcomer.line},
        )


def _caps(plan: SeasonPlan) -> Iterator[Variant]:
    """A little more kinship allowed: in lines under the flock's cap, and in each line alone.

    Only pairs that nothing but their kinship forbids come in; all else of a pair is known already.
    """
    settings = plan.table.study.flock.settings
    shared = {line for line in sorted(plan.table.needs) if settings.line(line).kinship_max is None}
    let_in = {line: _nearly_allowed(plan.table, line) for line in sorted(plan.table.needs)}
    if sum(bool(let_in[line]) for line in shared) != 1:
        pairs = {pair.key for line in shared for pair in let_in[line]}
        yield _with_pairs(plan, pairs, Added.CAP, "", settings.limits.kinship_max)
    for line, found in let_in.items():
        own = settings.line(line).kinship_max
        cap = settings.limits.kinship_max if own is None else own
        yield _with_pairs(plan, {pair.key for pair in found}, Added.LINE_CAP, line, cap)


def _nearly_allowed(table: PairTable, line: str) -> list[Pair]:
    return [
        pair
        for pair in table.pairs
        if pair.line == line
        and not pair.allowed
        and all(
            broken.rule is Rule.TOO_RELATED
            and (broken.measured or 0.0) <= (broken.limit or 0.0) + MORE_CAP + tolerance.LIMIT
            for broken in pair.broken
        )
    ]


def _with_pairs(
    plan: SeasonPlan, keys: set[tuple[str, str, str]], what: Added, subject: str, cap: float
) -> Variant:
    pairs = tuple(
        replace(pair, broken=()) if pair.key in keys else pair for pair in plan.table.pairs
    )
    problem = _posed(plan, replace(plan.table, pairs=pairs)) if keys else plan.problem
    return Variant(
        what=what, subject=subject, problem=problem, facts={"cap": cap, "pairs": len(keys)}
    )


def _limits(plan: SeasonPlan) -> Iterator[Variant]:
    """A little more of each limit on the whole plan that is set."""
    limits, group = plan.problem.limits, plan.problem.group
    steps: tuple[tuple[Added, str, float], ...] = (
        (Added.MEAN_CAP, "mean_inbreeding_max", MORE_CAP),
        (Added.ROOM, "chicks_max", MORE_CHICKS),
        (Added.EGGS, "eggs_max", MORE_CHICKS),
    )
    for what, name, step in steps:
        before = getattr(limits, name)
        if before is not None:
            more = replace(limits, **{name: before + step})
            problem = replace(plan.problem, limits=more)
            yield Variant(what=what, subject="", problem=problem, facts={"cap": before})
    if group is not None and group.limit is not None:
        problem = replace(plan.problem, group=replace(group, limit=group.limit + MORE_CAP))
        yield Variant(what=Added.GROUP_CAP, subject="", problem=problem, facts={"cap": group.limit})


def _week(plan: SeasonPlan) -> Iterator[Variant]:
    """Eggs kept for a week longer: all pairs judged anew."""
    flock = plan.table.study.flock
    until = flock.settings.collect_until + dt.timedelta(days=MORE_DAYS)
    year = flock.settings.year.model_copy(update={"collect_until": until})
    settings = flock.settings.model_copy(update={"year": year})
    longer = replace(flock, settings=settings, tables=replace(flock.tables, settings=settings))
    table = judge_pairs(replace(plan.table.study, flock=longer))
    yield Variant(
        what=Added.WEEK,
        subject=until.isoformat(),
        problem=_posed(plan, replace(table, needs=plan.table.needs)),
        facts={"until": until},
    )
