"""Bands and names with signs nobody sees, that look like a formula, or are far too long."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from matchmaker.errors import CellMend, Fault
from matchmaker.tables.findings import summed_up
from matchmaker.tables.nearness import Likeness, Near, meant
from matchmaker.tables.reading import is_blank
from matchmaker.tables.schema import Kind

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from matchmaker.tables.header import Sheet
    from matchmaker.tables.schema import Column

NAME_LENGTH: Final = 60
"""Letters; a longer band or name is likelier a remark in the wrong cell (common practice, no
source)."""

_BANDS: Final = frozenset({Kind.BAND, Kind.BAND_RANGE, Kind.PARENT})
_NAMED: Final = _BANDS | {Kind.NAME}

_PLAIN: Final = re.compile(r"[!-~]+(?: [!-~]+)*")
_JOINERS: Final = "\u200c\u200d"
"""Signs between letters of some scripts that change how these are drawn: they belong there."""

_FORMULA: Final = re.compile(r"[=@].+|[+-][^\d\s.,].*")

_Cell = tuple[int, str, str]
"""Row, column, text."""


def seen_text(text: str) -> str:
    r"""Return a text with only the signs that can be seen, and single spaces.

    Examples
    --------
    >>> seen_text("S23\u200b-001"), seen_text("Line\u00a0\u00a0A"), seen_text("A\u2011\t7")
    ('S23-001', 'Line A', 'A- 7')
    """
    if _PLAIN.fullmatch(text):
        return text
    composed = unicodedata.normalize("NFC", text).replace("\u2011", "-")
    shown = (_shown(composed, at) for at in range(len(composed)))
    return " ".join("".join(shown).split())


def seen_band(band: str) -> str:
    r"""Return a band with only the signs that can be seen; none is parted beside a hyphen.

    Examples
    --------
    >>> seen_band("S23\u00a0-001"), seen_band("S23 -001"), seen_band("Old\u00a0Grey")
    ('S23-001', 'S23 -001', 'Old Grey')
    """
    shown = seen_text(band)
    return shown if shown == band else re.sub(r" ?([-/]) ?", r"\1", shown)


def _shown(text: str, at: int) -> str:
    letter = text[at]
    category = unicodedata.category(letter)
    if category[0] == "Z" or category == "Cc":
        return " "
    if category != "Cf":
        return letter
    around = text[max(at - 1, 0) : at] + text[at + 1 : at + 2]
    drawn = letter in _JOINERS and len(around) > 1 and all(map(_of_other_script, around))
    return letter if drawn else ""


def _of_other_script(letter: str) -> bool:
    return not letter.isascii() and unicodedata.category(letter)[0] in "LMS"


def clear_name(found: Near) -> str | None:
    """The only nearest name, if it is near enough to be written in the place of the mistyped one.

    None that is merely alike on the whole, and none that itself has signs nobody sees.

    Examples
    --------
    >>> clear_name(Near(names=("H1",), likeness=Likeness.LETTER)), clear_name(Near(names=("H1",)))
    ('H1', None)
    """
    only = found.only
    if only is None or found.likeness is Likeness.SHAPE or seen_text(only) != only:
        return None
    return only


def mend_of_unknown(found: Near, rows: Mapping[str, int], otherwise: str) -> str:
    """The mend of an unknown band; where that of the bird has odd signs, it is mended there.

    Examples
    --------
    >>> near = Near(names=("H1\u200b",), likeness=Likeness.SPACING)
    >>> mend_of_unknown(near, {"H1\u200b": 7}, "add a row")
    'mend the band in row 7 of the birds, which has signs that nobody sees'
    """
    only = found.only
    if only is not None and seen_text(only) != only:
        return f"mend the band in row {rows[only]} of the birds, which has signs that nobody sees"
    return meant(found, otherwise)


def odd_signs(sheets: Mapping[str, Sheet]) -> Iterator[Fault]:
    """Doubt such cells of bands and names in all tables; those nobody knows are told elsewhere."""
    bands = _bands_of(sheets)
    for sheet in sheets.values():
        for column in sheet.table.columns:
            if column.kind in _NAMED and column.name in sheet.at:
                for cell in _cells(sheet, column):
                    yield from _odd(sheet, cell)
                yield from summed_up(
                    _hidden(sheet, column, bands),
                    f"cells of the column {column.name} have signs that nobody sees",
                    "type them afresh",
                )


def _bands_of(sheets: Mapping[str, Sheet]) -> Mapping[str, int]:
    """How many birds have each band once only what can be seen is looked at."""
    counts: dict[str, int] = {}
    if "birds" in sheets and "bird" in sheets["birds"].at:
        sheet = sheets["birds"]
        for _, _, text in _cells(sheet, sheet.table.column("bird")):
            for band in {text, seen_band(text)}:
                counts[band] = counts.get(band, 0) + 1
    return counts


def _cells(sheet: Sheet, column: Column) -> Iterator[_Cell]:
    at = sheet.at[column.name]
    for row in sheet.rows:
        if at < len(row.cells) and row.cells[at] and not is_blank(row.cells[at]):
            yield row.row, column.name, row.cells[at]


def _odd(sheet: Sheet, cell: _Cell) -> Iterator[Fault]:
    _, _, text = cell
    if len(text) > NAME_LENGTH:
        yield _too_long(sheet, cell)
    if _FORMULA.fullmatch(text):
        yield _like_a_formula(sheet, cell)


def _hidden(sheet: Sheet, column: Column, bands: Mapping[str, int]) -> Iterator[Fault]:
    own = sheet.table.name == "birds" and column.name == "bird"
    for cell in _cells(sheet, column):
        text = cell[2]
        becomes = seen_band(text) if column.kind in _BANDS else seen_text(text)
        if becomes != text and (own or column.kind is Kind.NAME or text in bands):
            sure = column.kind in _BANDS and bands.get(becomes) == 1
            yield _unseen_signs(sheet, cell, becomes, sure=sure)


def _fault(sheet: Sheet, cell: _Cell, **words: str) -> Fault:
    row, column, text = cell
    return Fault(
        file=sheet.file,
        row=row,
        column=sheet.headers.get(column, column),
        value=text[:NAME_LENGTH],
        kind=words["kind"],
        problem=words["problem"],
        mend=words["mend"],
    )


def _too_long(sheet: Sheet, cell: _Cell) -> Fault:
    return _fault(
        sheet,
        cell,
        kind="long-name",
        problem=f"this name has {len(cell[2])} letters: is it a remark in the wrong cell?",
        mend="write a short name here, and the remark in a column notes",
    )


def _like_a_formula(sheet: Sheet, cell: _Cell) -> Fault:
    return _fault(
        sheet,
        cell,
        kind="formula-like",
        problem=f"a spreadsheet may take {cell[2][:NAME_LENGTH]} for a formula and change it",
        mend=f"write it without the {cell[2][0]} in front, everywhere the name stands",
    )


def _unseen_signs(sheet: Sheet, cell: _Cell, becomes: str, *, sure: bool) -> Fault:
    row, column, text = cell
    found = _fault(
        sheet,
        cell,
        kind="unseen-signs",
        problem=f"there are signs in {becomes or 'this cell'} that nobody sees "
        f"({_names_of_signs(text, becomes)}), so it is not the {becomes or 'name'} it looks like",
        mend=f"type {becomes} afresh" if becomes else "type the name afresh",
    )
    mend = CellMend(table=sheet.table.name, row=row, column=column, was=text, becomes=becomes)
    mends = (mend,) if becomes else ()
    return replace(found, value=becomes, mends=mends, safe=sure and bool(becomes))


def _names_of_signs(text: str, becomes: str) -> str:
    """Name the signs, each once; two spaces in a row are told as that."""
    odd = [
        letter
        for letter in dict.fromkeys(text)
        if letter not in becomes and unicodedata.category(letter)[0] in "CZ"
    ]
    names = [unicodedata.name(letter, f"sign {ord(letter)}").lower() for letter in odd]
    if "  " in text:
        names.append("two spaces")
    return ", ".join(names) or "letters put together of two signs"
