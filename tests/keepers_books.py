"""The two ugly books under ``examples/books``, and what a careful reader makes of each cell.

The books are the script's own: it breeds a flock, lays it out, and remembers every cell that a
habit of the keeper spoils, with what may become of it. Here a folder that was made from a book is
held against that memory.
"""

from __future__ import annotations

import importlib
import re
import sys
from collections import defaultdict
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from tests.cli.run import read_rows, write_rows

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

EXAMPLES: Final = Path(__file__).parents[1] / "examples"
FOLDER: Final = EXAMPLES / "books"
TRAITS: Final = ("weight", "shape", "type")
NOT_TAKEN: Final = "not-taken.csv"
TAKEN_AS: Final = "taken-as.csv"


@dataclass(frozen=True, slots=True)
class KeptBook:
    """A book and what the keeper would say to the five questions of ``new``."""

    name: str
    given: Path
    breed: str
    trait: str


MARSH_END: Final = KeptBook("marsh_end", FOLDER / "marsh-end.xlsx", "dorking", "P")
LOWGATE: Final = KeptBook("lowgate", FOLDER / "lowgate", "welsummer", "S")
BOOKS: Final = (MARSH_END, LOWGATE)


def library() -> Any:
    """The script's own modules, which lie outside the package."""
    if str(EXAMPLES) not in sys.path:
        sys.path.insert(0, str(EXAMPLES))
    return importlib.import_module("_books.library")


@cache
def notebook(name: str) -> Any:
    """The book of that name with its clean tables and all that was spoilt in it."""
    return getattr(library(), name)()


@dataclass(frozen=True, slots=True)
class Expected:
    """What a cell of the folder may hold, and where it stands in the book."""

    where: str
    may_be: tuple[str, ...]


def differences(book: KeptBook, folder: Path, *, settled: str = "") -> list[str]:
    """Every cell of the folder that is not what a careful reader makes of the book.

    Cells whose outcome is ``settled`` must be as they truly are.
    """
    kept = notebook(book.name)
    spoilt = [
        replace(one, may_be=(one.truth,)) if one.outcome == settled else one for one in kept.spoilt
    ]
    return differences_of(replace(kept, spoilt=spoilt), folder)


def differences_of(kept: Any, folder: Path) -> list[str]:
    """Every cell of the folder that is not what may become of a book's cell."""
    return [one for table in kept.tables for one in _of_table(kept, folder, table)]


def _of_table(kept: Any, folder: Path, table: str) -> Iterator[str]:
    path = folder / f"{table}.csv"
    found = read_rows(path) if path.exists() else []
    if table == "scores":
        yield from _of_scores(kept, found)
        return
    wanted = list(_expected_rows(kept, table))
    if len(found) != len(wanted):
        yield f"{table}: {len(found)} rows, not {len(wanted)}"
    for cells, row in _side_by_side(table, wanted, found):
        if row is None:
            yield f"{table}: no row for {cells[KEYS[table][0]]}"
            continue
        for column, expected in cells.items():
            got = row.get(column, "")
            if not _fits(got, expected):
                yield f"{table}: {column} is {got!r}, not {expected.may_be} ({expected.where})"


KEYS: Final[Mapping[str, tuple[str, ...]]] = {
    "birds": ("bird",),
    "pens": ("pen",),
    "moves": ("bird", "moved_in"),
    "eggs": ("first_band",),
    "wishes": ("bird",),
}


def _side_by_side(
    table: str, wanted: list[dict[str, Expected]], found: list[dict[str, str]]
) -> Iterator[tuple[dict[str, Expected], dict[str, str] | None]]:
    """Rows that belong together by what tells the rows of a table apart, each given once."""
    left = list(found)
    for cells in wanted:
        keys = [key for key in KEYS[table] if key in cells]
        fits = [row for row in left if all(_fits(row.get(key, ""), cells[key]) for key in keys)]
        yield cells, fits[0] if fits else None
        left = [row for row in left if not fits or row is not fits[0]]


def _fits(got: str, expected: Expected) -> bool:
    return any(alike(got, one) for one in expected.may_be)


def _expected_rows(book: Any, table: str) -> Iterator[dict[str, Expected]]:
    sheet = book.of(table)
    spoilt = {(id(one.row), one.key): one for one in book.spoilt}
    for row in sheet.taken():
        where = f"{sheet.file} {sheet.page}, row {sheet.number(row)}"
        yield {
            column: _expected(where, truth, spoilt.get((id(row), column)))
            for column, truth in row.clean.items()
            if not column.startswith("+")
        }


