"""From judged pairs, pens and wishes to the planning problem."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.plan.problem import (
    BirdInPen,
    BirdNotInPen,
    BirdUsed,
    Candidate,
    CockLimit,
    Demand,
    HensApart,
    HensTogether,
    LineGoal,
    PairTogether,
    PenKind,
    PlanProblem,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from matchmaker.flock.bird import Bird
    from matchmaker.pairs.pair import Pair
    from matchmaker.pairs.table import PairTable
    from matchmaker.settings import Settings
    from matchmaker.tables.records import PenRecord

COCKEREL_DAYS: Final = 243
"""A cock under eight months counts as a cockerel and gets fewer hens."""

OLD_DAYS: Final = 3 * 365
"""A cock over three years gets fewer hens."""


def pose_problem(table: PairTable, *, fresh: bool = False) -> PlanProblem:
    """The planning problem of a flock; ``fresh`` drops the standing plan.

    Only allowed pairs become candidates. Pens that a wish names stand alone, all others that are
    alike are pooled.
    """
    flock = table.study.flock
    standing = () if fresh else flock.tables.plan
    together = {(row.hen, row.cock) for row in standing}
    birds = flock.by_band()
    allowed = table.allowed
    cocks = sorted({pair.cock for pair in allowed} | _wished_cocks(table, birds))
    return PlanProblem(
        candidates=tuple(
            as_candidate(pair, kept=(pair.hen, pair.cock) in together) for pair in allowed
        ),
        kinds=_kinds(flock.tables.pens, _named_pens(table)),
        cocks=tuple(cock_limit(birds[cock], flock.settings) for cock in cocks),
        lines=tuple(_goal(table, line) for line in sorted(table.needs)),
        demands=tuple(_demands(table)),
        standing_pens=tuple(sorted({(row.pen, row.cock) for row in standing})),
    )


def as_candidate(pair: Pair, *, kept: bool) -> Candidate:
    """The pair as the program sees it; one that no row opens counts nothing."""
    return Candidate(
        hen=pair.hen,
        cock=pair.cock,
        row=pair.crossing.name if pair.crossing else "",
        line=pair.line or "",
        value=pair.value or 0.0,
        wanted=pair.wanted,
        kept=kept,
    )


def _kinds(pens: tuple[PenRecord, ...], named: set[str]) -> tuple[PenKind, ...]:
    """Open pens by size, minimum, line and whether dams are told apart; pens in wishes alone."""
    groups: dict[tuple[int, int, str, bool, str], list[str]] = {}
    for pen in pens:
        if pen.open:
            alone = pen.pen if pen.pen in named else ""
            key = (pen.hens_max, pen.hens_min, pen.line, pen.dam_known, alone)
            groups.setdefault(key, []).append(pen.pen)
    return tuple(
        PenKind(
            pens=tuple(sorted(labels)),
            hens_max=key[0],
            hens_min=key[1],
            line=key[2],
            dam_known=key[3],
        )
        for key, labels in sorted(groups.items())
    )


def _named_pens(table: PairTable) -> set[str]:
    return {pen for _, pen in (*table.wishes.in_pen, *table.wishes.not_in_pen)}


def _wished_cocks(table: PairTable, birds: Mapping[str, Bird]) -> set[str]:
    """Cocks that only a wish brings in: their limit is needed for the wish to clash in words."""
    wishes = table.wishes
    named = {bird for bird, _ in (*wishes.in_pen, *wishes.not_in_pen)} | set(wishes.use)
    return {bird for bird in named if birds[bird].sex == "cock"}


def cock_limit(cock: Bird, settings: Settings) -> CockLimit:
    """How many hens and pens a cock may serve, by his own row or else by his breed and age."""
    own = cock.record.hens_max
    return CockLimit(
        cock=cock.band,
        hens_max=most_hens(cock, settings) if own is None else own,
        pens_max=settings.limits.pens_per_cock,
    )


def most_hens(cock: Bird, settings: Settings) -> int:
    """Most hens for a cock: by the weight class of his breed, fewer if very young or old."""
    limits = settings.limits.hens_per_cock
    most: int = getattr(limits, _weight_class(cock, settings))
    age = cock.age_on(settings.pen_up)
    if age is not None and age < COCKEREL_DAYS:
        return max(1, round(most * limits.cockerel))
    if age is not None and age > OLD_DAYS:
        return max(1, round(most * limits.old))
    return most


def _weight_class(cock: Bird, settings: Settings) -> str:
    """Class of the breed a cock is most of; of the recurrent breed where his own is not written."""
    breeds = cock.record.breed or {settings.recurrent: 1.0}
    breed = max(sorted(breeds), key=lambda name: breeds[name])
    return settings.breeds[breed].weight_class if breed in settings.breeds else "medium"


def _goal(table: PairTable, line: str) -> LineGoal:
    needs = table.needs[line]
    return LineGoal(
        line=line,
        importance=needs.settings.importance,
        chicks_wanted=needs.chicks_wanted,
        cocks_min=needs.settings.cocks_min,
        hens_min=needs.settings.hens_min,
        wanted_min=needs.settings.wanted_min,
    )


def _demands(table: PairTable) -> Iterator[Demand]:
    wishes = table.wishes
    for (hen, cock), name in sorted(wishes.together.items()):
        yield PairTogether(name=name, hen=hen, cock=cock)
    for (bird, pen), name in sorted(wishes.in_pen.items()):
        yield BirdInPen(name=name, bird=bird, pen=pen)
    for (bird, pen), name in sorted(wishes.not_in_pen.items()):
        yield BirdNotInPen(name=name, bird=bird, pen=pen)
    for (first, second), name in sorted(wishes.hens_together.items()):
        yield HensTogether(name=name, first=first, second=second)
    for (first, second), name in sorted(wishes.hens_apart.items()):
        yield HensApart(name=name, first=first, second=second)
    for bird, name in sorted(wishes.use.items()):
        yield BirdUsed(name=name, bird=bird)
