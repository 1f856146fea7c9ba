"""A hatch written down: what it changes in the book, how it fits, and what it teaches."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Final, Protocol

from matchmaker.errors import Fault, InputError
from matchmaker.flock.flock import build_flock
from matchmaker.genetics.genotypes.inferred import LociClashError, infer
from matchmaker.genetics.genotypes.reading import read_loci
from matchmaker.hatch.egg_book import EggBook
from matchmaker.hatch.fits import LocusFit, fits_of
from matchmaker.hatch.learned import ChickChances, Learned, chances_of_chicks, what_is_learned
from matchmaker.hatch.lines import ChicksLine, line_of_chicks
from matchmaker.hatch.once import Brood, check_once
from matchmaker.hatch.parents import Parents, days_of_eggs, parents_of
from matchmaker.hatch.records import (
    Row,
    bird_rows,
    check_bands,
    check_pen,
    check_seen,
    seen_rows,
)
from matchmaker.hatch.sets import (
    EggChange,
    SetRow,
    check_against_row,
    check_year,
    egg_change,
    find_set,
)
from matchmaker.hatch.told import Told, check_told
from matchmaker.tables.amend import Amendment, amended, text_file
from matchmaker.tables.write_together import Replaced, write_together

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from matchmaker.flock.flock import Flock
    from matchmaker.genetics.genotypes.inferred import Inferred
    from matchmaker.genetics.loci.locus import Locus
    from matchmaker.pairs.table import PairTable
    from matchmaker.tables.folder import FolderTables

TABLES: Final = ("eggs", "birds", "seen")

TOLD: Final = "hatch"
"""What ``--undo`` calls a hatch that was written down."""


class UnfitHatchError(InputError):
    """What is told cannot be written: the book would hold faults then; ``fits`` may say why."""

    def __init__(self, faults: tuple[Fault, ...], fits: tuple[LocusFit, ...]) -> None:
        self.fits = fits
        super().__init__(faults)


@dataclass(frozen=True, slots=True, kw_only=True)
class Hatch:
    """One set with all that is written of it: ``egg``, a row of each chick, what was seen."""

    told: Told
    found: SetRow
    parents: Parents
    line: ChicksLine | None
    egg: EggChange
    birds: tuple[Row, ...] = ()
    seen: tuple[Row, ...] = ()
    fits: tuple[LocusFit, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Prepared:
    """Sets worked out, with the whole new text of every file that changes; nothing is written."""

    flock: Flock
    before: Inferred
    hatches: tuple[Hatch, ...]
    amendments: dict[str, Amendment]
    files: tuple[tuple[Path, str], ...]

    @property
    def tables(self) -> FolderTables:
        """The tables as they stand."""
        return self.flock.tables

    @property
    def fits(self) -> tuple[LocusFit, ...]:
        """How all counted markers fit."""
        return tuple(fit for hatch in self.hatches for fit in hatch.fits)

    @property
    def bands(self) -> tuple[str, ...]:
        """The bands of all new chicks."""
        return tuple(chick.band for hatch in self.hatches for chick in hatch.told.chicks)


@dataclass(frozen=True, slots=True, kw_only=True)
class Hatching:
    """The answer: what is written, what it teaches of living birds, what the new chicks may be.

    ``doubts`` are those that the book gets by it.
    """

    prepared: Prepared
    learned: tuple[Learned, ...]
    chicks: tuple[ChickChances, ...]
    doubts: tuple[Fault, ...]
    approximate: bool


class Checked(Protocol):
    """All that a check finds; ``table`` is ``None`` while faults stand in the way."""

    @property
    def faults(self) -> tuple[Fault, ...]:
        """What must be mended."""

    @property
    def doubts(self) -> tuple[Fault, ...]:
        """What may be wrong."""

    @property
    def table(self) -> PairTable | None:
        """The pairs, and behind them all that is known of the birds."""


def hatch(
    tables: FolderTables,
    told: Sequence[Told],
    read: Callable[[Path], FolderTables],
    check: Callable[[FolderTables], Checked],
) -> Hatching:
    """Return the answer; nothing is written.

    ``read`` reads a folder and ``check`` checks its tables as a whole: the book with the hatch in
    it is read and checked before anybody writes it.

    Raises
    ------
    InputError
        With every fault of the tables, of a form, or (as ``UnfitHatchError``) those that the
        tables would get by this.
    UsageError
        If what is told cannot be meant; it says what, where and what to do.
    """
    try:
        prepared = prepare_hatch(tables, told)
    except LociClashError as error:
        raise InputError(check(tables).faults) from error
    found = check(rehearse(prepared, read))
    if found.table is None:
        raise UnfitHatchError(found.faults, prepared.fits)
    return learn(prepared, found.table.study.inferred, found.doubts)


def prepare_hatch(tables: FolderTables, told: Sequence[Told]) -> Prepared:
    """Work out what is to be written; nothing is.

    Raises
    ------
    InputError
        With the faults of the book, or of a form.
    LociClashError
        If the book contradicts itself.
    UsageError
        If what is told cannot be meant; it says what, where and what to do.
    """
    for table in TABLES:  # refused before any work is done
        text_file(table, tables)
    flock = build_flock(tables)
    reading = read_loci(tables)
    if reading.faults:
        raise InputError(reading.faults)
    before = infer(flock.pedigree, reading.loci, reading.evidence, flock.settings.recurrent)
    _refuse_same_bands(told)
    work = _Work(flock=flock, before=before, book=EggBook(tables=tables))
    hatches = tuple(work.hatch(one) for one in told)
    amendments = {
        "eggs": Amendment(cells=work.book.cells, added=work.book.sets),
        "birds": Amendment(added=[row for hatch in hatches for row in hatch.birds]),
        "seen": Amendment(added=[row for hatch in hatches for row in hatch.seen]),
    }
    files = tuple(
        amended(tables.folder, table, amendment, tables)
        for table, amendment in amendments.items()
        if not amendment.empty
    )
    return Prepared(flock=flock, before=before, hatches=hatches, amendments=amendments, files=files)


def _refuse_same_bands(told: Sequence[Told]) -> None:
    first: dict[str, Told] = {}
    for one in told:
        for chick in one.chicks:
            other = first.setdefault(chick.band.casefold(), one)
            if other is not one:
                one.refuse(
                    "bands",
                    chick.band,
                    f"row {other.row} names the band for another set",
                    "a band is given once: mend one of the two",
                    row=chick.row,
                )


@dataclass(slots=True, kw_only=True)
class _Work:
    """Sets worked out one after the other; a later one knows the rows that earlier ones get."""

    flock: Flock
    before: Inferred
    book: EggBook
    broods: list[Brood] = field(default_factory=list)

    def hatch(self, told: Told) -> Hatch:
        """Work out one set."""
        tables = self.flock.tables
        so_far = self.book.so_far
        loci = {symbol: one.locus for symbol, one in self.before.genotypes.items()}
        check_told(told)
        check_pen(told, tables)
        check_bands(told, tables)
        check_seen(told, loci)
        found = find_set(told, so_far)
        check_year(told, found.set_on, self.flock.settings)
        check_against_row(told, found, so_far, banded=self.book.banded(found.record))
        record = found.record
        written = (record.collected_from, record.collected_to) if record else (None, None)
        span = days_of_eggs(told, found.set_on, written)
        parents = parents_of(self.flock, told, span)
        egg = egg_change(told, found, parents, self.flock.settings)
        egg = self.book.note(told, egg, parents)
        hatch = Hatch(told=told, found=found, parents=parents, line=None, egg=egg)
        return self._with_chicks(hatch, loci) if told.chicks or told.loci else hatch

    def _with_chicks(self, hatch: Hatch, loci: Mapping[str, Locus]) -> Hatch:
        told, found, parents = hatch.told, hatch.found, hatch.parents
        settings = self.flock.settings
        if found.hatched_on is None:
            told.refuse("hatched_on", "", "nobody wrote when they hatched", "give the day")
        brood = Brood(told=told, parents=parents, set_on=found.set_on, hatched_on=found.hatched_on)
        check_once(brood, self.broods, self.book.so_far)
        self.broods.append(brood)
        line = line_of_chicks(told, self.flock, parents, loci) if told.chicks else None
        name = line.line if line else ""
        return replace(
            hatch,
            line=line,
            birds=tuple(bird_rows(told, found, parents, name, settings)),
            seen=tuple(seen_rows(told, parents, found.hatched_on, settings)),
            fits=fits_of(self.flock, self.before, told, parents),
        )


def rehearse(prepared: Prepared, read: Callable[[Path], FolderTables]) -> FolderTables:
    """Return the tables as they will be read once all is written: in a folder for trial only."""
    tables = prepared.tables
    with tempfile.TemporaryDirectory() as name:
        trial = Path(name)
        for file in tables.inputs:
            (trial / file).write_bytes((tables.folder / file).read_bytes())
        for path, text in prepared.files:
            (trial / path.name).write_bytes(text.encode())
        return replace(read(trial), folder=tables.folder)


def learn(prepared: Prepared, after: Inferred, doubts: Sequence[Fault]) -> Hatching:
    """Return the answer, the book with the hatch in it being sound.

    ``doubts`` are all those of the book then; those of rows that the hatch adds or fills count.
    """
    seen = {locus for hatch in prepared.hatches for locus in hatch.told.loci}
    loci = dict.fromkeys([*prepared.flock.settings.target, *sorted(seen)])
    shown = [symbol for symbol in loci if symbol in after.genotypes]
    return Hatching(
        prepared=prepared,
        learned=what_is_learned(prepared.flock, prepared.before, after),
        chicks=chances_of_chicks(after, prepared.bands, dict.fromkeys(shown)),
        doubts=tuple(doubt for doubt in doubts if _is_new(prepared, doubt)),
        approximate=any(one.method != "exact" for one in after.genotypes.values()),
    )


def _is_new(prepared: Prepared, doubt: Fault) -> bool:
    """Whether a doubt is about a row that the hatch adds or fills."""
    tables = prepared.tables
    rows = {
        "eggs": {record.row for record in tables.eggs},
        "birds": {record.row for record in tables.birds},
        "seen": {record.row for record in tables.seen},
    }
    for table, amendment in prepared.amendments.items():
        if doubt.file == text_file(table, tables) and doubt.row is not None:
            filled = {row for row, _ in amendment.cells}
            return doubt.row in filled or doubt.row not in rows[table]
    return False


def write_hatch(hatching: Hatching, *, stamp: str = "") -> tuple[Replaced, ...]:
    """Write all files of a hatch, or none.

    Raises
    ------
    UsageError
        If one cannot be written or was changed since; the folder then is as it was.
    """
    prepared = hatching.prepared
    return write_together(prepared.files, prepared.tables.inputs, stamp=stamp, told=TOLD)
