"""The verbs of the library, one per stage; each command of the command line calls one of them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.errors import Fault, InputError
from matchmaker.flock.flock import Flock, build_flock, check_flock, in_order
from matchmaker.flock.suspects import sexes_of
from matchmaker.genetics.emphasis import weight_doubts
from matchmaker.genetics.genotypes.reading import read_loci
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.genetics.loci.known import KnownLoci, known_loci
from matchmaker.genetics.study import Study, share_doubts, study_flock
from matchmaker.genetics.traits.doubts import trait_doubts
from matchmaker.genetics.traits.faults import trait_faults
from matchmaker.pairs.row_faults import closed_rows, crossing_faults
from matchmaker.pairs.table import PairTable, judge_pairs
from matchmaker.pairs.unread import season_doubts, unheeded_wishes, unused_tables
from matchmaker.pairs.wishes import sort_wishes
from matchmaker.plan.score import PlanScore, score_plan
from matchmaker.plan.season_plan import SeasonPlan, plan_season
from matchmaker.plan.testing import MOST_LISTED, Ranking
from matchmaker.plan.testing import rank_tests as rank_possible_tests
from matchmaker.plan.turns import pens_without_eggs
from matchmaker.tables.read import read_folder
from matchmaker.tables.read_plan import read_plan

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.pairs.crossings import Crossing
    from matchmaker.tables.folder import FolderTables


__all__ = [
    "Check",
    "KnownLoci",
    "check",
    "loci",
    "pairs",
    "plan",
    "rank_tests",
    "read",
    "score",
    "study",
]


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
    tables = _tables(folder)
    faults, doubts = check_flock(tables)
    reading = read_loci(tables)
    found = [*faults, *reading.faults, *trait_faults(tables), *crossing_faults(tables)]
    told = {(fault.file, fault.row) for fault in faults}
    wishes = sort_wishes(tables, sexes_of(tables))[1]
    found += [fault for fault in wishes if (fault.file, fault.row) not in told]
    table = None
    if not found:
        try:
            table = judge_pairs(study_flock(build_flock(tables)))
        except InputError as error:
            found += error.faults
    noticed = [*doubts, *reading.doubts, *unused_tables(tables), *pens_without_eggs(tables)]
    if table is not None:
        noticed += closed_rows(tables, table.steps)
        noticed += season_doubts(table.study)
        noticed += unheeded_wishes(table)
        noticed += share_doubts(table.study)
        noticed += trait_doubts(table.study.forecast, tables)
        noticed += weight_doubts(table.study)
    return Check(tables=tables, faults=in_order(found), doubts=in_order(noticed), table=table)


def read(folder: Path) -> Flock:
    """The flock of a folder.

    Raises
    ------
    InputError
        With every fault that ``check`` finds, if there are any.
    """
    return study(folder).flock


def study(folder: Path) -> Study:
    """Kinship, shares, genotype probabilities and merit of a folder's flock.

    Raises
    ------
    InputError
        With every fault that ``check`` finds, if there are any.
    """
    return pairs(folder).study


def pairs(folder: Path) -> PairTable:
    """Every hen × cock of a folder's flock, judged and valued.

    Raises
    ------
    InputError
        With every fault that ``check`` finds, if there are any.
    """
    found = check(folder)
    if found.table is None:
        raise InputError(found.faults)
    return found.table


def plan(folder: Path, *, fresh: bool = False) -> SeasonPlan:
    """The season's pens for a folder's flock, proved best under its rules.

    Raises
    ------
    InputError
        With every fault that ``check`` finds, if there are any.
    NoPlanError
        If no plan satisfies the rules and wishes.
    """
    return plan_season(pairs(folder), fresh=fresh)


def rank_tests(folder: Path, *, birds: int = MOST_LISTED) -> Ranking:
    """Which birds to test before planning: the ``birds`` tests that add most to the plan.

    Raises
    ------
    InputError
        With every fault that ``check`` finds, if there are any.
    """
    return rank_possible_tests(pairs(folder), birds=birds)


def score(folder: Path, file: Path) -> PlanScore:
    """What a plan written by hand is worth and what it breaks; nothing is changed.

    Raises
    ------
    InputError
        With every fault of the folder or of the file.
    """
    flock = read(folder)
    rows = read_plan(file, flock.tables)
    birds = {band for row in rows for band in (row.hen, row.cock)}
    return score_plan(judge_pairs(study_flock(flock, birds)), rows)


def loci(folder: Path | None = None) -> KnownLoci:
    """Every locus of the catalogue and, given a folder, those its settings describe.

    Raises
    ------
    UsageError
        If there is no such folder.
    InputError
        With every fault of the folder's settings, if there are any; its tables are not looked at.
    """
    return known_loci(folder)


def _tables(folder: Path) -> FolderTables:
    return read_folder(folder, known_loci=frozenset(catalogue()))
