"""The row of ``eggs.csv`` that a set has, or gets, and what is written into it."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from matchmaker.hatch.bands import whole_range
from matchmaker.hatch.told import NEW_ROW
from matchmaker.rebalance.clock import days
from matchmaker.rebalance.eggs import HATCH_DAYS
from matchmaker.tables.amend import written_date

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator, Mapping

    from matchmaker.hatch.parents import Parents
    from matchmaker.hatch.told import Told
    from matchmaker.settings import Settings
    from matchmaker.tables.folder import FolderTables
    from matchmaker.tables.records import EggRecord

HATCH_WITHIN: Final = range(HATCH_DAYS - 3, HATCH_DAYS + 4)
"""Days after setting on which chicks hatch: bantams a day or two early, stale eggs late (common
practice, no source)."""


NUMBERS: Final = ("eggs", "fertile", "hatched")


@dataclass(frozen=True, slots=True, kw_only=True)
class SetRow:
    """A set with its row in the book (``None``: it gets a new one) and the days that count."""

    record: EggRecord | None
    set_on: dt.date | None
    hatched_on: dt.date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class EggChange:
    """What is written into ``eggs.csv``: new texts of a row's cells, or a whole new row.

    ``unsaid`` says that the bands do not fit into its two columns.
    """

    row: int | None
    cells: Mapping[str, str] = field(default_factory=dict)
    unsaid: bool = False


def find_set(told: Told, tables: FolderTables) -> SetRow:
    """Return the row of a set that is told of.

    A row of the hen alone goes before one of the whole pen. Without a day of setting the only set
    of the pen that has not hatched is meant.

    Raises
    ------
    UsageError, InputError
        If no row, or more than one, can be meant, or the days do not fit.
    """
    record = _meant(told, tables)
    set_on = told.set_on or (record.set_on if record else None)
    hatched_on = told.hatched_on
    if hatched_on is None and set_on is not None:
        hatched_on = set_on + days(HATCH_DAYS)
    if told.hatched_on is not None and set_on is not None:
        after = (told.hatched_on - set_on).days
        if after not in HATCH_WITHIN:
            told.refuse(
                "hatched_on",
                told.hatched_on,
                f"that is {after} days after the eggs were set on {set_on}, not "
                f"{HATCH_WITHIN[0]} to {HATCH_WITHIN[-1]}",
                "mend one of the two days",
            )
    return SetRow(record=record, set_on=set_on, hatched_on=hatched_on)


def _meant(told: Told, tables: FolderTables) -> EggRecord | None:
    of_pen = [egg for egg in tables.eggs if egg.pen == told.pen and egg.hen in {told.dam, ""}]
    if told.set_on is None:
        return _only_open(told, tables, [egg for egg in of_pen if egg.hatched is None])
    on_day = [egg for egg in of_pen if egg.set_on == told.set_on]
    own = [egg for egg in on_day if egg.hen == told.dam]
    whole = own or ([] if told.eggs is not None else on_day)
    if len(whole) > 1:
        _refuse_several(told, tables, whole)
    if not whole and told.eggs is None:
        told.refuse(
            "set_on",
            told.set_on,
            f"{_file(tables)} has no set of {told.name}{_known_sets(tables, told)}",
            f"to write down a new set, tell its number of eggs ({told.called('eggs')})",
        )
    return whole[0] if whole else None


def _only_open(told: Told, tables: FolderTables, waiting: list[EggRecord]) -> EggRecord:
    own = [egg for egg in waiting if egg.hen == told.dam] or waiting
    if told.eggs is not None or not own:
        told.refuse(
            "set_on",
            "",
            f"it is not told when the eggs were set{_known_sets(tables, told)}",
            f"give the day of setting ({told.called('set_on')})",
        )
    if len(own) > 1:
        _refuse_several(told, tables, own)
    return own[0]


def _refuse_several(told: Told, tables: FolderTables, rows: list[EggRecord]) -> None:
    listed = ", ".join(f"{_row(egg)} ({_of(egg)})" for egg in rows)
    told.refuse(
        "set_on",
        told.set_on or "",
        f"{_file(tables)} has several sets that may be meant: {listed}",
        f"name the day of setting ({told.called('set_on')}) and, if eggs were told apart, the hen "
        f"({told.called('dam')}); of two rows alike in both, make one, or mend a day",
    )


def _of(egg: EggRecord) -> str:
    hen = f", hen {egg.hen}" if egg.hen else ""
    return f"set on {egg.set_on}{hen}" if egg.set_on else f"no day of setting{hen}"


def _known_sets(tables: FolderTables, told: Told) -> str:
    last = [egg for egg in tables.eggs if egg.pen == told.pen][-3:]
    listed = "; ".join(f"{_row(egg)}, {_of(egg)}" for egg in last)
    return f" (last of this pen: {listed})" if last else ""


def _file(tables: FolderTables) -> str:
    return tables.files.get("eggs", "eggs.csv")


def _row(egg: EggRecord) -> str:
    """A row of the book by its number; a new one has none yet."""
    return f"row {egg.row}" if egg.row < NEW_ROW else "a new row told of here"


def _at(egg: EggRecord, tables: FolderTables) -> str:
    return f"{_file(tables)} row {egg.row}" if egg.row < NEW_ROW else "another row of this set"


def check_against_row(told: Told, found: SetRow, tables: FolderTables, *, banded: int = 0) -> None:
    """Refuse what the book says otherwise: what is written there is not written over.

    ``banded`` chicks of the set have their bands already.

    Raises
    ------
    UsageError, InputError
        Naming the row.
    """
    record = found.record
    for name in NUMBERS:
        new, old = getattr(told, name), getattr(record, name, None)
        if None not in (new, old) and new != old and record is not None:
            told.refuse(
                name,
                new,
                f"{_at(record, tables)} says {old}",
                f"if {old} is wrong, mend it there; else leave {name} out",
            )
    _check_collected(told, record, tables)
    if told.chicks and told.hatched is None and (record is None or record.hatched is None):
        told.refuse(
            "hatched",
            "",
            f"{len(told.chicks)} chicks are banded, but it is not told how many hatched",
            "give the number of chicks that hatched, banded or not",
        )
    _check_numbers(told, found, tables)
    _check_banded(told, found, tables, banded)


def _check_banded(told: Told, found: SetRow, tables: FolderTables, banded: int) -> None:
    """Refuse more bands than chicks hatched, those given before among them."""
    hatched, all_ = _number(told, found, "hatched"), banded + len(told.chicks)
    if told.chicks and banded and found.record and hatched is not None and all_ > hatched:
        told.refuse(
            "bands",
            f"{told.chicks[0].band} …",
            f"{banded} chicks of this set are banded already, with these {all_}, but {hatched} "
            "hatched",
            f"mend the bands, or the number in {_at(found.record, tables)}",
        )


def _check_collected(told: Told, record: EggRecord | None, tables: FolderTables) -> None:
    if record is None or told.collected is None:
        return
    written = (record.collected_from, record.collected_to)
    for old, new in zip(written, told.collected, strict=True):
        if old is not None and old != new:
            told.refuse(
                "collected",
                new,
                f"{_at(record, tables)} says {old}",
                f"if {old} is wrong, mend it there; else leave the days out",
            )


def _check_numbers(told: Told, found: SetRow, tables: FolderTables) -> None:
    """The numbers told and those of the row, each no more than the one before."""
    at = f" ({_at(found.record, tables)})" if found.record else ""
    numbers = [(name, _number(told, found, name)) for name in NUMBERS]
    given = [(name, number) for name, number in numbers if number is not None]
    for (more, most), (name, number) in pairwise(given):
        if number > most:
            told.refuse(name, number, f"more than the {most} {more}{at}", "mend one of the two")
    hatched = _number(told, found, "hatched")
    counts = [sum(told.whole(locus).values()) for locus in told.loci]
    most = max([len(told.chicks), *counts], default=0)
    if hatched is not None and most > hatched:
        column = "bands" if most == len(told.chicks) else "seen"
        told.refuse(
            column, most, f"{most} chicks are told of, but {hatched} hatched", "mend one of the two"
        )
    if told.hatched and found.hatched_on is None:
        told.refuse("hatched_on", "", "nobody wrote when they hatched", "give the day")


def _number(told: Told, found: SetRow, name: str) -> int | None:
    new: int | None = getattr(told, name)
    return new if new is not None else getattr(found.record, name, None)


def egg_change(told: Told, found: SetRow, parents: Parents, settings: Settings) -> EggChange:
    """Return what is written into ``eggs.csv``: only cells that say nothing yet are filled."""
    spans = whole_range([chick.band for chick in told.chicks])
    new = dict(_texts(told, parents, settings))
    if found.record is None:
        bands = dict(zip(("first_band", "last_band"), spans or ("", ""), strict=True))
        return EggChange(
            row=None, cells={**new, **bands}, unsaid=bool(told.chicks) and spans is None
        )
    record = found.record
    cells = {name: text for name, text in new.items() if _is_empty(record, name) and text}
    ends, unsaid = _band_cells(record, told, spans)
    return EggChange(row=record.row, cells={**cells, **ends}, unsaid=unsaid)


def _texts(told: Told, parents: Parents, settings: Settings) -> Iterator[tuple[str, str]]:
    yield "pen", told.pen
    yield "hen", told.dam
    yield "cock", _cock(told, parents)
    if not parents.assumed:
        yield "collected_from", written_date(parents.first, settings)
        yield "collected_to", written_date(parents.last, settings)
    if told.set_on is not None:
        yield "set_on", written_date(told.set_on, settings)
    for name in NUMBERS:
        number = getattr(told, name)
        yield name, "" if number is None else str(number)


def _cock(told: Told, parents: Parents) -> str:
    """The cock of a set: the one of the pen, else (or of eggs alone) the one that was named."""
    one = parents.in_pen[0] if len(parents.in_pen) == 1 else ""
    return (parents.sire or one) if parents.said and not (told.chicks and one) else one


def _is_empty(record: EggRecord, name: str) -> bool:
    """Whether a cell may be filled: the row of a whole pen stays one of the whole pen."""
    return name not in {"pen", "hen", "cock"} and getattr(record, name) is None


def _band_cells(
    record: EggRecord, told: Told, spans: tuple[str, str] | None
) -> tuple[dict[str, str], bool]:
    """The two ends, if the row has none yet or its own run on into them."""
    if not told.chicks:
        return {}, False
    if spans is None:
        return {}, True
    if not record.first_band and not record.last_band:
        return {"first_band": spans[0], "last_band": spans[1]}, False
    joined = whole_range([record.last_band, *(chick.band for chick in told.chicks)])
    return ({"last_band": spans[1]}, False) if joined else ({}, True)


def check_year(told: Told, set_on: dt.date | None, settings: Settings) -> None:
    """Refuse a day of setting that lies far from the season: a slip of the pen, or another folder.

    Raises
    ------
    UsageError, InputError
        If the day is neither of the season's year nor of the one before.
    """
    if set_on is not None and set_on.year not in {settings.season - 1, settings.season}:
        told.refuse(
            "set_on",
            set_on,
            f"the season of this folder is {settings.season}",
            "mend the year, or take the folder of that season (season --close makes it)",
        )
