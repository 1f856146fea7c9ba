"""Sheets as an OpenDocument workbook: the few parts that a reader needs, uncompressed."""

from __future__ import annotations

import datetime as dt
import zipfile
from typing import TYPE_CHECKING, Final
from xml.sax.saxutils import escape, quoteattr

from _books.paper import Commented, Figure, Formula, shown

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from pathlib import Path

    from _books.paper import Row, Sheet, Value

MIME: Final = "application/vnd.oasis.opendocument.spreadsheet"
_SPACES: Final = " ".join(
    f'xmlns:{short}="urn:oasis:names:tc:opendocument:xmlns:{long}:1.0"'
    for short, long in (("office", "office"), ("table", "table"), ("text", "text"))
)
_HEAD: Final = '<?xml version="1.0" encoding="UTF-8"?>'
_MANIFEST: Final = (
    f'{_HEAD}<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"'
    f' manifest:version="1.2"><manifest:file-entry manifest:full-path="/" '
    f'manifest:media-type="{MIME}"/><manifest:file-entry manifest:full-path="content.xml" '
    'manifest:media-type="text/xml"/></manifest:manifest>'
)


def write_ods(sheets: Iterable[Sheet], path: Path) -> None:
    """Write sheets into one workbook."""
    tables = "".join(map(_table, sheets))
    content = (
        f'{_HEAD}<office:document-content {_SPACES} office:version="1.2"><office:body>'
        f"<office:spreadsheet>{tables}</office:spreadsheet></office:body>"
        "</office:document-content>"
    )
    parts = (("mimetype", MIME), ("content.xml", content), ("META-INF/manifest.xml", _MANIFEST))
    with zipfile.ZipFile(path, "w") as packed:
        for name, text in parts:
            packed.writestr(zipfile.ZipInfo(name), text)


def _table(sheet: Sheet) -> str:
    rows = "".join(f"<table:table-row>{_row(sheet, row)}</table:table-row>" for row in sheet.rows)
    if sheet.empty_below:
        width = 'table:number-columns-repeated="16384"'
        rows += f'<table:table-row table:number-rows-repeated="{sheet.empty_below}">'
        rows += f"<table:table-cell {width}/></table:table-row>"
    return f"<table:table table:name={quoteattr(sheet.name)}>{rows}</table:table>"


def _row(sheet: Sheet, row: Row) -> str:
    return "".join(_cells(sheet, row)) or "<table:table-cell/>"


def _cells(sheet: Sheet, row: Row) -> Iterator[str]:
    values = row.loose or tuple(row.cells.get(key) for key, _ in sheet.columns)
    widths = [width for merged, width in sheet.merged_across if merged is row]
    covered = 0
    for value in values:
        if covered:
            covered -= 1
            yield "<table:covered-table-cell/>"
        elif value is not None and widths:
            covered = widths[0] - 1
            yield _cell(value, f' table:number-columns-spanned="{widths.pop()}"')
        else:
            yield _cell(value)


def _cell(value: Value, more: str = "") -> str:
    if value is None:
        return f"<table:table-cell{more}/>"
    return f"<table:table-cell{more} {_typed(value)}>{_text(value)}</table:table-cell>"


def _typed(value: Value) -> str:
    if isinstance(value, dt.date):
        return f'office:value-type="date" office:date-value="{value.isoformat()}"'
    if isinstance(value, Figure | Formula | float):
        return f'office:value-type="float" office:value="{shown(value)}"'
    return 'office:value-type="string"'


def _text(value: Value) -> str:
    """What the office program shows: a comma in numbers, points in days."""
    if isinstance(value, dt.date):
        return f"<text:p>{value:%d.%m.%Y}</text:p>"
    if isinstance(value, Commented):
        note = f"<office:annotation><text:p>{escape(value.comment)}</text:p></office:annotation>"
        return f"{note}<text:p>{escape(value.text)}</text:p>"
    text = shown(value)
    text = text.replace(".", ",") if isinstance(value, float) else text
    return "".join(f"<text:p>{escape(line)}</text:p>" for line in text.split("\n"))
