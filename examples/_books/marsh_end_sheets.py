"""Marsh End's workbook before any habit spoils it: the clean tables in the keeper's own words."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Final

from _books.marsh_end import clean_tables
from _books.paper import Notebook, Sheet, Value, lay_out

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

FILE: Final = "marsh-end.xlsx"
BIRDS, HOUSES, LOG, WISHES = "Birds", "Houses", "Who was where", "Wishes"
HATCHES, WEIGHTS = "Incubator", "20 week weights"

COLUMNS: Final[Mapping[str, tuple[str, tuple[tuple[str, str], ...]]]] = {
    "birds": (
        BIRDS,
        (
            *(("bird", "Ring no."), ("+name", "Called"), ("sex", "Cock / hen")),
            *(("hatched", "Hatched"), ("sire", "Father"), ("dam", "Mother")),
            *(("line", "Family"), ("breed", "What it is"), ("source", "Had from")),
            *(("P", "Comb"), ("status", "Here?"), ("left_on", "Gone"), ("+notes", "Remarks")),
        ),
    ),
    "pens": (
        HOUSES,
        (
            *(("pen", "House"), ("hens_max", "Room for (hens)")),
            *(("dam_known", "Trap nests?"), ("+notes", "What wants doing")),
        ),
    ),
    "wishes": (
        WISHES,
        (("bird", "Ring"), ("with", "With"), ("wish", "What we want"), ("why", "Because")),
    ),
    "moves": (
        LOG,
        (("pen", "House"), ("bird", "Ring"), ("moved_in", "Put in"), ("moved_out", "Taken out")),
    ),
    "eggs": (
        HATCHES,
        (
            *(("pen", "Out of house"), ("cock", "Cock then")),
            *(("collected_from", "Eggs from"), ("collected_to", "up to")),
            *(("set_on", "Into the machine"), ("eggs", "Eggs"), ("fertile", "Good at candling")),
            *(("hatched", "Chicks hatched"), ("raised", "Reared")),
            *(("first_band", "First ring"), ("last_band", "Last ring")),
        ),
    ),
    "scores": (
        WEIGHTS,
        (("bird", "Ring"), ("date", "Weighed on"), ("weight", "Weight"), ("shape", "Shape 1-5")),
    ),
}
DATES: Final = frozenset(
    {"hatched", "left_on", "moved_in", "moved_out", "collected_from", "collected_to", "set_on"}
    | {"date"}
)
NUMBERS: Final = frozenset({"hens_max", "eggs", "fertile", "raised", "weight", "shape"})
WORDS: Final[Mapping[tuple[str, str], str]] = {
    ("status", "breeder"): "here",
    ("status", "culled"): "eaten",
    ("breed", "dorking"): "Dorking",
    ("breed", "brahma"): "Brahma",
}
REMARKS: Final[Mapping[str, str]] = {
    "D22-001": "frost took his points in 2024",
    "B22-001": "the comb we want",
    "R25-001": "quiet, stays with his hens",
    "S26-003": "five toes on both feet",
}


def notebook() -> Notebook:
    """The workbook as it would be without its habits."""
    tables = clean_tables()
    book = Notebook(name="marsh-end", tables=tables)
    for table, (name, columns) in COLUMNS.items():
        sheet = lay_out(name, table, columns, tables[table], read_cell(table))
        sheet.file = FILE
        book.sheets.append(sheet)
    for row in book.sheet(BIRDS).taken():
        row.cells["+notes"] = REMARKS.get((row.clean or {})["bird"])
    return book


def read_cell(table: str) -> Callable[[str, str], Value]:
    """What the keeper puts into a cell of a table: real dates, real numbers, her own words."""

    def read(key: str, text: str) -> Value:
        if not text:
            return None
        if key == "hatched" and table == "eggs":
            return float(text)
        if key in DATES:
            return dt.date.fromisoformat(text)
        if key in NUMBERS:
            return float(text)
        return WORDS.get((key, text), text)

    return read


def of_year(sheet: Sheet, year: int) -> list[str]:
    """Bands of the birds that hatched in a year, in the order of the sheet."""
    return [
        clean["bird"]
        for row in sheet.taken()
        if (clean := row.clean or {})["hatched"].startswith(str(year))
    ]
