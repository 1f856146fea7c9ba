"""The young birds of a flock: those that were never old enough for a pen; and their families."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import TYPE_CHECKING

from matchmaker.tables.records import Status

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from matchmaker.flock.bird import Bird
    from matchmaker.flock.flock import Flock
    from matchmaker.grade.spring import Spring
    from matchmaker.tables.folder import FolderTables
    from matchmaker.tables.records import BirdRecord, Parentage


def young_birds(flock: Flock, spring: Spring) -> tuple[Bird, ...]:
    """The living birds that were too young for the pens before, or hatched since, by band."""
    return tuple(bird for bird in flock.living if is_young(bird.hatched, flock, spring))


def is_young(hatched: dt.date | None, flock: Flock, spring: Spring) -> bool:
    """Whether a bird was too young for the pens before; one of unknown age is taken as old."""
    least = dt.timedelta(days=flock.settings.limits.age_min_days)
    return hatched is not None and hatched > spring.before - least


def not_yet_breeders(tables: FolderTables, day: dt.date) -> FolderTables:
    """The tables with birds too young to breed as ``young``: nobody counts them as breeders.

    A chick without a status is read as a breeder; what a line wants hangs on how many it has.
    """
    settings = tables.settings
    least = 0 if settings is None else settings.limits.age_min_days

    def settled(record: BirdRecord) -> BirdRecord:
        grown = record.hatched is None or (day - record.hatched).days >= least
        if grown or record.status is not Status.BREEDER:
            return record
        return replace(record, status=Status.YOUNG)

    return replace(tables, birds=tuple(map(settled, tables.birds)))


def families(birds: Iterable[Bird]) -> Mapping[str, str]:
    """The family of each bird: its sire and its dam, as far as they are known, in words.

    A bird without known parents is a family of its own.
    """
    return {bird.band: family_of(bird.record) for bird in birds}


def family_of(record: BirdRecord) -> str:
    """A bird's sire and dam in words; its own band where neither is known.

    Examples
    --------
    >>> from matchmaker.tables.records import BirdRecord, Origin, Parentage
    >>> known = Parentage(origin=Origin.KNOWN, candidates=(("C1", 1.0),))
    >>> several = Parentage(origin=Origin.KNOWN, candidates=(("H2", 0.5), ("H1", 0.5)))
    >>> family_of(BirdRecord(row=2, bird="A1", sire=known, dam=several))
    'C1 × H1 or H2'
    >>> family_of(BirdRecord(row=3, bird="A2"))
    'A2'
    """
    if record.clutch:
        return f"clutch {record.clutch}"
    sire, dam = _named(record.sire), _named(record.dam)
    if not (sire or dam):
        return record.bird
    return f"{sire or 'unknown'} × {dam or 'unknown'}"


def _named(parent: Parentage) -> str:
    return " or ".join(sorted(band for band, _ in parent.candidates))
