"""Bands and pens written twice, and bands that look alike or look damaged."""

from __future__ import annotations

import dataclasses
import re
from itertools import pairwise
from typing import TYPE_CHECKING, Final, TypeVar

from matchmaker.tables.drift import drifted_names
from matchmaker.tables.nearness import without_year
from matchmaker.tables.records import BirdRecord, PenRecord
from matchmaker.tables.reused import bands_in_rows, row_twice, rows_twice

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from matchmaker.errors import Fault
    from matchmaker.tables.findings import Findings
    from matchmaker.tables.folder import FolderTables

_Named = TypeVar("_Named", BirdRecord, PenRecord)

_EXPONENT: Final = re.compile(r"\d(?:[.,]\d+)?E[+-]?\d{1,3}")
_MONTHS: Final = "jan|feb|mar|apr|may|jun|jul|aug|sep|sept|oct|nov|dec"
_DATE_LIKE: Final = re.compile(
    rf"\d{{4}}-\d\d-\d\d|\d{{1,2}}-({_MONTHS})|({_MONTHS})-\d{{1,2}}", re.IGNORECASE
)
_SERIAL: Final = re.compile(r"[345]\d{4}")

_SERIAL_SHARE: Final = 0.25
"""Five-digit numbers are taken for day numbers only where at most this share of the bands are
such numbers: a keeper may well band with five digits."""


def without_repeats(tables: FolderTables) -> FolderTables:
    """Return the tables with the first row of each band and pen; the others are faults."""
    birds = _rows_by_name((bird.bird, bird) for bird in tables.birds)
    pens = _rows_by_name((pen.pen, pen) for pen in tables.pens)
    faults = [*bands_in_rows(tables, birds), *_repeats_of_pens(tables, pens)]
    return dataclasses.replace(
        tables,
        birds=tuple(rows[0] for rows in birds.values()),
        pens=tuple(pen for pen in tables.pens if pen in _kept_pens(pens)),
        faults=(*tables.faults, *faults),
    )


def look_alikes(tables: FolderTables, found: Findings) -> None:
    """Doubt bands a spreadsheet seems to have changed, and names that differ in writing only."""
    found.doubts += rows_twice(tables)
    found.doubts += _eaten_bands(tables)
    found.doubts += _same_but_for_zeros(tables)
    found.doubts += _same_but_for_year(tables)
    found.doubts += drifted_names(tables)


def _rows_by_name(named: Iterable[tuple[str, _Named]]) -> dict[str, list[_Named]]:
    rows: dict[str, list[_Named]] = {}
    for name, record in named:
        rows.setdefault(name, []).append(record)
    return rows


def _repeats_of_pens(tables: FolderTables, pens: Mapping[str, list[PenRecord]]) -> Iterator[Fault]:
    """A pen may stand in several rows if their periods do not meet."""
    alike = tables.alike.get("pens", {})
    for name, records in pens.items():
        if not _meet(records):
            continue
        rows = [record.row for record in records]
        own = [row for row in rows if row not in alike]
        for row in rows[1:]:
            yield (
                row_twice(tables, "pens", row, "pen", name)
                if row in alike
                else _repeated_pen(tables, row, name, own)
            )


def _repeated_pen(tables: FolderTables, row: int, name: str, rows: list[int]) -> Fault:
    return tables.fault(
        "pens",
        row,
        "pen",
        kind="duplicate-pen",
        value=name,
        problem=f"{name} stands in the rows {', '.join(map(str, rows))}; row {rows[0]} was used",
        mend="delete the rows that are wrong, or give each its own name, or periods "
        "(from, until) that do not overlap",
    )


def _kept_pens(pens: Mapping[str, list[PenRecord]]) -> list[PenRecord]:
    return [pen for rows in pens.values() for pen in (rows[:1] if _meet(rows) else rows)]


def _meet(rows: list[PenRecord]) -> bool:
    in_order = sorted(rows, key=lambda pen: str(pen.first_day or ""))
    return any(
        not early.last_day or not late.first_day or early.last_day >= late.first_day
        for early, late in pairwise(in_order)
    )


def _eaten_bands(tables: FolderTables) -> Iterator[Fault]:
    serials = [bird for bird in tables.birds if _SERIAL.fullmatch(bird.bird)]
    few = len(serials) <= _SERIAL_SHARE * len(tables.birds)
    for bird in tables.birds:
        if _EXPONENT.fullmatch(bird.bird):
            yield _eaten(tables, bird, "a number the spreadsheet shortened")
        elif _DATE_LIKE.fullmatch(bird.bird):
            yield _eaten(tables, bird, "a band the spreadsheet turned into a date")
        elif few and _SERIAL.fullmatch(bird.bird):
            yield _eaten(tables, bird, "a date the spreadsheet turned into its day number")


def _eaten(tables: FolderTables, bird: BirdRecord, cause: str) -> Fault:
    return tables.fault(
        "birds",
        bird.row,
        "bird",
        kind="damaged-band",
        value=bird.bird,
        problem=f"the band {bird.bird} looks like {cause}",
        mend="compare it with the bird; format the column as text and type it again",
    )


def _same_but_for_zeros(tables: FolderTables) -> Iterator[Fault]:
    bare: dict[str, BirdRecord] = {}
    for bird in tables.birds:
        first = bare.setdefault(bird.bird.lstrip("0") or "0", bird)
        if first is not bird:
            yield tables.fault(
                "birds",
                bird.row,
                "bird",
                kind="zeros-differ",
                value=bird.bird,
                problem=f"{bird.bird} and {first.bird} (row {first.row}) differ only in leading "
                "zeros and are taken for two birds",
                mend="if it is one bird, delete a row; write its band alike everywhere",
            )


def _same_but_for_year(tables: FolderTables) -> Iterator[Fault]:
    """One bird may stand in two rows, once with the year before its number and once without."""
    known = {bird.bird: bird for bird in tables.birds}
    for bird in tables.birds:
        other = known.get(without_year(bird.bird) or "")
        if other is not None and _may_be_one(bird, other):
            yield tables.fault(
                "birds",
                bird.row,
                "bird",
                kind="year-in-front",
                value=bird.bird,
                problem=f"{bird.bird} and {other.bird} (row {other.row}) differ only by the year "
                "in front and are taken for two birds",
                mend="if it is one bird, delete a row and write its band alike everywhere",
                birds=(bird.bird, other.bird),
            )


def _may_be_one(one: BirdRecord, other: BirdRecord) -> bool:
    """Whether neither sex, nor year of hatching, nor parents tell two birds apart."""
    years = {bird.hatched.year for bird in (one, other) if bird.hatched is not None}
    sexes = {bird.sex for bird in (one, other) if bird.sex is not None}
    sires = {bird.sire.candidates for bird in (one, other) if bird.sire.candidates}
    dams = {bird.dam.candidates for bird in (one, other) if bird.dam.candidates}
    return all(len(told) < 2 for told in (years, sexes, sires, dams))
