"""A form filled in by the keeper in a spreadsheet: a row for each set, and for single chicks."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Final

from matchmaker.errors import Fault
from matchmaker.hatch.bands import BandError, read_bands
from matchmaker.hatch.form_looks import Looks, counts_of
from matchmaker.hatch.told import BandedChick, Told
from matchmaker.tables.findings import Findings
from matchmaker.tables.given_file import find_given, open_given, stop_at_faults
from matchmaker.tables.reading import Hints, is_blank
from matchmaker.tables.records import Sex, Status
from matchmaker.tables.rows import read_records
from matchmaker.tables.schema import Column, Kind, Table, is_note

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Collection, Iterable, Iterator, Mapping
    from pathlib import Path

    from matchmaker.settings import Settings
    from matchmaker.tables.header import Sheet


@dataclass(frozen=True, slots=True, kw_only=True)
class FormRow:
    """One row: a set, chicks of it, or both; ``looks`` has the cells of the locus columns."""

    row: int
    pen: str = ""
    dam: str = ""
    sire: str = ""
    set_on: dt.date | None = None
    collected_from: dt.date | None = None
    collected_to: dt.date | None = None
    eggs: int | None = None
    fertile: int | None = None
    hatched: int | None = None
    hatched_on: dt.date | None = None
    bands: str = ""
    sex: Sex | None = None
    status: Status = Status.YOUNG
    line: str = ""
    clutch: str = ""
    looks: Mapping[str, str] = field(default_factory=dict)


def _named(name: str, meaning: str, *words: str, kind: Kind = Kind.NAME) -> Column:
    return Column(name=name, kind=kind, meaning=meaning, synonyms=words)


def _number(name: str, meaning: str) -> Column:
    return Column(name=name, kind=Kind.COUNT, meaning=meaning, low=0, high=100_000)


FORM: Final = Table(
    name="hatch",
    record=FormRow,
    needed=("pen",),
    extras="a locus where its header is a locus symbol",
    columns=(
        Column(
            name="pen",
            kind=Kind.NAME,
            meaning="pen the eggs are from",
            synonyms=("house", "coop", "breeding pen"),
            required=True,
        ),
        _named("dam", "hen that laid them, where known", "hen", "mother"),
        _named("sire", "cock, where the tables cannot know him", "cock", "father", kind=Kind.TEXT),
        _named("set_on", "day the eggs were set", "set", "date set", kind=Kind.DATE),
        _named("collected_from", "first day of collecting", kind=Kind.DATE),
        _named("collected_to", "last day of collecting", kind=Kind.DATE),
        _number("eggs", "eggs set"),
        _number("fertile", "fertile at candling"),
        _number("hatched", "chicks hatched, banded or not"),
        _named("hatched_on", "day they hatched", "hatch date", kind=Kind.DATE),
        _named("bands", "bands: one, several or a range", "band", "bird", kind=Kind.TEXT),
        Column(name="sex", kind=Kind.SEX, meaning="cock or hen, where known"),
        Column(name="status", kind=Kind.STATUS, meaning="young, or dead, culled or sold at hatch"),
        _named("line", "line the chicks join", "chicks join"),
        _named("clutch", "shared by chicks of one sire and one dam"),
    ),
)
"""The columns of a form; others are loci, headed by their symbols, or the keeper's notes."""

SET_CELLS: Final = (
    *("sire", "collected_from", "collected_to", "eggs", "fertile", "hatched", "hatched_on"),
    *("line", "clutch"),
)
"""What belongs to the whole set: one row of it may say so, or several alike."""

FATES: Final = frozenset({Status.YOUNG, Status.DEAD, Status.CULLED, Status.SOLD})


def read_form(file: Path, settings: Settings, loci: Collection[str]) -> tuple[Told, ...]:
    """Return what a form tells, one for each pen, hen and day of setting.

    In a row with bands a locus column holds what was seen of each of them ("single"), or counts
    among them ("9 pea, 4 single"); in a row without bands, or one that tells how many eggs or
    chicks there were, counts are those of the whole hatch.

    Raises
    ------
    UsageError
        If there is no such file, or its name is not one of a table.
    InputError
        With every fault of its cells.
    """
    findings = Findings()
    file = find_given(file)
    rows, sheet = _rows(file, settings, loci, findings)
    stop_at_faults(findings)
    groups: dict[tuple[str, str, dt.date | None], list[FormRow]] = {}
    for row in rows:
        groups.setdefault((row.pen, row.dam, row.set_on), []).append(row)
    headers = dict(sheet.headers) if sheet is not None else {}
    told = [_told(file.name, headers, group, findings) for group in groups.values()]
    if not told and not findings.faults:
        findings.faults.append(
            Fault(
                kind="no-rows",
                file=file.name,
                problem="the form has a header and no rows",
                mend="write one row for each set",
            )
        )
    stop_at_faults(findings)
    return tuple(told)


def _rows(
    file: Path, settings: Settings, loci: Collection[str], findings: Findings
) -> tuple[list[FormRow], Sheet | None]:
    hints = Hints(dates=settings.dates, season=settings.season)
    raw, sheet = open_given(file, FORM, hints, findings)
    if raw is None or sheet is None:
        return [], None
    header = next(row.cells for row in raw.rows if row.row == sheet.header_row)
    at = {name: header.index(name) for name in sheet.aside if name in loci}
    findings.faults += _unread(sheet, at)
    cells = {row.row: row.cells for row in sheet.rows}
    records = [one for one in read_records(sheet, hints, findings) if isinstance(one, FormRow)]
    return [replace(one, looks=dict(_looks(cells[one.row], at))) for one in records], sheet


