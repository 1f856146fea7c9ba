"""The two books: made, spoilt, written into files, and their habits listed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from _books import lowgate_messes, lowgate_sheets, marsh_end_messes, marsh_end_sheets
from _books.write_ods import write_ods
from _books.write_text import Export, write_text
from _books.write_xlsx import write_xlsx

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from pathlib import Path

    from _books.paper import Notebook

EXPORTS: Final[Mapping[str, Export]] = {
    lowgate_sheets.LOG: Export(separator="\t", encoding="utf-16"),
    lowgate_sheets.POINTS: Export(separator=";", encoding="cp1252", named=True),
    lowgate_sheets.BROODER: Export(separator=";", encoding="cp1252"),
}


BOOKS: Final = {
    "marsh_end": (marsh_end_sheets.notebook, marsh_end_messes.MESSES),
    "lowgate": (lowgate_sheets.notebook, lowgate_messes.MESSES),
}
"""How each book is laid out, and the habits that spoil it."""


def marsh_end() -> Notebook:
    """Marsh End's workbook with all its habits."""
    return _spoilt("marsh_end")


def lowgate() -> Notebook:
    """Lowgate's workbook and lists with all their habits."""
    return _spoilt("lowgate")


def _spoilt(name: str) -> Notebook:
    laid_out, messes = BOOKS[name]
    book = laid_out()
    book.apply(messes)
    return book


def write_books(target: Path) -> None:
    """Write both books below a folder."""
    for book in (marsh_end(), lowgate()):
        write_book(book, target)


def write_book(book: Notebook, target: Path) -> Path:
    """Write a book below a folder; return the file or the folder that it is."""
    if book.name == "marsh-end":
        write_xlsx(book, target / marsh_end_sheets.FILE)
        return target / marsh_end_sheets.FILE
    folder = target / "lowgate"
    folder.mkdir(parents=True, exist_ok=True)
    workbook = [sheet for sheet in book.sheets if sheet.file == lowgate_sheets.BOOK]
    write_ods(workbook, folder / lowgate_sheets.BOOK)
    for file, export in EXPORTS.items():
        write_text(lowgate_sheets.listing(book, file), folder / file, export)
    return folder


def habits() -> str:
    """Every habit with the places it was put, as a list to read."""
    return "\n".join(line for book in (marsh_end(), lowgate()) for line in _habits_of(book)) + "\n"


def _habits_of(book: Notebook) -> Iterator[str]:
    yield f"{book.name}:"
    told = ""
    for spoilt in book.spoilt:
        if spoilt.mess != told:
            told = spoilt.mess
            yield f"  {spoilt.habit}"
        if spoilt.outcome == "taken":
            outcome = f"taken as {spoilt.may_be[0] or 'nothing'}"
        else:
            outcome = spoilt.outcome
        yield f"    {spoilt.place}: {spoilt.written!r}, {outcome}"
