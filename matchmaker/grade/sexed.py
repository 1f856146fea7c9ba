"""Birds whose sex nobody has told yet, judged as the hens and as the cocks that they may be."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from matchmaker.errors import InputError
from matchmaker.flock.flock import build_flock
from matchmaker.genetics.genotypes.inferred import LociClashError, infer
from matchmaker.genetics.genotypes.reading import read_loci
from matchmaker.genetics.study import study_flock, with_other_sexes
from matchmaker.pairs.table import judge_pairs
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping

    from matchmaker.pairs.table import PairTable
    from matchmaker.tables.folder import FolderTables


def judged(tables: FolderTables) -> PairTable:
    """Every pair of the flock that these tables describe.

    Raises
    ------
    InputError
        If loci, evidence or wishes hold faults, or records contradict each other.
    """
    return judge_pairs(study_flock(build_flock(tables)))


def as_either_sex(
    table: PairTable, tables: FolderTables, unsexed: Collection[str]
) -> Mapping[Sex, tuple[PairTable, frozenset[str]]]:
    """The flock judged with these birds as hens, and with them as cocks; nothing without birds.

    ``table`` is the flock judged as it is, ``tables`` what it was built from.

    What a bird shows may tell that it cannot be of a sex (a chocolate chick of a black hen is no
    cock): beside each flock stand the birds that were taken to be of that sex.
    """
    if not unsexed:
        return {}
    found = {}
    for sex in Sex:
        chosen = frozenset(unsexed)
        try:
            told = _judged_so(table, tables, chosen, sex)
        except InputError:
            chosen = frozenset(possible(tables, sorted(unsexed), sex))
            told = _judged_so(table, tables, chosen, sex)
        found[sex] = (told, chosen)
    return found


def _judged_so(
    table: PairTable, tables: FolderTables, birds: Collection[str], sex: Sex
) -> PairTable:
    flock = build_flock(with_sex(tables, birds, sex))
    return judge_pairs(with_other_sexes(table.study, flock))


def with_sex(tables: FolderTables, birds: Collection[str], sex: Sex) -> FolderTables:
    """The tables with some birds written as of a sex."""
    return replace(
        tables,
        birds=tuple(
            replace(record, sex=sex) if record.bird in birds else record for record in tables.birds
        ),
    )


def possible(tables: FolderTables, birds: Iterable[str], sex: Sex) -> list[str]:
    """The birds that may all be of a sex by what was seen, taken one after another."""
    taken: list[str] = []
    for band in birds:
        if can_be(tables, [*taken, band], sex):
            taken.append(band)
    return taken


def can_be(tables: FolderTables, birds: Collection[str], sex: Sex) -> bool:
    """Whether what was seen allows some birds to be of a sex."""
    told = with_sex(tables, birds, sex)
    reading = read_loci(told)
    if reading.faults:
        return False
    flock = build_flock(told)
    try:
        infer(flock.pedigree, reading.loci, reading.evidence, flock.settings.recurrent)
    except LociClashError:
        return False
    return True
