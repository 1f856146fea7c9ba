"""Who is kept on the eve of next spring: young by ``grade``'s rules, old while they serve."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from matchmaker.ahead.books import after_grading
from matchmaker.grade.choosing import Pool, choose
from matchmaker.grade.prospect import SETTLED, prospects_of
from matchmaker.grade.young import families
from matchmaker.pairs.goals import line_needs
from matchmaker.pairs.rules import Rule
from matchmaker.pairs.table import revalued
from matchmaker.tables.records import Sex, Status

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from matchmaker.ahead.places import Size
    from matchmaker.flock.bird import Bird
    from matchmaker.flock.flock import Flock
    from matchmaker.grade.places import Place, Places
    from matchmaker.grade.prospect import Prospect
    from matchmaker.pairs.table import PairTable, Survey

OLDEST: Final = 4 * 365
"""Birds older than this are not kept for another spring (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NextFlock:
    """Next spring's flock after the grading: its pairs, and the bands of those that were let go."""

    table: PairTable
    gone: frozenset[str]


def grade_all(survey: Survey, size: Size) -> NextFlock:
    """Grade a flock surveyed on the eve of its spring; see ``retain``."""
    return retain(survey.foremost(), size, survey)


def retain(table: PairTable, size: Size, survey: Survey | None = None) -> NextFlock:
    """Grade a judged flock on the eve of its spring, and judge what is left.

    The ``table`` may hold no more than tells what each bird counts at its best
    (``Survey.foremost``); the ``survey`` then gives the pairs of those that are kept.

    Young birds are those with the status ``young``: they fill the places that older birds, fit for
    a pair, leave them (half of all at least), by the order of ``grade`` (the value of the best
    pair, then merit; first those in which a wanted gene has parted from an unwanted one; one of
    each family kept; the family's part capped). Of the older birds those
    stay whose best pairs count most, as many as there are places, none above four years. Places
    that are left go to birds that find no mate this spring, and where nobody else of a line and sex
    is left to those above four years: no line is lost for want of one.
    """
    flock = table.study.flock
    young = [bird for bird in flock.living if bird.record.status is Status.YOUNG]
    bands = {bird.band for bird in young}
    old = [bird for bird in flock.living if bird.band not in bands]
    best = _best_values(table)
    fit = [bird for bird in old if bird.band in best and not too_old(bird, flock)]
    places = size.places(counted(fit))
    chosen = choose(
        Pool(
            prospects=prospects_of(young, table),
            places=places,
            choices={},
            families=families(young),
        )
    )
    room = Counter(size.wanted)
    room.subtract(one.place for one in chosen.taken)
    kept = set(chosen.grounds)
    parted = {one.band for one in prospects_of(fit, table) if one.parted}
    others = sorted(fit, key=lambda bird: (bird.band not in parted, -best[bird.band], bird.band))
    _keep_parted(kept, room, [bird for bird in others if bird.band in parted], places)
    for bird in (*others, *_without_mates(table, [*young, *old])):
        if bird.band not in kept and room[bird.line, bird.sex or Sex.HEN] > 0:
            room[bird.line, bird.sex or Sex.HEN] -= 1
            kept.add(bird.band)
    kept |= set(_last_of_their_kind(table, size, kept))
    gone = frozenset(bird.band for bird in flock.living if bird.band not in kept)
    every = table if survey is None else survey.among(kept)
    return NextFlock(table=left_over(every, kept, gone), gone=gone)


def _keep_parted(
    kept: set[str],
    room: Counter[Place],
    parted: Sequence[Bird],
    places: Mapping[Place, Places],
) -> None:
    """Keep older birds in which genes parted in the places left to old ones.

    Young birds that were taken to save their families may have filled these.
    """
    left = Counter({place: each.old for place, each in places.items()})
    for bird in parted:
        place = (bird.line, bird.sex or Sex.HEN)
        if left[place] > 0:
            left[place] -= 1
            room[place] -= 1
            kept.add(bird.band)


def _best_values(table: PairTable) -> Mapping[str, float]:
    """What the best allowed pair of each bird counts; birds without one are not in it."""
    best: dict[str, float] = {}
    for pair in table.allowed:
        for band in (pair.hen, pair.cock):
            best[band] = max(best.get(band, 0.0), pair.value or 0.0)
    return best


def _without_mates(table: PairTable, birds: Sequence[Bird]) -> list[Bird]:
    """Birds that have no allowed pair this spring and may have one in another, the best first.

    Not those with a defect, nor those that surely lack what the rows of their line ask for. That no
    pair of a carrier would have wanted chicks holds for the step at which its line stands now.
    """
    flock = table.study.flock
    mated = {band for pair in table.allowed if pair.trial is None for band in (pair.hen, pair.cock)}
    left = [bird for bird in birds if bird.band not in mated]
    told = [one for one in prospects_of(left, table) if not (one.fit or _of_no_use(one))]
    told = [one for one in told if not too_old(one.bird, flock)]
    return [one.bird for one in sorted(told, key=lambda one: (-one.chance, -one.merit, one.band))]


def _last_of_their_kind(table: PairTable, size: Size, kept: set[str]) -> Iterator[str]:
    """Birds above the age that are fit, as many as there are places, where no other is kept."""
    flock = table.study.flock
    filled = counted([bird for bird in flock.living if bird.band in kept])
    room = {place: number for place, number in size.wanted.items() if not filled[place]}
    old = prospects_of((bird for bird in flock.living if too_old(bird, flock)), table)
    for one in sorted(old, key=lambda one: (-one.value, one.band)):
        if not one.lasting and room.get(one.place, 0) > 0:
            room[one.place] -= 1
            yield one.band


def _of_no_use(one: Prospect) -> bool:
    """Whether no step of its line can use it."""
    if all(broken.rule is Rule.NO_WANTED_CHICKS for broken in one.lasting):
        return bool(one.lasting) and one.chance <= 1 - SETTLED
    return True


def too_old(bird: Bird, flock: Flock) -> bool:
    """Whether a bird is too old to be kept for the spring of its flock."""
    age = bird.age_on(flock.settings.pen_up)
    return age is not None and age > OLDEST


def counted(birds: Sequence[Bird]) -> Counter[Place]:
    """How many of some birds are of each line and sex."""
    return Counter((bird.line, bird.sex) for bird in birds if bird.sex is not None)


def left_over(table: PairTable, kept: set[str], gone: frozenset[str]) -> PairTable:
    """The pairs of the birds that are kept, valued for the flock that is left."""
    flock = table.study.flock
    tables = after_grading(flock.tables, kept, gone)
    records = {record.bird: record for record in tables.birds}
    birds = tuple(
        bird if bird.record is record else replace(bird, record=record)
        for bird in flock.birds
        for record in [records[bird.band]]
    )
    study = replace(table.study, flock=replace(flock, tables=tables, birds=birds))
    left = tuple(pair for pair in table.pairs if pair.hen not in gone and pair.cock not in gone)
    if line_needs(study.flock, table.crossings) == table.needs:
        return replace(table, study=study, pairs=left)
    return revalued(table, study, {pair.key for pair in left})
