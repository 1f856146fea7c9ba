"""Everything that is wrong or doubtful in a flock folder, found before anything is worked out."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Enum
from typing import TYPE_CHECKING, Final

from matchmaker.errors import Fault, InputError
from matchmaker.flock.flock import build_flock, check_flock, in_order
from matchmaker.flock.suspects import sexes_of
from matchmaker.genetics.emphasis import weight_doubts
from matchmaker.genetics.genotypes.posterior import ANY_NUMBER
from matchmaker.genetics.genotypes.reading import read_loci
from matchmaker.genetics.inference.elimination import TooTangledError
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.genetics.shares.typed import share_doubts
from matchmaker.genetics.study import genotypes_of_flock, study_flock
from matchmaker.genetics.traits.doubts import score_doubts, trait_doubts
from matchmaker.genetics.traits.faults import trait_faults
from matchmaker.genetics.traits.forecast import forecast
from matchmaker.genetics.unproven import unproven_doubts
from matchmaker.hatch.band_doubts import band_doubts
from matchmaker.pairs.row_faults import crossing_faults, pens_without_rows, row_doubts
from matchmaker.pairs.table import PairTable, judge_pairs
from matchmaker.pairs.unread import egg_day_doubts, season_doubts, unheeded_wishes
from matchmaker.pairs.wishes import sort_wishes
from matchmaker.plan.posing.turns import pens_without_eggs
from matchmaker.rebalance.clear_doubts import clear_doubts
from matchmaker.tables.read import read_contents, read_folder
from matchmaker.tables.strangers import KIND as OTHER_BIRDS

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Mapping
    from pathlib import Path

    from matchmaker.flock.flock import Flock
    from matchmaker.genetics.genotypes.reading import LocusReading
    from matchmaker.genetics.loci.locus import Locus
    from matchmaker.pairs.crossings import Crossing
    from matchmaker.tables.folder import FolderTables


LEFT_MAX: Final = 450
"""Where more birds and choices of parents hang together at a locus, ``QUICK`` draws no samples.

