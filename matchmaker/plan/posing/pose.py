"""From judged pairs, pens and wishes to the planning problem."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.pairs.certainty import poisson_mean
from matchmaker.plan.posing.pedigree_terms import group_kinship
from matchmaker.plan.posing.problem import (
    NO_ROWS,
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
    PlanLimits,
    PlanProblem,
)
from matchmaker.plan.posing.terms import line_carriers, season_terms, test_goals
from matchmaker.plan.posing.turns import has_periods, overlapping, turn_label

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from matchmaker.flock.bird import Bird
    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.posing.terms import SeasonTerms
    from matchmaker.plan.posing.turns import Turn
    from matchmaker.settings import Settings

COCKEREL_DAYS: Final = 243
"""A cock under eight months counts as a cockerel and gets fewer hens."""

OLD_DAYS: Final = 3 * 365
"""A cock over three years gets fewer hens."""


def pose_problem(table: PairTable, *, fresh: bool = False) -> PlanProblem:
    """The planning problem of a flock; ``fresh`` drops the standing plan.

    Only allowed pairs become candidates, one for each turn of the season in which their eggs
    count. Pens that a wish names stand alone, all others that are alike are pooled.
    """
    flock = table.study.flock
    standing = () if fresh else flock.tables.plan
    terms = season_terms(table)
    birds = flock.by_band()
    candidates = _candidates(terms, {(row.hen, row.cock) for row in standing})
    cocks = sorted({one.cock for one in candidates} | _wished_cocks(table, birds))
    parents = {bird for one in candidates for bird in (one.hen, one.cock)}
    return PlanProblem(
        candidates=candidates,
        kinds=_kinds(table, terms.turns),
        cocks=tuple(cock_limit(birds[cock], flock.settings) for cock in cocks),
        lines=tuple(line_goal(table, line) for line in sorted(table.needs)),
        demands=tuple(_demands(table)),
        standing_pens=tuple(sorted({(row.pen, row.cock) for row in standing})),
        turns=overlapping(terms.turns),
        limits=plan_limits(flock.settings),
        tests=test_goals(candidates, terms.trials),
        carriers=line_carriers(table, candidates),
        group=group_kinship(table.study, sorted(parents)) if parents else None,
    )


def _candidates(terms: SeasonTerms, together: set[tuple[str, str]]) -> tuple[Candidate, ...]:
    return tuple(
        terms.candidate(pair, turn, kept=(pair.hen, pair.cock) in together)
        for pair in terms.table.allowed
        for turn in terms.turns
    )


def plan_limits(settings: Settings) -> PlanLimits:
    """The limits on the plan as a whole that the settings give."""
    limits, year = settings.limits, settings.year
    return PlanLimits(
        mean_inbreeding_max=limits.mean_inbreeding_max,
        sire_share_max=limits.sire_share_max,
        chicks_max=year.rearing_room,
        eggs_max=year.incubator_per_week,
    )


def _kinds(table: PairTable, turns: Sequence[Turn]) -> tuple[PenKind, ...]:
    """Open pens by size, minimum, line, use, turn, whether dams are told apart; in wishes alone.

    A pen whose turn has no day for eggs is left out: nothing can be bred in it.
    """
    flock, named = table.study.flock, _named_pens(table)
    pens = flock.tables.pens
    used = {turn.label for turn in turns}
    periods = has_periods(pens)
    groups: dict[tuple[int, int, str, str, bool, str, str], list[str]] = {}
    for pen in pens:
        turn = turn_label(pen, flock.settings, periods=periods)
        if pen.open and turn in used:
            alone = pen.pen if pen.pen in named else ""
            key = (pen.hens_max, pen.hens_min, pen.line, pen.use, pen.dam_known, turn, alone)
            groups.setdefault(key, []).append(pen.pen)
    return tuple(
        PenKind(
            pens=tuple(sorted(labels)),
            hens_max=key[0],
            hens_min=key[1],
            line=key[2],
            rows=rows_for(table, key[3]),
            dam_known=key[4],
            turn=key[5],
        )
        for key, labels in sorted(groups.items())
    )


def rows_for(table: PairTable, use: str) -> tuple[str, ...]:
    """The rows of matings open for what a pen is kept for; none for any.

    Where no row is open for it one without a name stands for them, which no pair is in.
    """
    if not use:
        return ()
    return tuple(one.name for one in table.crossings if one.purpose == use) or NO_ROWS


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


def line_goal(table: PairTable, line: str) -> LineGoal:
    """What a line needs; with ``certainty`` its numbers by sex become means that are sure enough.

    ``poisson_mean`` says which, ``Candidate.sure_cocks`` and ``sure_hens`` add up to them.
    """
    needs = table.needs[line]
    own = needs.settings
    by_sex = {"cocks": own.wanted_cocks_min, "hens": own.wanted_hens_min}
    sure = own.certainty
    plain = by_sex if sure is None else dict.fromkeys(by_sex, 0.0)
    certain = {
        sex: poisson_mean(round(number), sure) if sure is not None and number else 0.0
        for sex, number in by_sex.items()
    }
    return LineGoal(
        line=line,
        importance=own.importance,
        chicks_wanted=needs.chicks_wanted,
        cocks_min=own.cocks_min,
        hens_min=own.hens_min,
        wanted_min=own.wanted_min,
        wanted_cocks_min=plain["cocks"],
        wanted_hens_min=plain["hens"],
        sure_cocks_min=certain["cocks"],
        sure_hens_min=certain["hens"],
        sire_share_max=own.sire_share_max,
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
