"""What of pens, cocks, rooms and limits a plan uses up, and what the rules take away."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from matchmaker import tolerance

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from matchmaker.pairs.rules import Rule
    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.posing.problem import PlanProblem
    from matchmaker.plan.season.season_plan import FilledPen, SeasonPlan


class Resource(StrEnum):
    """What a plan may run out of."""

    PENS = "pens"
    PLACES = "places"
    COCK = "cock"
    CHICKS = "chicks"
    EGGS = "eggs"
    PAIR_KINSHIP = "pair-kinship"
    MEAN_INBREEDING = "mean-inbreeding"
    SIRE_SHARE = "sire-share"
    GROUP_KINSHIP = "group-kinship"


@dataclass(frozen=True, slots=True, kw_only=True)
class Used:
    """How much of something a plan uses; ``subject`` is the pen, cock or pair it is about.

    ``used`` and ``limit`` are in the unit of the resource: pens, hens, chicks raised, eggs a week,
    kinship, or parts of all pairs.
    """

    resource: Resource
    used: float
    limit: float
    subject: str = ""

    @property
    def full(self) -> bool:
        """Whether nothing is left of it."""
        return self.used >= self.limit - tolerance.LIMIT


@dataclass(frozen=True, slots=True, kw_only=True)
class Rejects:
    """How many pairs of hen and cock a rule rejects, and how many of them no other rule does.

    A hen and a cock with an allowed row are not rejected; of others the row with the fewest rules
    counts.
    """

    rule: Rule
    pairs: int
    alone: int


def what_binds(plan: SeasonPlan) -> tuple[Used, ...]:
    """Everything of which the plan uses a part, in order of ``Resource``, pens and cocks by name.

    Places are told of each pen that is used, hens of each cock, kinship of the closest pair.
    """
    return (
        _pens(plan.problem, plan.pens),
        *_places(plan.problem, plan.pens),
        *_cocks(plan.problem, plan.pens),
        *_rooms(plan),
        *_closest(plan),
        *_whole(plan),
    )


def _pens(problem: PlanProblem, pens: Iterable[FilledPen]) -> Used:
    """Pens with a cock; a pen that is free in several turns counts once for each."""
    free = {(label, kind.turn) for kind in problem.kinds for label in kind.pens}
    used = {(pen.pen, pen.turn) for pen in pens}
    return Used(resource=Resource.PENS, used=len(used), limit=len(free | used))


def _places(problem: PlanProblem, pens: Iterable[FilledPen]) -> Iterator[Used]:
    room = {(label, kind.turn): kind.hens_max for kind in problem.kinds for label in kind.pens}
    for pen in pens:
        if (pen.pen, pen.turn) in room:
            yield Used(
                resource=Resource.PLACES,
                subject=f"{pen.pen}, {pen.turn}" if pen.turn else pen.pen,
                used=len(pen.pairs),
                limit=room[pen.pen, pen.turn],
            )


def _cocks(problem: PlanProblem, pens: Iterable[FilledPen]) -> Iterator[Used]:
    """Each cock's hens at one time, against what he is taken to serve."""
    most = {one.cock: one.hens_max for one in problem.cocks}
    hens: Counter[tuple[str, str]] = Counter()
    for pen in pens:
        hens[pen.cock, pen.turn] += len(pen.pairs)
    for cock in sorted({cock for cock, _ in hens} & most.keys()):
        at_once = max(sum(hens[cock, turn] for turn in turns) for turns in problem.turns)
        yield Used(resource=Resource.COCK, subject=cock, used=at_once, limit=most[cock])


def _rooms(plan: SeasonPlan) -> Iterator[Used]:
    needs = plan.needs
    if needs.chicks_max is not None:
        yield Used(resource=Resource.CHICKS, used=needs.chicks, limit=needs.chicks_max)
    if needs.eggs_max is not None:
        yield Used(resource=Resource.EGGS, used=needs.eggs, limit=needs.eggs_max)


def _closest(plan: SeasonPlan) -> Iterator[Used]:
    """The pair whose kinship comes nearest to the limit of its line."""
    settings = plan.table.study.flock.settings
    found = []
    for pair in (pair for pen in plan.pens for pair in pen.pairs):
        own = settings.line(pair.line).kinship_max if pair.line else None
        limit = settings.limits.kinship_max if own is None else own
        found.append((limit - pair.kinship, pair.key, pair.kinship, limit))
    if found:
        _, (hen, cock, _), kinship, limit = min(found)
        subject = f"{hen} with {cock}"
        yield Used(resource=Resource.PAIR_KINSHIP, subject=subject, used=kinship, limit=limit)


def _whole(plan: SeasonPlan) -> Iterator[Used]:
    """The limits on the plan as a whole that the settings give."""
    limits, group = plan.problem.limits, plan.problem.group
    if limits.mean_inbreeding_max is not None:
        yield Used(
            resource=Resource.MEAN_INBREEDING,
            used=plan.figures.mean_inbreeding,
            limit=limits.mean_inbreeding_max,
        )
    sires = Counter(pair.cock for pen in plan.pens for pair in pen.pairs)
    if limits.sire_share_max is not None and sires:
        cock, hens = max(sires.items(), key=lambda item: (item[1], item[0]))
        yield Used(
            resource=Resource.SIRE_SHARE,
            subject=cock,
            used=hens / sires.total(),
            limit=limits.sire_share_max,
        )
    if group is not None and group.limit is not None:
        yield Used(
            resource=Resource.GROUP_KINSHIP, used=plan.figures.group_kinship, limit=group.limit
        )


def what_rules_reject(table: PairTable) -> tuple[Rejects, ...]:
    """The rules that reject pairs, the one that rejects most first."""
    pairs: Counter[Rule] = Counter()
    alone: Counter[Rule] = Counter()
    for entries in table.by_birds.values():
        if any(entry.allowed for entry in entries):
            continue
        fewest = min(entries, key=lambda entry: (len(entry.broken), entry.key))
        rules = {broken.rule for broken in fewest.broken}
        pairs.update(rules)
        if len(rules) == 1:
            alone.update(rules)
    found = [Rejects(rule=rule, pairs=count, alone=alone[rule]) for rule, count in pairs.items()]
    return tuple(sorted(found, key=lambda one: (-one.pairs, one.rule)))
