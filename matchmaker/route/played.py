"""Chicks put into the books as if they had hatched, and the books a year on."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from matchmaker.settings import LocusSettings
from matchmaker.tables.dates import years_on
from matchmaker.tables.records import BirdRecord, Origin, Parentage, SeenRecord, Sex

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from matchmaker.pairs.crossings import Crossing
    from matchmaker.pairs.pair import Pair
    from matchmaker.pairs.table import PairTable
    from matchmaker.settings import Settings
    from matchmaker.tables.folder import FolderTables

HATCH: Final = dt.timedelta(days=60)
"""Chicks played through hatch so long after the pens are made up."""

_SEX_MARK: Final = {Sex.COCK: "son", Sex.HEN: "daughter"}


def kept_chicks(
    pairs: Sequence[Pair], line: str, table: PairTable
) -> Iterator[tuple[BirdRecord, tuple[SeenRecord, ...]]]:
    """A kept chick of each sex out of each backcross pair, with what is known of its genes."""
    taken = {record.bird for record in table.study.flock.tables.birds}
    for at, pair in enumerate(pairs, start=1):
        crossing = pair.crossing
        if crossing is None:
            continue
        for sex in crossing.sexes:
            if not (pair.wanted_by_sex or {}).get(sex):
                continue  # a hen gives no gene on her Z to her daughters
            band = free_name(f"{line} chick {at}, {_SEX_MARK[sex]}", taken)
            hatched = table.study.flock.settings.pen_up + HATCH
            yield chick_record(band, sex, pair, hatched), tuple(_known(band, crossing, sex))


def chick_record(band: str, sex: Sex, pair: Pair, hatched: dt.date) -> BirdRecord:
    """Return the row of a chick out of a pair, in the line that the pair's chicks join."""
    return BirdRecord(
        row=0,
        bird=band,
        sex=sex,
        hatched=hatched,
        sire=Parentage(origin=Origin.KNOWN, candidates=((pair.cock, 1.0),)),
        dam=Parentage(origin=Origin.KNOWN, candidates=((pair.hen, 1.0),)),
        line=pair.line or "",
    )


def _known(band: str, crossing: Crossing, sex: Sex) -> Iterator[SeenRecord]:
    for locus, kept in crossing.keep.get(sex, {}).items():
        copies = min(kept)
        if copies:
            yield SeenRecord(
                row=0,
                date=None,
                bird=band,
                hen="",
                cock="",
                pen="",
                locus=locus,
                what=((f"{copies} copies", 1),),
                how="dna",
            )


def free_name(name: str, taken: set[str]) -> str:
    """Return a name that no bird has.

    Examples
    --------
    >>> free_name("chick", {"chick", "chick*"})
    'chick**'
    """
    while name in taken:
        name += "*"
    return name


def with_chicks(
    tables: FolderTables, chicks: Sequence[tuple[BirdRecord, tuple[SeenRecord, ...]]]
) -> FolderTables:
    """Return the tables with these chicks and what is known of them, no plan standing."""
    records = tuple(record for record, _ in chicks)
    seen = tuple(one for _, known in chicks for one in known)
    return replace(tables, birds=(*tables.birds, *records), seen=(*tables.seen, *seen), plan=())


def at_the_intercross(
    tables: FolderTables, lines: Sequence[str], wanted: Mapping[str, int]
) -> FolderTables:
    """The tables a year on, when the lines are intercrossed for the genes that are wanted.

    The other loci of the target stay among those that are worked out.
    """
    settings = tables.settings
    if settings is None:
        return tables
    moved = stepped(settings, lines, "intercross")
    year = moved.year.model_copy(
        update={
            "pen_up": years_on(settings.pen_up, 1),
            "collect_from": None,
            "collect_until": None,
        }
    )
    changed = moved.model_copy(
        update={
            "year": year,
            "season": settings.season + 1,
            "target": dict(wanted),
            "loci": {symbol: LocusSettings() for symbol in settings.target} | settings.loci,
        }
    )
    return replace(tables, settings=changed, wishes=())


def stepped(settings: Settings, lines: Sequence[str], step: str) -> Settings:
    """Settings without written rows, these lines at one step."""
    changed = {line: settings.line(line).model_copy(update={"step": step}) for line in lines}
    return settings.model_copy(
        update={"lines": {**settings.lines, **changed}, "matings": (), "rotation": None}
    )
