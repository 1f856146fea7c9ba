"""Merged cells of ODS books, which the reader of books does not tell."""

from __future__ import annotations

import html
import re
import zipfile
from dataclasses import dataclass, field
from io import BytesIO
from typing import TYPE_CHECKING, Final

from matchmaker.tables.extent import PACKING_BROKEN

if TYPE_CHECKING:
    from collections.abc import Mapping

Corners = tuple[tuple[int, int], tuple[int, int]]

_TAG: Final = re.compile(r"<(/?)table:(table|table-row|table-cell|covered-table-cell)(?=[\s/>])")
_ATTRIBUTE: Final = re.compile(r"table:([a-z-]+)\s*=\s*[\"']([^\"']*)[\"']")


def ods_merged(content: bytes) -> dict[str, tuple[Corners, ...]]:
    """Return the merged cells of each sheet of an ODS book, as corners counted from 0.

    Of a book that cannot be unpacked there are none; its reader tells what is wrong with it.
    """
    try:
        with zipfile.ZipFile(BytesIO(content)) as packed:
            text = packed.read("content.xml").decode("utf-8", errors="replace")
    except PACKING_BROKEN:
        return {}
    return merged_in(text) if "-spanned=" in text else {}


def merged_in(text: str) -> dict[str, tuple[Corners, ...]]:
    """Return the merged cells of each sheet in the text of an ODS book.

    Examples
    --------
    >>> merged_in(
    ...     '<table:table table:name="Log"><table:table-row table:number-rows-repeated="2"/>'
    ...     '<table:table-row><table:table-cell table:number-rows-spanned="3"/></table:table-row>'
    ... )
    {'Log': (((2, 0), (4, 0)),)}
    """
    place = _Place()
    for tag in _TAG.finditer(text):
        ends, what = bool(tag[1]), tag[2]
        rest = text[tag.end() : text.find("<", tag.end())].rpartition(">")[0]
        if not ends:
            place.open(what, dict(_ATTRIBUTE.findall(rest)))
        if what == "table-row" and (ends or rest.endswith("/")):
            place.end_row()
    return {sheet: tuple(corners) for sheet, corners in place.found.items() if corners}


@dataclass(slots=True)
class _Place:
    """Where the reading of the text stands, and what it found."""

    sheet: str = ""
    row: int = 0
    column: int = 0
    rows: int = 1
    found: dict[str, list[Corners]] = field(default_factory=dict)

    def open(self, what: str, told: Mapping[str, str]) -> None:
        """Go into a sheet or a row, or pass a cell."""
        if what == "table":
            self.sheet, self.row = html.unescape(told.get("name", "")), 0
        elif what == "table-row":
            self.column, self.rows = 0, _count(told, "number-rows-repeated")
        else:
            self._pass(told)

    def end_row(self) -> None:
        """Go on to the next row."""
        self.row += self.rows
        self.column = 0

    def _pass(self, told: Mapping[str, str]) -> None:
        down = _count(told, "number-rows-spanned")
        across = _count(told, "number-columns-spanned")
        if down > 1 or across > 1:
            last = (self.row + down - 1, self.column + across - 1)
            self.found.setdefault(self.sheet, []).append(((self.row, self.column), last))
        self.column += _count(told, "number-columns-repeated")


def _count(told: Mapping[str, str], name: str) -> int:
    text = told.get(name, "1")
    return max(int(text[:9]), 1) if text.isascii() and text.isdigit() else 1
