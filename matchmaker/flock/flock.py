"""The flock: every bird of the books with its parents, line and sex settled."""

from __future__ import annotations

from dataclasses import dataclass, field
from operator import attrgetter
from typing import TYPE_CHECKING

from matchmaker.errors import Fault, InputError
from matchmaker.flock.bird import Bird
from matchmaker.flock.contacts import apart_doubts, candidate_doubts
from matchmaker.flock.forgotten import forgotten_doubts
from matchmaker.flock.lineage import SOURCE_BASE, Lineage, trace_lineage
from matchmaker.flock.listing import first_few, natural
from matchmaker.flock.penned_then import missing_parent_doubts
from matchmaker.flock.suspects import pedigree_doubts, pedigree_faults, sexes_of
from matchmaker.flock.unseen import unseen_doubts
from matchmaker.tables.records import Status

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable

    from matchmaker.flock.pedigree import Pedigree
    from matchmaker.settings import Settings
    from matchmaker.tables.folder import FolderTables
    from matchmaker.tables.records import BirdRecord

NO_LINE = "flock"
"""The line of a bird whose line, dam and breed are all unwritten."""

BANDS_NAMED = 6
"""So many birds are named of which something is taken for granted; of more, how many."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Flock:
    """All birds, parents before their chicks, with the tables they came from.

    ``defaults`` are sentences: what was assumed because the tables do not say.
    """

    settings: Settings
    tables: FolderTables
    birds: tuple[Bird, ...]
    pedigree: Pedigree
    defaults: tuple[str, ...]
    living: tuple[Bird, ...] = field(init=False, repr=False, compare=False)
    """The birds on the farm, quarantine included, in order of their bands."""
    _by_band: dict[str, Bird] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        here = sorted((bird for bird in self.birds if bird.alive_here), key=attrgetter("band"))
        object.__setattr__(self, "living", tuple(here))
        object.__setattr__(self, "_by_band", {bird.band: bird for bird in self.birds})

    def by_band(self) -> dict[str, Bird]:
        """Map each band to its bird."""
        return self._by_band

    @property
    def breeders(self) -> tuple[Bird, ...]:
        """The living birds kept for breeding, spares included, in order of their bands."""
        breeding = {Status.BREEDER, Status.SPARE}
        return tuple(bird for bird in self.living if bird.record.status in breeding)

    @property
    def today(self) -> dt.date:
        """The date given in the settings, else the newest in the tables, else that of pen-up."""
        return self.settings.today or self.tables.newest_date or self.settings.pen_up


def check_flock(tables: FolderTables) -> tuple[tuple[Fault, ...], tuple[Fault, ...]]:
    """Return all faults and all doubts of tables and pedigree, in order of file and row."""
    doubts = [*tables.doubts, *pedigree_doubts(tables), *apart_doubts(tables)]
    doubts += [*candidate_doubts(tables), *missing_parent_doubts(tables)]
    doubts += [*unseen_doubts(tables), *forgotten_doubts(tables)]
    return _faults_of(tables), in_order(doubts)


def _faults_of(tables: FolderTables) -> tuple[Fault, ...]:
    return in_order([*tables.faults, *pedigree_faults(tables), *_source_faults(tables)])


def in_order(findings: Iterable[Fault]) -> tuple[Fault, ...]:
    """Findings by file, row and column."""
    return tuple(sorted(findings, key=lambda finding: finding.order))


def build_flock(tables: FolderTables) -> Flock:
    """Return the flock of a folder.

    Raises
    ------
    InputError
        If tables or pedigree hold faults; it carries all of them.
    """
    faults = _faults_of(tables)
    if faults or tables.settings is None:
        raise InputError(faults)
    return flock_of_sound(tables, tables.settings)


def flock_of_sound(tables: FolderTables, settings: Settings) -> Flock:
    """Return the flock of tables that are known to hold no fault, such as a program makes.

    Nothing is looked for: that takes as long again. ``settings`` are those of the tables.
    """
    birds = _birds_of(tables)
    lineage = trace_lineage(birds, tables, settings)
    return Flock(
        settings=settings,
        tables=tables,
        birds=tuple(birds[band] for band in lineage.pedigree.birds),
        pedigree=lineage.pedigree,
        defaults=tuple(_defaults(settings, tables, birds, lineage)),
    )


def _birds_of(tables: FolderTables) -> dict[str, Bird]:
    records = {record.bird: record for record in tables.birds}
    sexes = sexes_of(tables)
    return {
        band: Bird(
            band=band,
            sex=sexes[band],
            line=line_of(record, records),
            record=record,
        )
        for band, record in records.items()
    }


def line_of(record: BirdRecord, records: dict[str, BirdRecord]) -> str:
    """A bird's line: as written, else its certain dam's, else its breed, else ``flock``."""
    at, seen = record, set[str]()
    while not at.line:
        seen.add(at.bird)
        dams = [dam for dam, _ in at.dam.candidates]
        if len(dams) != 1 or dams[0] in seen or dams[0] not in records:
            return next(iter(at.breed)) if len(at.breed) == 1 else NO_LINE
        at = records[dams[0]]
    return at.line


def _source_faults(tables: FolderTables) -> list[Fault]:
    """A source's base below its breed's would make the kinship matrix impossible."""
    if tables.settings is None:
        return []
    settings = tables.settings
    pairs = sorted({(r.source, breed) for r in tables.birds if r.source for breed in r.breed})
    return [
        tables.setting_fault(
            f"sources.{source}.base",
            kind="source-base",
            value=str(settings.sources[source].base),
            problem=f"birds of source {source} cannot be less related than birds of the breed "
            f"{breed} at large (base {settings.breed_base(breed)})",
            mend=f"raise it to at least {settings.breed_base(breed)}",
        )
        for source, breed in pairs
        if source in settings.sources and settings.sources[source].base < settings.breed_base(breed)
    ]


def _defaults(
    settings: Settings, tables: FolderTables, birds: dict[str, Bird], lineage: Lineage
) -> Iterable[str]:
    yield from _parents_assumed(lineage)
    year_only = sorted(record.bird for record in tables.birds if record.hatched_is_year)
    if year_only:
        yield f"only the year of hatching known, taken as 1 May: {_few(year_only)}"
    sexed = sorted(b.band for b in birds.values() if b.sex and b.record.sex is None)
    if sexed:
        yield f"sex settled by being a parent: {_few(sexed)}"
    yield from _sources_assumed(settings, tables)
    lineless = sorted(r.bird for r in tables.birds if not r.line)
    if lineless:
        yield f"no line written, taken from the dam, else the breed: {_few(lineless)}"


def _parents_assumed(lineage: Lineage) -> Iterable[str]:
    if lineage.founders:
        yield f"taken as founders, no parents being written: {_few(lineage.founders)}"
    if lineage.founders_without_breed:
        yield (
            "founders without a breed, taken to be of their line's breeds (the recurrent breed "
            f"where the line names none): {_few(lineage.founders_without_breed)}"
        )
    if lineage.drawn_from_line:
        yield (
            "parents unknown, taken as any bird of that sex and line alive then: "
            f"{_few(lineage.drawn_from_line)}"
        )
    if lineage.drawn_from_all:
        yield (
            "one parent unknown and nobody of their line alive then, taken as any bird of that "
            f"sex: {_few(lineage.drawn_from_all)}"
        )


def _sources_assumed(settings: Settings, tables: FolderTables) -> Iterable[str]:
    sourced = [r for r in tables.birds if r.source and r.source not in settings.sources]
    if sourced:
        close = any(settings.breed_base(breed) > SOURCE_BASE for r in sourced for breed in r.breed)
        yield (
            f"birds of one source taken as related by {SOURCE_BASE} (first cousins)"
            f"{', or as all of their breed where that is more' if close else ''}: "
            f"{', '.join(sorted({r.source for r in sourced}))}"
        )


def _few(bands: Iterable[str]) -> str:
    return first_few(sorted(bands, key=natural), BANDS_NAMED)
