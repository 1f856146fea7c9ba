"""Columns of fixed words, what was seen of loci, and what is taken as it stands."""

from __future__ import annotations

import difflib
import re
from collections import defaultdict
from typing import TYPE_CHECKING, Final

from matchmaker.intake.entry import column_of, columns_of_kind, with_column
from matchmaker.intake.ledger import NO, OPEN, YES, Ledger, places_of
from matchmaker.intake.model import Question
from matchmaker.tables.cells import (
    HOW_WORDS,
    PURPOSE_WORDS,
    SEX_WORDS,
    STATUS_WORDS,
    WISH_WORDS,
    YES_WORDS,
    read_cell,
)
from matchmaker.tables.reading import Hints, is_blank
from matchmaker.tables.schema import Column, Kind

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from matchmaker.intake.entry import Cell, Entry

UNKNOWN: Final = "not known"

_KNOWN: Final[Mapping[Kind, Mapping[str, str]]] = {
    Kind.SEX: {word: str(sex or UNKNOWN) for word, sex in SEX_WORDS.items()},
    Kind.STATUS: {word: str(status) for word, status in STATUS_WORDS.items()},
    Kind.YES_NO: {word: YES if yes else NO for word, yes in YES_WORDS.items()},
    Kind.WISH: WISH_WORDS,
    Kind.PURPOSE: PURPOSE_WORDS,
    Kind.HOW: HOW_WORDS,
}
"""What the words of each kind of column say, in the words that our tables use."""

_NEAR: Final = 0.75
_DOUBTED: Final = re.compile(r"(.*\w)\s*\?+")


def take_words(entries: Sequence[Entry], ledger: Ledger) -> None:
    """Write every word of sex, status, wish and the like as our tables have it.

    A word nobody knows is asked for, once however often it stands there.
    """
    for table, column in columns_of_kind(*_KNOWN):
        alike: dict[str, list[tuple[Entry, Cell]]] = defaultdict(list)
        for entry, cell in with_column(entries, table, column.name):
            alike[" ".join(cell.text.casefold().split())].append((entry, cell))
        for word, cells in alike.items():
            _take_alike(table, column, word, cells, ledger)


def _take_alike(
    table: str, column: Column, word: str, cells: Sequence[tuple[Entry, Cell]], ledger: Ledger
) -> None:
    said = _meaning(table, column, word, [cell for _, cell in cells], ledger)
    for entry, cell in cells:
        if said is None:
            problem = f"{cell.text} says nothing that the column {column.name} can hold"
            ledger.leave_in_doubt("word-not-known", cell, problem, f"write {column.meaning}")
            continue
        value = "" if said == UNKNOWN else said
        entry.values[column.name] = value
        if len(word.split()) > 1 and word not in _KNOWN[column.kind]:
            entry.notes.append(f"{cell.header}: {cell.text}")
        ledger.change(table, column.name, cell, value)


def _meaning(
    table: str, column: Column, word: str, cells: Sequence[Cell], ledger: Ledger
) -> str | None:
    """What a word says, in our tables' words; ``None`` where nothing may be taken."""
    known = _KNOWN[column.kind]
    if is_blank(word):
        return UNKNOWN
    if word in known:
        return known[word]
    doubted = _DOUBTED.fullmatch(word)
    if doubted and column.kind is Kind.SEX and doubted[1] in known:
        for cell in cells:
            mend = "write cock or hen once it can be told"
            ledger.doubt(
                "sex-not-sure", cell, f"{cell.text} is not sure, so no sex was taken", mend
            )
        return UNKNOWN
    near = difflib.get_close_matches(word, known, n=1, cutoff=_NEAR)
    proposed = known[near[0]] if near else _leading(word, known, column)
    choices = tuple(
        dict.fromkeys([*known.values(), *([] if UNKNOWN in known.values() else [OPEN])])
    )
    answer = ledger.ask(
        Question(
            key=f"word:{table}.{column.name}:{word}",
            text=f'What does "{cells[0].text}" in the column {cells[0].header} say?',
            choices=choices,
            proposed=proposed,
            places=places_of(cells),
        )
    )
    return None if answer == OPEN else answer