So many take some twenty seconds.
"""

MANY_BIRDS: Final = 2_000
"""Books of more birds take seconds to be read: there samples are drawn of fewer."""

LEFT_OF_MANY: Final = 50
"""The most that hang together of which samples are drawn in such books, and in drafts of books."""

LINKS_MAX: Final = 30_000
"""Most possible parents of all birds with which ``QUICK`` forecasts scores regardless."""

NOT_LOOKED_AT: Final = (
    "whether all that was seen of birds and of their kin can be true",
    "birds written as pure that nothing bears out",
    "the pairs, and rows, pens and wishes that come to nothing",
    "lines at risk of dying out",
    "what the weights of traits come to",
)
"""What is left out where genes are not worked out."""

NO_FORECAST: Final = "scores that do not fit the bird and its kin"
"""What else is left out where scores are not forecast either."""


class Depth(Enum):
    """How far a check goes."""

    WHOLE = "everything, however long it takes: what plans rest on"
    QUICK = "everything but what would take minutes, which is then named"
    FAULTS = "what stands in the way of a plan, and doubts of the tables as they are written"


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """Everything found in a folder.

    ``table`` is ``None`` while faults stand in the way, and where it was not asked for or takes too
    long; ``not_looked_at`` then says in words what is missing.
    """

    tables: FolderTables
    faults: tuple[Fault, ...]
    doubts: tuple[Fault, ...]
    table: PairTable | None
    not_looked_at: tuple[str, ...] = ()
    loci: Mapping[str, Locus] = field(default_factory=dict)
    """The loci of the flock as far as they can be read."""

    @property
    def crossings(self) -> tuple[Crossing, ...]:
        """The crossings open this season, none while there are faults."""
        return () if self.table is None else self.table.crossings


def check(folder: Path, depth: Depth = Depth.WHOLE) -> Check:
    """Every fault and doubt of a flock folder, and the crossings that are open.

    Raises
    ------
    UsageError
        If there is no such folder.
    """
    return check_tables(tables_of(folder), depth)


def check_contents(contents: Mapping[str, bytes], depth: Depth = Depth.WHOLE) -> Check:
    """Return every fault and doubt of a folder of these files, of which none is written."""
    return check_tables(read_contents(contents, known_loci=frozenset(catalogue())), depth)


def check_tables(tables: FolderTables, depth: Depth = Depth.WHOLE) -> Check:
    """Return every fault and doubt of tables that were read, as ``check`` does of a folder."""
    faults, doubts = check_flock(tables)
    reading = read_loci(tables)
    found = [*faults, *(_held_against_birds(tables, reading, faults) if tables.birds else ())]
    noticed = [*doubts, *reading.doubts, *pens_without_eggs(tables), *band_doubts(tables)]
    worked = _Worked() if found else _worked_out(build_flock(tables), depth)
    return Check(
        tables=tables,
        faults=in_order([*found, *worked.faults]),
        doubts=in_order([*noticed, *worked.doubts]),
        table=worked.table,
        not_looked_at=worked.not_looked_at,
        loci=reading.loci,
    )


def _held_against_birds(
    tables: FolderTables, reading: LocusReading, faults: Collection[Fault]
) -> Iterator[Fault]:
    """Faults of what is said of the birds: without birds each row would be one."""
    yield from _not_told(reading.faults, faults)
    yield from trait_faults(tables)
    yield from crossing_faults(tables)
    yield from _wish_faults(tables, faults)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Worked:
    """What working out genes and pairs brought to light."""

    faults: tuple[Fault, ...] = ()
    doubts: tuple[Fault, ...] = ()
    table: PairTable | None = None
    not_looked_at: tuple[str, ...] = ()


def _worked_out(flock: Flock, depth: Depth) -> _Worked:
    left_max = _left_max(flock, depth)
    try:
        if depth is Depth.FAULTS:
            genotypes_of_flock(flock, left_max)
            return _Worked()
        table = judge_pairs(study_flock(flock, left_max=left_max))
    except InputError as error:
        return _Worked(faults=tuple(error.faults))
    except TooTangledError as error:
        if error.left <= left_max:
            raise
        return _Worked() if depth is Depth.FAULTS else _without_genes(flock, error.left, left_max)
    return _Worked(doubts=tuple(_doubts_of(table)), table=table)


def _left_max(flock: Flock, depth: Depth) -> int:
    """How many birds and choices of parents may hang together where samples are drawn."""
    if depth is Depth.WHOLE:
        return ANY_NUMBER
    many = depth is Depth.FAULTS or len(flock.birds) > MANY_BIRDS
    return LEFT_OF_MANY if many else LEFT_MAX


def _doubts_of(table: PairTable) -> Iterator[Fault]:
    study, tables = table.study, table.study.flock.tables
    yield from row_doubts(tables, table.steps)
    yield from pens_without_rows(tables, table.crossings)
    yield from season_doubts(study)
    yield from unheeded_wishes(table)
    yield from share_doubts(study.flock)
    yield from unproven_doubts(study)
    yield from clear_doubts(study.flock)
    yield from trait_doubts(study.forecast, tables)
    yield from weight_doubts(study)


def _without_genes(flock: Flock, left: int, left_max: int) -> _Worked:
    """What can be said of a flock whose genes would take minutes, and what was not looked at."""
    tables, pedigree = flock.tables, flock.pedigree
    links = sum(map(len, (*pedigree.sires, *pedigree.dams)))
    brief = links <= LINKS_MAX
    left_out = NOT_LOOKED_AT if brief else (*NOT_LOOKED_AT, NO_FORECAST)
    told = tables.setting_fault(
        "loci",
        kind="not-looked-at",
        value="",
        problem=f"what the birds carry was not worked out here: {left:,} birds and choices of "
        f"parents hang together, and a check of so many birds looks through {left_max:,} at most. "
        f"Not looked at: {'; '.join(left_out)}",
        mend="name parents where that can be done, and test cocks with many chicks; matchmaker "
        "plan tries all of it, which may take many minutes",
    )
    return _Worked(
        doubts=(
            told,
            *egg_day_doubts(flock),
            *share_doubts(flock),
            *clear_doubts(flock),
            *(trait_doubts(forecast(flock), tables) if brief else score_doubts(tables)),
        ),
        not_looked_at=left_out,
    )


def _wish_faults(tables: FolderTables, told: Iterable[Fault]) -> list[Fault]:
    """Leave out rows of which something is told already, or that name a bird that nobody knows."""
    rows = {(fault.file, fault.row) for fault in told}
    birds = {bird.bird for bird in tables.birds}
    unknown = {wish.row for wish in tables.wishes if wish.bird not in birds}
    found = sort_wishes(tables, sexes_of(tables))[1]
    return [one for one in found if (one.file, one.row) not in rows and one.row not in unknown]


def _not_told(found: Iterable[Fault], told: Iterable[Fault]) -> list[Fault]:
    """Leave out what the tables have told: of the same cell, or of a sex or band that is wrong."""
    cells = {(fault.kind, fault.file, fault.row) for fault in told}
    others = {fault.file for fault in told if fault.kind == OTHER_BIRDS}
    wrong_sexes = {fault.birds for fault in told if fault.kind == "sex-contradicted"}
    unknown = {fault.value for fault in told if fault.kind == "unknown-bird"}
    unknown |= {
        str(cell.becomes)
        for fault in told
        if fault.kind == "own-band-mistyped"
        for cell in fault.mends
    }
    return [
        one
        for one in found
        if (one.kind, one.file, one.row) not in cells
        and not (one.kind == "unknown-bird" and one.file in others)
        and not (one.kind == "wrong-sex" and one.birds in wrong_sexes)
        and not (one.kind == "unknown-bird" and one.value in unknown)
    ]


def tables_of(folder: Path) -> FolderTables:
    """Return the tables of a flock folder, read with the catalogue of loci at hand.

    Raises
    ------
    UsageError
        If there is no such folder.
    """
    return read_folder(folder, known_loci=frozenset(catalogue()))
