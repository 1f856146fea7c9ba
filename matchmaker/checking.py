"""Everything that is wrong or doubtful in a flock folder, found before anything is worked out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.errors import Fault, InputError
from matchmaker.flock.flock import build_flock, check_flock, in_order
from matchmaker.flock.suspects import sexes_of
from matchmaker.genetics.emphasis import weight_doubts
from matchmaker.genetics.genotypes.reading import read_loci
from matchmaker.genetics.genotypes.unproven import unproven_doubts
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.genetics.shares.typed import share_doubts
from matchmaker.genetics.study import study_flock
from matchmaker.genetics.traits.doubts import trait_doubts
from matchmaker.genetics.traits.faults import trait_faults
from matchmaker.hatch.band_doubts import band_doubts
from matchmaker.pairs.row_faults import closed_rows, crossing_faults, pens_without_rows
from matchmaker.pairs.table import PairTable, judge_pairs
from matchmaker.pairs.unread import season_doubts, unheeded_wishes
from matchmaker.pairs.wishes import sort_wishes
from matchmaker.plan.turns import pens_without_eggs
from matchmaker.rebalance.clear_doubts import clear_doubts
from matchmaker.tables.read import read_folder

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from matchmaker.pairs.crossings import Crossing
    from matchmaker.tables.folder import FolderTables


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """Everything found in a folder; ``table`` is ``None`` while faults stand in the way."""

    tables: FolderTables
    faults: tuple[Fault, ...]
    doubts: tuple[Fault, ...]
    table: PairTable | None

    @property
    def crossings(self) -> tuple[Crossing, ...]:
        """The crossings open this season, none while there are faults."""
        return () if self.table is None else self.table.crossings


def check(folder: Path) -> Check:
    """Every fault and doubt of a flock folder, and the crossings that are open.

    Raises
    ------
    UsageError
        If there is no such folder.
    """
    return check_tables(tables_of(folder))


def check_tables(tables: FolderTables) -> Check:
    """Return every fault and doubt of tables that were read, as ``check`` does of a folder."""
    faults, doubts = check_flock(tables)
    reading = read_loci(tables)
    found = [
        *faults,
        *_not_told(reading.faults, faults),
        *trait_faults(tables),
        *crossing_faults(tables),
    ]
    told = {(fault.file, fault.row) for fault in faults}
    wishes = sort_wishes(tables, sexes_of(tables))[1]
    found += [fault for fault in wishes if (fault.file, fault.row) not in told]
    table = None
    if not found:
        try:
            table = judge_pairs(study_flock(build_flock(tables)))
        except InputError as error:
            found += error.faults
    noticed = [*doubts, *reading.doubts, *pens_without_eggs(tables), *band_doubts(tables)]
    if table is not None:
        noticed += closed_rows(tables, table.steps)
        noticed += pens_without_rows(tables, table.crossings)
        noticed += season_doubts(table.study)
        noticed += unheeded_wishes(table)
        noticed += share_doubts(table.study)
        noticed += unproven_doubts(table.study)
        noticed += clear_doubts(table.study.flock)
        noticed += trait_doubts(table.study.forecast, tables)
        noticed += weight_doubts(table.study)
    return Check(tables=tables, faults=in_order(found), doubts=in_order(noticed), table=table)


def _not_told(found: Iterable[Fault], told: Iterable[Fault]) -> list[Fault]:
    """Leave out what the tables have told already: of the same cell, or of a sex that is wrong."""
    cells = {(fault.kind, fault.file, fault.row) for fault in told}
    wrong_sexes = {fault.birds for fault in told if fault.kind == "sex-contradicted"}
    return [
        one
        for one in found
        if (one.kind, one.file, one.row) not in cells
        and not (one.kind == "wrong-sex" and one.birds in wrong_sexes)
    ]


def tables_of(folder: Path) -> FolderTables:
    """Return the tables of a flock folder, read with the catalogue of loci at hand.

    Raises
    ------
    UsageError
        If there is no such folder.
    """
    return read_folder(folder, known_loci=frozenset(catalogue()))