def _unread(sheet: Sheet, loci: Collection[str]) -> Iterator[Fault]:
    """A column that nobody reads: what stands in it would be lost."""
    for name in sheet.aside:
        if name not in loci and not is_note(name):
            yield Fault(
                kind="column-not-read",
                file=sheet.file,
                row=sheet.header_row,
                column=name,
                value=name,
                problem=f"a form has no column {name}, and no locus of this flock is called so",
                mend=f"the columns are {', '.join(column.name for column in FORM.columns)} and "
                "symbols of loci; head it notes to keep it for yourself",
            )


def _looks(cells: tuple[str, ...], at: Mapping[str, int]) -> Iterator[tuple[str, str]]:
    for locus, index in at.items():
        text = cells[index] if index < len(cells) else ""
        if not is_blank(text):
            yield locus, text


def _told(file: str, headers: Mapping[str, str], rows: list[FormRow], findings: Findings) -> Told:
    first = rows[0]
    place = _Place(file, headers, findings)
    whole = {name: _of_all(name, rows, place) for name in SET_CELLS}
    chicks = _chicks(rows, place)
    start, end = whole.pop("collected_from"), whole.pop("collected_to")
    if (start is None) != (end is None):
        place.fault(first.row, "collected_from", "", "one end of the days is missing", "give both")
    days = (start, end) if start is not None and end is not None else None
    return Told(
        pen=first.pen,
        dam=first.dam,
        set_on=first.set_on,
        collected=days,  # type: ignore[arg-type]
        chicks=tuple(chicks),
        counts=tuple(counts_of([_looks_of(row) for row in rows], place.fault)),
        file=file,
        row=first.row,
        columns=headers,
        **whole,  # type: ignore[arg-type]
    )


@dataclass(frozen=True, slots=True)
class _Place:
    """The form, for naming what is wrong in it."""

    file: str
    headers: Mapping[str, str]
    findings: Findings

    def fault(self, row: int, column: str, value: str, problem: str, mend: str) -> None:
        """Note a fault of one cell."""
        self.findings.faults.append(
            Fault(
                kind="hatch",
                file=self.file,
                row=row,
                column=self.headers.get(column, column),
                value=value,
                problem=problem,
                mend=mend,
            )
        )


def _of_all(name: str, rows: Iterable[FormRow], place: _Place) -> object:
    """What the rows of a set say alike of it."""
    found: object = None
    row_of = 0
    for row in rows:
        value = getattr(row, name)
        if value in (None, ""):
            continue
        if found is not None and value != found:
            place.fault(
                row.row,
                name,
                str(value),
                f"row {row_of} says {found} of the same set",
                "mend one of the two, or leave it to one row",
            )
        found, row_of = (value, row.row) if found is None else (found, row_of)
    return found if found is not None else getattr(FormRow(row=0), name)


def _chicks(rows: Iterable[FormRow], place: _Place) -> Iterator[BandedChick]:
    """Every banded chick once: a row of its own adds to what a range said of it."""
    found: dict[str, BandedChick] = {}
    for row in rows:
        if row.status not in FATES:
            place.fault(
                row.row,
                "status",
                str(row.status),
                "chicks are young, dead, culled or sold",
                "write one of these, or leave it empty for young",
            )
        for band in _bands(row, place):
            new = BandedChick(
                band=band,
                sex=row.sex,
                status=row.status,
                seen=_looks_of(row).of_each(),
                row=row.row,
            )
            found[band] = _joined(found[band], new, place) if band in found else new
    yield from found.values()


def _joined(old: BandedChick, new: BandedChick, place: _Place) -> BandedChick:
    clashes = [
        (column, str(there))
        for column, here, there, none in (
            ("sex", old.sex, new.sex, None),
            ("status", old.status, new.status, Status.YOUNG),
        )
        if here != there and none not in (here, there)
    ]
    clashes += [
        (locus, words) for locus, words in new.seen.items() if old.seen.get(locus, words) != words
    ]
    for column, value in clashes:
        place.fault(
            new.row or 0,
            column,
            value,
            f"row {old.row} says something else of {new.band}",
            "mend one of the two",
        )
    return replace(
        old,
        sex=new.sex or old.sex,
        status=new.status if new.status is not Status.YOUNG else old.status,
        seen={**old.seen, **new.seen},
    )


def _bands(row: FormRow, place: _Place) -> tuple[str, ...]:
    try:
        return read_bands(row.bands)
    except BandError as error:
        problem, _, mend = str(error).partition(": ")
        place.fault(row.row, "bands", row.bands, problem, mend)
        return ()


def _looks_of(row: FormRow) -> Looks:
    try:
        bands = len(read_bands(row.bands))
    except BandError:
        bands = 0
    tells = bands == 0 or not all(
        getattr(row, name) in (None, "") for name in ("eggs", "fertile", "hatched")
    )
    return Looks(row=row.row, cells=row.looks, bands=bands, of_set=tells)
