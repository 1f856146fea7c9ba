"""A notebook as a workbook of a spreadsheet program, the same bytes on every run."""

from __future__ import annotations

import datetime as dt
import io
import zipfile
from typing import TYPE_CHECKING, Any, Final

from _books.paper import Figure, Formula

if TYPE_CHECKING:
    from pathlib import Path

    from _books.paper import Notebook, Row, Sheet, Value

MADE_ON: Final = dt.datetime(2027, 1, 9, 17, 30)  # noqa: DTZ001 - as a spreadsheet keeps it


def write_xlsx(book: Notebook, path: Path) -> None:
    """Write every sheet of the notebook into one file."""
    import xlsxwriter

    packed = io.BytesIO()
    with xlsxwriter.Workbook(packed, {"in_memory": True}) as workbook:
        workbook.set_properties({"created": MADE_ON, "author": "", "comments": ""})
        writing: dict[str, _Writing] = {}
        for sheet in book.sheets:
            if sheet.page not in writing:
                writing[sheet.page] = _Writing(workbook, sheet.page)
            writing[sheet.page].write(sheet)
    _unpressed(packed, path)


def _unpressed(packed: io.BytesIO, path: Path) -> None:
    """Write the parts without compression: what that makes differs from one machine to another."""
    with zipfile.ZipFile(packed) as given, zipfile.ZipFile(path, "w") as kept:
        for part in given.infolist():
            kept.writestr(zipfile.ZipInfo(part.filename), given.read(part))


class _Writing:
    def __init__(self, workbook: Any, page: str) -> None:  # noqa: ANN401 - no types come with it
        self._book = workbook
        self._page = workbook.add_worksheet(page)
        self._formats: dict[tuple[str, str, bool], Any] = {}

    def write(self, sheet: Sheet) -> None:
        """Write the rows, then what is merged, and hide the sheet if it is hidden."""
        for row in sheet.rows:
            for column, value in enumerate(_across(sheet, row)):
                self._cell(sheet.number(row) - 1, column, value, row)
        self._merge(sheet)
        if sheet.hidden:
            self._page.hide()

    def _cell(self, at: int, column: int, value: Value, row: Row) -> None:
        look = self._look(_form(value), row)
        match value:
            case None:
                self._page.write_blank(at, column, None, look if row.colour else None)
            case Formula():
                self._page.write_formula(at, column, value.text, look, value.result)
            case bool():
                self._page.write_boolean(at, column, value, look)
            case dt.date():
                self._page.write_datetime(at, column, value, look)
            case Figure():
                self._page.write_number(at, column, value.value, look)
            case float():
                self._page.write_number(at, column, value, look)
            case str():
                self._page.write_string(at, column, value, look)

    def _look(self, form: str, row: Row) -> Any:  # noqa: ANN401 - no types come with it
        key = (form, row.colour, row.struck)
        if key not in self._formats:
            wanted: dict[str, object] = {"num_format": form} if form else {}
            wanted |= {"bg_color": row.colour} if row.colour else {}
            wanted |= {"font_strikeout": True} if row.struck else {}
            self._formats[key] = self._book.add_format(wanted)
        return self._formats[key]

    def _merge(self, sheet: Sheet) -> None:
        middle = self._book.add_format({"valign": "vcenter"})
        keys = [key for key, _ in sheet.columns]
        for row, width in sheet.merged_across:
            at = sheet.rows.index(row)
            self._page.merge_range(at, 0, at, width - 1, row.loose[0], middle)
        for key, first, last in sheet.merged_down:
            at = keys.index(key)
            top, bottom = sheet.rows.index(first), sheet.rows.index(last)
            self._page.merge_range(top, at, bottom, at, first.cells[key], middle)


def _form(value: Value) -> str:
    if isinstance(value, Figure):
        return value.form
    if isinstance(value, dt.datetime):
        return "d/m/yyyy hh:mm"
    return "d/m/yyyy" if isinstance(value, dt.date) else ""


def _across(sheet: Sheet, row: Row) -> tuple[Value, ...]:
    return row.loose or tuple(row.cells.get(key) for key, _ in sheet.columns)