def _expected(where: str, truth: str, spoilt: Any) -> Expected:
    if spoilt is None:
        return Expected(where, (truth,))
    return Expected(f"{where}: {spoilt.written!r}, {spoilt.habit}", spoilt.may_be)


def _of_scores(kept: Any, found: list[dict[str, str]]) -> Iterator[str]:
    """Scores are compared bird by bird, for the sheet they come from is not always their own."""
    spoilt = {(id(one.row), one.column): one for one in kept.spoilt if one.table == "scores"}
    rows = [row for sheet in kept.sheets for row in sheet.taken()]
    got = defaultdict(list)
    for row in found:
        for trait, text in row.items():
            if text and trait not in {"bird", "date", "group", "notes"}:
                got[row["bird"].casefold(), _trait(trait)].append(text)
    for row in rows:
        for trait in TRAITS:
            cell = _score_cell(kept, row, trait)
            if cell is not None:
                yield from _of_score(got, cell, spoilt.get((id(row), trait)), trait)


def _score_cell(book: Any, row: Any, trait: str) -> tuple[str, str] | None:
    """The band and the true score in a row, if the row has one of that trait."""
    clean = row.clean
    if clean.get(trait):
        return (clean["bird"], clean[trait])
    if row.cells.get(f"scores.{trait}") is None:
        return None
    beside = next(one for one in book.tables["scores"] if one["bird"] == clean["bird"])
    return (clean["bird"], beside[trait])


def _of_score(
    got: Mapping[tuple[str, str], list[str]], cell: tuple[str, str], spoilt: Any, trait: str
) -> Iterator[str]:
    band, truth = cell
    may_be = spoilt.may_be if spoilt else (truth,)
    texts = [_in_kilograms(text, trait) for text in got.get((band.casefold(), trait), [])]
    if not any(alike(text, one) for text in [*texts, *([] if texts else [""])] for one in may_be):
        where = spoilt.place if spoilt else ""
        yield f"scores: {trait} of {band} is {texts}, not {may_be} ({where})"


def _trait(header: str) -> str:
    """The trait of the script that a header of the folder is about."""
    return next((one for one in TRAITS if one in header.casefold()), header)


def _in_kilograms(text: str, trait: str) -> str:
    """A weight in the script's unit; the folder may hold all of them in grams."""
    number = float(text) if re.fullmatch(r"\d+(\.\d+)?", text) else 0
    return f"{number / 1000:g}" if trait == "weight" and number > 100 else text


def alike(got: str, wanted: str) -> bool:
    """Whether two cells say the same, however they are written."""
    return _plain(got) == _plain(wanted)


def _plain(text: str) -> object:
    text = text.strip().casefold()
    if re.fullmatch(r"\d+(\.\d+)?", text):
        return round(float(text), 2)
    if "|" in text:
        return frozenset(_plain_part(part) for part in text.split("|"))
    return text


def _plain_part(part: str) -> str:
    """A candidate without its weight where all weigh alike, a breed with its share."""
    name, _, weight = part.strip().partition(":")
    return name if weight in {"", "0.5"} else f"{name}:{float(weight):g}"


def write_clean(book: KeptBook, folder: Path) -> Path:
    """Write the clean tables as a flock folder."""
    return _write(book, folder, notebook(book.name).tables)


def write_expected(book: KeptBook, folder: Path) -> Path:
    """Write as a flock folder what is expected first of a reader of the book."""
    kept = notebook(book.name)
    tables = {
        table: [
            {key: one.may_be[0] for key, one in row.items()} for row in _expected_rows(kept, table)
        ]
        for table in KEYS
        if table in kept.tables
    }
    spoilt = {
        (one.row.clean["bird"], one.column): one.may_be[0]
        for one in kept.spoilt
        if one.table == "scores" and one.column
    }
    tables["scores"] = [
        {key: spoilt.get((row["bird"], key), text) if text else "" for key, text in row.items()}
        for row in kept.tables["scores"]
    ]
    return _write(book, folder, tables)


def _write(book: KeptBook, folder: Path, tables: Mapping[str, list[dict[str, str]]]) -> Path:
    folder.mkdir(parents=True)
    settings = f'season = 2027\nrecurrent = "{book.breed}"\ntarget = {{{book.trait} = 2}}\n'
    for table, rows in tables.items():
        names = dict.fromkeys(key for row in rows for key in row)
        cells = [{key.lstrip("+"): row.get(key, "") for key in names} for row in rows]
        write_rows(folder / f"{table}.csv", cells)
        for trait in (key for key in names if table == "scores" and key in TRAITS):
            settings += f'[traits.{trait}]\nweight = "ignore"\n'
    (folder / "matchmaker.toml").write_text(settings, encoding="utf-8")
    return folder
