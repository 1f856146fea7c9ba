"""Cells of an XLSX book that its reader gives as empty: errors, and formulas never worked out."""

from __future__ import annotations

import html
import re
import zipfile
from io import BytesIO
from typing import TYPE_CHECKING, Final

from matchmaker.errors import Fault
from matchmaker.tables.extent import PACKING_BROKEN
from matchmaker.tables.findings import listed

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

NAMED_MAX: Final = 20
"""So many cells are named one by one; of more their number is told."""

_PLACE: Final = re.compile(rb'\sr="([A-Z]{1,3})([0-9]{1,7})"')
_ERROR: Final = re.compile(rb"<v>([^<]{0,40})</v>")
_SHEET: Final = re.compile(rb"<sheet\b([^>]{0,1000})>")
_RELATION: Final = re.compile(rb"<Relationship\b([^>]{0,2000})>")
_NAME: Final = re.compile(rb'\sname="([^"]*)"')
_RELATION_OF: Final = re.compile(rb'\s[A-Za-z]+:id="([^"]*)"')
_ID: Final = re.compile(rb'\sId="([^"]*)"')
_TARGET: Final = re.compile(rb'\sTarget="([^"]*)"')

NOT_WORKED_OUT: Final = "a formula that was never worked out"


def lost_cells(file: str, content: bytes, sheets: Sequence[str]) -> list[Fault]:
    """Return a doubt for each column of these sheets with cells that read as empty but are not."""
    try:
        with zipfile.ZipFile(BytesIO(content)) as packed:
            parts = _parts(packed)
            found = [
                (sheet, place, what)
                for sheet in sheets
                if sheet in parts
                for place, what in _lost(packed.read(parts[sheet]))
            ]
    except PACKING_BROKEN:
        return []
    grouped: dict[tuple[str, str, str], list[int]] = {}
    for sheet, (letters, row), what in found:
        grouped.setdefault((sheet, letters, what), []).append(row)
    return [_doubt(file, key, rows) for key, rows in grouped.items()]


def _parts(packed: zipfile.ZipFile) -> Mapping[str, str]:
    """Return the part of the book that holds each sheet."""
    names = set(packed.namelist())
    if not {"xl/workbook.xml", "xl/_rels/workbook.xml.rels"} <= names:
        return {}
    targets = {
        _text(_ID, tag): _text(_TARGET, tag)
        for tag in _RELATION.findall(packed.read("xl/_rels/workbook.xml.rels"))
    }
    sheets = {
        html.unescape(_text(_NAME, tag)): targets.get(_text(_RELATION_OF, tag), "")
        for tag in _SHEET.findall(packed.read("xl/workbook.xml"))
    }
    whole = {
        sheet: target.removeprefix("/") if target.startswith("/") else f"xl/{target}"
        for sheet, target in sheets.items()
    }
    return {sheet: part for sheet, part in whole.items() if part in names}


def _text(pattern: re.Pattern[bytes], tag: bytes) -> str:
    found = pattern.search(tag)
    return found[1].decode("utf-8", errors="replace") if found else ""


def _lost(sheet: bytes) -> Iterator[tuple[tuple[str, int], str]]:
    if b't="e"' not in sheet and b"<f" not in sheet:
        return
    for head, body in _cells(sheet):
        place = _PLACE.search(head)
        what = _what(head, body)
        if place and what:
            yield (place[1].decode(), int(place[2])), what


def _cells(sheet: bytes) -> Iterator[tuple[bytes, bytes]]:
    """Yield the head and the body of each cell, in one pass even over a broken sheet."""
    at = sheet.find(b"<c ")
    while at >= 0:
        following = sheet.find(b"<c ", at + 3)
        cell = sheet[at + 2 : following if following >= 0 else len(sheet)]
        head, _, rest = cell.partition(b">")
        yield head, b"" if head.endswith(b"/") else rest.partition(b"</c>")[0]
        at = following


def _what(head: bytes, body: bytes) -> str:
    value = _ERROR.search(body)
    if b't="e"' in head:
        return "the error " + (html.unescape(value[1].decode(errors="replace")) if value else "")
    empty = b"<f" in body and re.search(rb"<v>[^<]", body) is None and b't="str"' not in head
    return NOT_WORKED_OUT if empty else ""


def _doubt(file: str, key: tuple[str, str, str], rows: list[int]) -> Fault:
    sheet, letters, what = key
    cells = [f"{letters}{row}" for row in rows]
    named = listed(cells, NAMED_MAX)
    many = "cells" if len(cells) > 1 else "cell"
    hold, were = ("hold", "were") if len(cells) > 1 else ("holds", "was")
    return Fault(
        kind="cell-reads-empty",
        file=file,
        row=rows[0],
        value=what.removeprefix("the error "),
        problem=f"the {many} {named} of the sheet {sheet} {hold} {what} and {were} read as empty",
        mend="open the book in the spreadsheet, mend the formula, and save it"
        if what != NOT_WORKED_OUT
        else "open the book in the spreadsheet and save it once",
    )
