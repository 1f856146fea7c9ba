"""From the rows of a sheet to records: every cell is read, every fault named, no row is lost."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Final

from matchmaker.errors import CellMend, Fault
from matchmaker.tables.cells import read_cell, read_number
from matchmaker.tables.reading import Hints, Issue, Reading, is_blank, refused
from matchmaker.tables.schema import Column, Kind
from matchmaker.tables.subjects import one_subject, with_count

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from matchmaker.tables.findings import Findings
    from matchmaker.tables.header import Sheet
    from matchmaker.tables.raw import RawRow

Values = dict[str, object]

_BLANKS: Final[Mapping[Kind, object]] = {
    Kind.BAND: "",
    Kind.BAND_RANGE: "",
    Kind.NAME: "",
    Kind.TEXT: "",
    Kind.WISH: "",
    Kind.COUNT: None,
    Kind.CLASSES: (),
    Kind.HOW: "report",
}
"""What stands in a record for a cell that says nothing, where the record has no default."""


def read_records(sheet: Sheet, hints: Hints, findings: Findings) -> list[object]:
    """Return one record for each row that has its keys; the others are named in faults."""
    records = (_record(sheet, row, hints, findings) for row in sheet.rows)
    return [record for record in records if record is not None]


def _record(sheet: Sheet, row: RawRow, hints: Hints, findings: Findings) -> object | None:
    values: Values = {}
    usable = True
    for column in sheet.table.columns:
        reading = _read(sheet, row, column, hints)
        _note(sheet, row, column.name, reading.issue, findings)
        empty = reading.value in (None, "", ())
        if not empty:
            values[column.attribute] = reading.value
        elif column.required and column.kind is not Kind.COUNT:
            usable = False
    _tell_stray_cells(sheet, row, findings)
    if not usable:
        return None
    return _finished(sheet, row, values, hints, findings)


def _read(sheet: Sheet, row: RawRow, column: Column, hints: Hints) -> Reading:
    text = _cell(row, sheet.at.get(column.name))
    reading = read_cell(text, column, hints) if text else Reading()
    if column.required and reading.issue is None and reading.value in (None, "", ()):
        return refused(
            "blank-cell",
            f"the row is filled but its {column.name} says nothing",
            "fill it or empty the row; if it is a formula, open the book and save it once",
        )
    return reading


def _cell(row: RawRow, index: int | None) -> str:
    return row.cells[index] if index is not None and index < len(row.cells) else ""


def _note(sheet: Sheet, row: RawRow, name: str, issue: Issue | None, findings: Findings) -> None:
    if issue is None:
        return
    index = {**sheet.loci, **sheet.traits, **sheet.at}.get(name)
    found = Fault(
        kind=issue.kind,
        file=sheet.file,
        row=row.row,
        column=sheet.headers.get(name, name),
        value=_cell(row, index),
        problem=issue.problem,
        mend=issue.mend,
        mends=_cell_mend(sheet, row, name, issue),
    )
    (findings.doubts if issue.doubt else findings.faults).append(found)


def _cell_mend(sheet: Sheet, row: RawRow, name: str, issue: Issue) -> tuple[CellMend, ...]:
    if not issue.becomes:
        return ()
    was = _cell(row, sheet.at.get(name))
    return (
        CellMend(table=sheet.table.name, row=row.row, column=name, was=was, becomes=issue.becomes),
    )


def _tell_stray_cells(sheet: Sheet, row: RawRow, findings: Findings) -> None:
    stray = [cell for cell in row.cells[sheet.width :] if cell]
    if stray:
        findings.faults.append(
            Fault(
                kind="stray-cell",
                file=sheet.file,
                row=row.row,
                value=stray[0],
                problem="the row has more cells than the header has columns",
                mend="look for a comma inside a cell (put the cell in quotation marks), "
                "or give the column a header",
            )
        )


def _finished(
    sheet: Sheet, row: RawRow, values: Values, hints: Hints, findings: Findings
) -> object | None:
    name = sheet.table.name
    if name == "birds":
        _finish_bird(sheet, row, values)
    elif name == "scores":
        values["traits"] = dict(_scored(sheet, row, hints, findings))
    elif name in {"seen", "eggs"}:
        issues = [*one_subject(name, values), *(with_count(values) if name == "seen" else ())]
        for column, issue in issues:
            _note(sheet, row, column, issue, findings)
        if name == "seen" and issues:
            return None
    record: object = sheet.table.record(**{**_blanks(sheet), **values, "row": row.row})
    return record


def _blanks(sheet: Sheet) -> Values:
    fields = {f.name: f for f in dataclasses.fields(sheet.table.record)}
    without_default = {
        name
        for name, field in fields.items()
        if field.default is dataclasses.MISSING and field.default_factory is dataclasses.MISSING
    }
    blanks = {
        column.attribute: _BLANKS.get(column.kind)
        for column in sheet.table.columns
        if column.attribute in without_default
    }
    if sheet.table.name == "pens":
        blanks["hens_max"] = 0  # a fault has been told: the pen is kept so that its name is known
    return blanks


def _finish_bird(sheet: Sheet, row: RawRow, values: Values) -> None:
    hatched = values.pop("hatched", None)
    if isinstance(hatched, tuple):
        values["hatched"], values["hatched_is_year"] = hatched
    cells = {locus: _cell(row, index) for locus, index in sheet.loci.items()}
    values["seen"] = {locus: text for locus, text in cells.items() if not is_blank(text)}


def _scored(
    sheet: Sheet, row: RawRow, hints: Hints, findings: Findings
) -> Iterator[tuple[str, float]]:
    for trait, index in sheet.traits.items():
        text = _cell(row, index)
        column = Column(
            name=trait, kind=Kind.NUMBER, meaning="a score", unit=hints.units.get(trait, "")
        )
        reading = read_number(text, column)
        _note(sheet, row, trait, reading.issue, findings)
        if isinstance(reading.value, float):
            yield trait, reading.value
