"""The keeper's books in simulation: what he would have written by next spring, and no more."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from matchmaker.flock.flock import flock_of_sound
from matchmaker.grade.spring import next_spring, set_for
from matchmaker.rebalance.clock import days
from matchmaker.rebalance.eggs import HATCH_DAYS
from matchmaker.route.played import HATCH
from matchmaker.tables.dates import years_on
from matchmaker.tables.parents import bands_in
from matchmaker.tables.records import BirdRecord, Origin, Parentage, ScoreRecord, SeenRecord, Status

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Collection, Mapping, Sequence

    from matchmaker.flock.flock import Flock
    from matchmaker.flock.pedigree import Pedigree
    from matchmaker.settings import Settings
    from matchmaker.tables.folder import FolderTables
    from matchmaker.tables.records import Sex

_PASSING: Final = frozenset({Status.YOUNG, Status.QUARANTINE})
"""What no bird is for longer than a year."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Chick:
    """A chick that was banded: as the keeper knows it. ``mates`` are the hens it may be out of."""

    band: str
    sex: Sex
    line: str
    cock: str
    mates: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Year:
    """What happened between two springs and got written down.

    ``lost`` gives the days from pen-up to the deaths, ``looks`` (band, locus, words) what was seen,
    ``scores`` the traits scored of each bird, ``sexed`` the sex of birds that had none told.
    """

    chicks: Sequence[Chick]
    lost: Mapping[str, int]
    looks: Sequence[tuple[str, str, str]]
    scores: Mapping[str, Mapping[str, float]]
    sexed: Mapping[str, Sex]


def hatched_in(settings: Settings) -> dt.date:
    """The day on which all chicks of a season are taken to hatch."""
    return settings.pen_up + HATCH


def a_year_on(flock: Flock, year: Year) -> FolderTables:
    """The books of a flock on the eve of next spring, the season's plan, moves and eggs closed.

    Chicks enter as young birds; dates of pens and settings move on as ``grade`` moves them. Birds
    that are gone for a year and are nobody's forebears leave the books, with what was written of
    them alone.
    """
    tables, settings = flock.tables, flock.settings
    spring = next_spring(settings, years_on(settings.pen_up, 1))
    eve = spring.pen_up - days(1)
    hatched = hatched_in(settings)
    birds = [_as_of(record, year, settings.pen_up) for record in tables.birds]
    birds += [_chick(one, hatched) for one in year.chicks]
    moved = set_for(tables, spring)
    grown = replace(
        moved,
        settings=settings_of(moved).model_copy(update={"today": eve}),
        birds=tuple(birds),
        seen=(*tables.seen, *(_seen(*look, eve) for look in year.looks)),
        scores=(
            *tables.scores,
            *(
                ScoreRecord(row=0, bird=band, date=eve, group="", traits=dict(traits))
                for band, traits in year.scores.items()
            ),
        ),
        moves=(),
        eggs=(),
        plan=(),
    )
    return without_long_gone(grown, flock.pedigree, since=settings.pen_up)


def sound(tables: FolderTables) -> Flock:
    """The flock of simulated books, in which nobody can have made a mistake."""
    return flock_of_sound(tables, settings_of(tables))


def after_grading(
    tables: FolderTables, kept: Collection[str], gone: Collection[str]
) -> FolderTables:
    """The books once young birds are kept or let go, and some old ones are let go."""
    eve = settings_of(tables).today

    def settled(record: BirdRecord) -> BirdRecord:
        if record.bird in gone:
            return replace(record, status=Status.SOLD, left_on=eve)
        if record.bird in kept and record.status is Status.YOUNG:
            return replace(record, status=Status.BREEDER)
        return record

    return replace(tables, birds=tuple(map(settled, tables.birds)))


def without_long_gone(tables: FolderTables, pedigree: Pedigree, since: dt.date) -> FolderTables:
    """The books without birds that left before a day and are no forebears of those that are left.

    Forebears are those that are written and, where parents are unknown, those that ``pedigree`` (it
    may lack the youngest) takes them to be: any bird of the line that was there. Nothing that is
    written of a bird left in the books is taken out, but for counts of chicks whose parents are not
    both there.
    """
    parents = {record.bird: _parents(record) for record in tables.birds}
    parents |= _taken_for(pedigree)
    kept: set[str] = set()
    ahead = [
        record.bird
        for record in tables.birds
        if record.status.alive_here or (record.left_on is not None and record.left_on >= since)
    ]
    while ahead:
        band = ahead.pop()
        if band not in kept:
            kept.add(band)
            ahead += parents.get(band, ())
    return replace(
        tables,
        birds=tuple(record for record in tables.birds if record.bird in kept),
        seen=tuple(row for row in tables.seen if _named(row) <= kept),
        scores=tuple(row for row in tables.scores if row.bird in kept),
        wishes=tuple(row for row in tables.wishes if row.bird in kept and row.partner in kept),
    )


def settings_of(tables: FolderTables) -> Settings:
    """The settings of the books of a flock."""
    assert tables.settings is not None  # noqa: S101  a flock was built from them
    return tables.settings


def _parents(record: BirdRecord) -> list[str]:
    return [band for parent in (record.sire, record.dam) for band, _ in parent.candidates]


def _taken_for(pedigree: Pedigree) -> Mapping[str, list[str]]:
    """The birds that may be a parent of each."""
    first = pedigree.first_bird
    return {
        band: [pedigree.birds[node - first] for node, _ in (*sires, *dams) if node >= first]
        for band, sires, dams in zip(pedigree.birds, pedigree.sires, pedigree.dams, strict=True)
    }


def _named(row: SeenRecord) -> set[str]:
    return {band for cell in (row.bird, row.hen, row.cock) for band in bands_in(cell)}


def _as_of(record: BirdRecord, year: Year, pen_up: dt.date) -> BirdRecord:
    """A bird a year later: young or kept apart no more, its sex told."""
    sex, status = record.sex or year.sexed.get(record.bird), record.status
    if record.bird not in year.lost:
        status = Status.BREEDER if status in _PASSING else status
        same = sex is record.sex and status is record.status
        return record if same else replace(record, sex=sex, status=status)
    # All chicks of a season have one date of hatching: who died before still laid eggs for it.
    died = pen_up + max(days(year.lost[record.bird]), HATCH - days(HATCH_DAYS))
    return replace(record, sex=sex, status=Status.DEAD, left_on=died)


def _chick(one: Chick, hatched: dt.date) -> BirdRecord:
    part = 1 / len(one.mates)
    return BirdRecord(
        row=0,
        bird=one.band,
        sex=one.sex,
        hatched=hatched,
        sire=Parentage(origin=Origin.KNOWN, candidates=((one.cock, 1.0),)),
        dam=Parentage(origin=Origin.KNOWN, candidates=tuple((hen, part) for hen in one.mates)),
        line=one.line,
        status=Status.YOUNG,
    )


def _seen(band: str, locus: str, words: str, day: dt.date) -> SeenRecord:
    return SeenRecord(
        row=0,
        date=day,
        bird=band,
        hen="",
        cock="",
        pen="",
        locus=locus,
        what=((words, 1),),
        how="adult",
    )