_LIKELY: Final[Mapping[str, str]] = {
    **dict.fromkeys(
        ("here", "yes", "ok", "well", "in the yard", "laying", "still here"), "breeder"
    ),
    **dict.fromkeys(("eaten", "pot", "table", "killed", "butchered", "in the pot"), "culled"),
    **dict.fromkeys(
        (
            *("fox", "hawk", "dog", "marten", "badger", "stoat", "mink", "rat", "found dead"),
            *("predator", "ill, died", "old age", "no"),
        ),
        "dead",
    ),
    **dict.fromkeys(("given", "gone", "went", "to"), "sold"),
}
"""What words for a bird's state are likely to mean: only ever proposed."""


_NO_LONGER: Final = re.compile(r"(?:no longer|not here|no)\b[\s,.:;(/–-]*")
"""What may stand before the reason why a bird is no longer there."""


def _leading(word: str, known: Mapping[str, str], column: Column) -> str | None:
    """What the words that a text begins with are likely to say, the longest first."""
    likely = {**known, **(_LIKELY if column.kind is Kind.STATUS else {})}
    why = _NO_LONGER.sub("", word) if column.kind is Kind.STATUS else word
    if why and why != word:
        return _leading(why, known, column) or likely["no"]
    for start in sorted(likely, key=len, reverse=True):
        if len(start) > 1 and re.match(rf"{re.escape(start)}(?!\w)", word):
            return likely[start]
    return None


Looks = tuple["Callable[[str, str], bool]", "Callable[[str], Sequence[str]]"]
"""Whether a word tells what a locus shows, and which words do."""


def take_loci(entries: Sequence[Entry], looks: Looks, ledger: Ledger) -> list[str]:
    """Take what was seen of loci; return their symbols."""
    rows = [entry for entry in entries if entry.table == "birds"]
    symbols = dict.fromkeys(
        name for entry in rows for name in entry.cells if column_of("birds", name) is None
    )
    for symbol in symbols:
        for entry, cell in with_column(rows, "birds", symbol):
            value = _look(symbol, cell, looks, ledger)
            if value is None:
                problem = f"{cell.text} is no word for what {symbol} shows"
                mend = f"write a word that matchmaker loci {symbol} names"
                ledger.leave_in_doubt("look-not-known", cell, problem, mend)
            else:
                entry.values[symbol] = value
                ledger.change("birds", symbol, cell, value)
    return list(symbols)


def _look(symbol: str, cell: Cell, looks: Looks, ledger: Ledger) -> str | None:
    """What was seen, in words that are known; ``None`` where nothing may be taken."""
    reads, words = looks
    if is_blank(cell.text):
        return ""
    if reads(symbol, cell.text):
        return cell.text
    if cell.text.endswith("?") and reads(symbol, cell.text.rstrip("? ")):
        mend = "write it without the question mark once it is sure"
        ledger.doubt("look-not-sure", cell, f"{cell.text} is not sure, so it was not taken", mend)
        return ""
    known = words(symbol)
    near = difflib.get_close_matches(cell.text.casefold(), known, n=1, cutoff=0.6)
    answer = ledger.ask(
        Question(
            key=f"look:{symbol}:{cell.text.casefold()}",
            text=f'What was seen, where "{cell.text}" stands in the column {cell.header} '
            f"({symbol})? Write {', '.join([*known, 'yes, no, carrier'])}, or nothing",
            proposed=near[0] if near else None,
            places=(cell.place,),
        )
    )
    return answer if answer and reads(symbol, answer) else None


def take_the_rest(entries: Sequence[Entry], ledger: Ledger) -> None:
    """Take free text, classes seen and the like where the reader of tables takes them."""
    kinds = (Kind.TEXT, Kind.DEFECTS, Kind.CLASSES, Kind.BAND_RANGE, Kind.NAME)
    for table, column in columns_of_kind(*kinds):
        for entry, cell in with_column(entries, table, column.name):
            if column.name in entry.values:
                continue
            issue = read_cell(cell.text, column, Hints()).issue
            if issue is None:
                entry.values[column.name] = cell.text
            else:
                ledger.leave_in_doubt(issue.kind, cell, issue.problem, issue.mend)
