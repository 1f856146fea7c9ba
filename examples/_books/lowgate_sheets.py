"""Lowgate's book before any habit spoils it: two sheets in a workbook, three lists beside it."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Final

from _books.lowgate import clean_tables
from _books.paper import Notebook, Row, Value, lay_out

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from _books.paper import Sheet

BOOK, LOG, POINTS, BROODER = "lowgate.ods", "stall log.txt", "judging.csv", "brooder.csv"
REGISTER, STALLS = "Register", "Stalls"

COLUMNS: Final[Mapping[str, tuple[str, str, tuple[tuple[str, str], ...]]]] = {
    "birds": (
        BOOK,
        REGISTER,
        (
            *(("bird", "Leg ring"), ("sex", "m / f"), ("hatched", "Out of the egg")),
            *(("sire", "Cock"), ("dam", "Hen"), ("line", "Strain"), ("breed", "Race")),
            *(("source", "From whom"), ("S", "Plumage"), ("status", "State")),
            *(("left_on", "Left us"), ("scores.weight", "Weight at 20 weeks"), ("+notes", "Notes")),
            *(("+more", "Notes"), ("+tick", "")),
        ),
    ),
    "pens": (
        BOOK,
        STALLS,
        (
            *(("pen", "Stall"), ("hens_max", "Most hens")),
            *(("dam_known", "Nests that close?"), ("+notes", "Notes")),
        ),
    ),
    "moves": (
        LOG,
        "",
        (("bird", "Ring"), ("pen", "Stall"), ("moved_in", "From"), ("moved_out", "Until")),
    ),
    "eggs": (
        BROODER,
        "",
        (
            *(("pen", "Stall"), ("hen", "Hen"), ("cock", "Cock"), ("collected_from", "Gathered")),
            *(("collected_to", "to"), ("set_on", "Laid in"), ("eggs", "Eggs")),
            *(("fertile", "Fertile"), ("hatched", "Chicks"), ("raised", "Reared")),
            *(("first_band", "Rings from"), ("last_band", "Rings to")),
        ),
    ),
    "scores": (POINTS, "", (("bird", "Ring"), ("date", "Judged"), ("type", "Type (points)"))),
}
DATES: Final = frozenset(
    {"hatched", "left_on", "moved_in", "moved_out", "collected_from", "collected_to", "set_on"}
    | {"date"}
)
WORDS: Final[Mapping[tuple[str, str], str]] = {
    ("sex", "cock"): "m",
    ("sex", "hen"): "f",
    ("breed", "welsummer"): "Welsummer",
    ("breed", "leghorn"): "Leghorn",
}
REMARKS: Final[Mapping[str, str]] = {
    "L24-001": "très beau, a little wild",
    "W24-006": "best layer – dark eggs",
    "S26-004": "brassy in the shoulder",
}


def notebook() -> Notebook:
    """The book as it would be without its habits."""
    tables = clean_tables()
    book = Notebook(name="lowgate", tables=tables)
    for table, (file, name, columns) in COLUMNS.items():
        read = _in_the_workbook(table) if file == BOOK else _as_text
        sheet = lay_out(name, table, columns, tables[table], read)
        sheet.file = file
        book.sheets.append(sheet)
    _weigh_in_the_register(book)
    for row in book.sheet(REGISTER).taken():
        row.cells["+notes"] = REMARKS.get((row.clean or {})["bird"])
    return book


def _weigh_in_the_register(book: Notebook) -> None:
    """Write the weights beside the birds; the clean scores get a row of them for each bird."""
    judged = book.tables["scores"]
    weights = {clean["bird"]: clean["weight"] for clean in judged if clean["weight"]}
    book.tables["scores"] = [
        *({"bird": band, "date": "", "weight": weight} for band, weight in weights.items()),
        *judged,
    ]
    for clean in judged:
        clean["weight"] = ""
    for row in book.sheet(REGISTER).taken():
        weight = weights.get((row.clean or {})["bird"])
        row.cells["scores.weight"] = float(weight) if weight else None


def _in_the_workbook(table: str) -> Callable[[str, str], Value]:
    def read(key: str, text: str) -> Value:
        if not text:
            return None
        if key in DATES and not (table == "eggs" and key == "hatched"):
            return dt.date.fromisoformat(text)
        if key == "hens_max":
            return float(text)
        return WORDS.get((key, text), text)

    return read


def _as_text(key: str, text: str) -> Value:
    """What an office program of that country exports: days first, a comma in numbers."""
    if key in DATES and text.count("-") == 2:
        year, month, day = text.split("-")
        return f"{day}/{month}/{year}"
    return text or None


def register_row(book: Notebook, band: str) -> Row:
    """The row of a bird in the register."""
    return book.sheet(REGISTER).row(bird=band)


def listing(book: Notebook, file: str) -> Sheet:
    """The list that is a file of its own."""
    return next(sheet for sheet in book.sheets if sheet.file == file)
