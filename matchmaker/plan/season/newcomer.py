"""The flock as it would be with one unrelated cock of the recurrent breed from a new source."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from dataclasses import dataclass, replace
from statistics import fmean
from typing import TYPE_CHECKING, Final

from matchmaker.flock.flock import build_flock
from matchmaker.genetics.study import study_flock
from matchmaker.pairs.table import judge_pairs, valued, values_of_lines
from matchmaker.tables.records import BirdRecord, Origin, Parentage, Sex

if TYPE_CHECKING:
    from matchmaker.pairs.table import PairTable

PURE: Final = 0.999
"""Recurrent share from which a cock counts as one of the breed."""

AGE_DAYS: Final = 365
"""The age the new cock is given: old enough for any rule, too young to be anybody's unknown sire
of an earlier season."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Newcomer:
    """The table with the new cock's pairs beside the old ones, which are as they were."""

    cock: str
    line: str
    breed: str
    table: PairTable


def with_new_cock(table: PairTable) -> Newcomer | None:
    """Return the flock with a new cock; ``None`` where no cock of the breed shows his line.

    He is a founder from a source that nobody else comes from, so that his kinship to the flock is
    what the breed's base makes it; everything about him is judged anew as for any bird. His merit
    is the mean of the flock's cocks of the breed. All other pairs keep their values: the needs of
    lines, and what pairs are measured against, stay those of the flock as it is.
    """
    study = table.study
    cocks = [
        bird
        for bird in study.flock.living
        if bird.sex is Sex.COCK and study.recurrent_share[bird.band] >= PURE
    ]
    if not cocks:
        return None
    line = max(sorted(Counter(b.line for b in cocks).items()), key=lambda item: item[1])[0]
    cock = free_name("a new cock", {bird.band for bird in study.flock.birds})
    grown = _judged_with(table, _record(table, cock, line))
    merit = fmean(study.merit(bird.band) for bird in cocks) - grown.study.merit(cock)
    own = [replace(pair, merit=pair.merit + merit / 2) for pair in grown.pairs if pair.cock == cock]
    pairs = (*table.pairs, *valued(own, values_of_lines(table)))
    return Newcomer(
        cock=cock,
        line=line,
        breed=study.flock.settings.recurrent,
        table=replace(
            grown,
            needs=table.needs,
            pairs=tuple(sorted(pairs, key=lambda pair: pair.key)),
        ),
    )


def free_name(wanted: str, taken: set[str]) -> str:
    """Return a name that nobody has: the one wanted, with as many stars as it takes."""
    name = wanted
    while name in taken:
        name += "*"
    return name


def _record(table: PairTable, cock: str, line: str) -> BirdRecord:
    tables, settings = table.study.flock.tables, table.study.flock.settings
    sources = {record.source for record in tables.birds} | set(settings.sources)
    founder = Parentage(origin=Origin.FOUNDER)
    return BirdRecord(
        row=0,
        bird=cock,
        sex=Sex.COCK,
        hatched=settings.pen_up - dt.timedelta(days=AGE_DAYS),
        sire=founder,
        dam=founder,
        line=line,
        breed={settings.recurrent: 1.0},
        source=free_name("a new source", sources),
    )


def _judged_with(table: PairTable, record: BirdRecord) -> PairTable:
    tables = table.study.flock.tables
    flock = build_flock(replace(tables, birds=(*tables.birds, record)))
    return judge_pairs(study_flock(flock, table.study.kinship.birds))
