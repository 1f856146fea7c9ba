"""What a cell looks like, before anybody knows what its column is."""

from __future__ import annotations

import re
from enum import StrEnum
from functools import lru_cache
from typing import Final

from matchmaker.tables.reading import BLANK_WORDS


class Shape(StrEnum):
    """How a cell is written."""

    BLANK = "blank"
    NUMBER = "number"
    YEAR = "year"
    DATE = "date"
    CODE = "code"
    WORD = "word"
    TEXT = "text"


UNITS: Final = frozenset(
    (
        *("kg", "kgs", "kilo", "kilos", "g", "gr", "gm", "gms", "gram", "grams", "lb", "lbs", "oz"),
        *("cm", "mm", "%", "pts", "points", "days", "weeks", "wk", "wks", "eggs"),
    )
)
"""Units that keepers write behind a number."""

LONG: Final = 28
"""A cell with more letters than this is a remark rather than a name."""

_MONTH: Final = (
    r"(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec|january|february|march|april|june|july"
    r"|august|sept|september|october|november|december)\.?"
)
_SEASON: Final = r"(?:(?:early|mid|late|end of) )?(?:spring|summer|autumn|winter|easter)"
_YEAR: Final = re.compile(r"(?:19[5-9]\d|20\d\d|21\d\d)")
_NUMBER: Final = re.compile(r"[+\-\u2212]?(?:\d[\d ',.\u2019]*|[.,]\d+)(?:[eE][+-]?\d+)?\s*(\D*)")
POUNDS: Final = re.compile(
    r"(\d{1,3})\s*(?:lbs?|pounds?)\.?,?\s*(\d{1,2}(?:[.,]\d{1,3})?)\s*(?:ozs?|ounces?)\.?",
    re.IGNORECASE,
)
"""Pounds with ounces behind them."""

_DATE: Final = re.compile(
    r"\d{4}[-/.]\d{1,2}[-/.]\d{1,2}(?:[T ][\d:.]+)?"
    r"|\d{1,2}[-/. ]+\d{1,2}[-/. ]+'?(?:\d{2}|\d{4})\.?"
    rf"|(?:\d{{1,2}}(?:st|nd|rd|th)?[-/. ]*)?{_MONTH}(?:[-/. ,]+'?(?:\d{{4}}|\d{{2}}))?"
    rf"|{_MONTH}[-/. ]+\d{{1,2}}(?:st|nd|rd|th)?[-/. ,]+'?(?:\d{{4}}|\d{{2}})"
    rf"|{_SEASON}(?: (?:of )?'?(?:\d{{4}}|\d{{2}}))?",
    re.IGNORECASE,
)


@lru_cache(maxsize=65_536)
def shape_of(cell: str) -> Shape:
    """Return how a cell is written.

    Examples
    --------
    >>> [shape_of(cell).value for cell in ("2,1 kg", "17/3/24", "2025", "C04", "Old barn")]
    ['number', 'date', 'year', 'code', 'word']
    """
    text = cell.strip()
    if text.casefold() in BLANK_WORDS:
        return Shape.BLANK
    if len(text) <= LONG:
        if _YEAR.fullmatch(text):
            return Shape.YEAR
        if _DATE.fullmatch(text):
            return Shape.DATE
        if _is_number(text):
            return Shape.NUMBER
    return _written(text)


def _written(text: str) -> Shape:
    if len(text) > LONG:
        return Shape.TEXT
    spaced = len(text.split()) > 1
    return Shape.CODE if has_digit(text) and not spaced else Shape.WORD


def _is_number(text: str) -> bool:
    if POUNDS.fullmatch(text):
        return True
    found = _NUMBER.fullmatch(text)
    return found is not None and (not found[1] or found[1].strip(" .").casefold() in UNITS)


def unit_of(cell: str) -> str:
    """Return the unit behind a number, "" where there is none or the cell is no number.

    Examples
    --------
    >>> unit_of("2,1 kg"), unit_of("87.5%"), unit_of("C04")
    ('kg', '%', '')
    >>> unit_of("8 lb 11 oz")
    'lb'
    """
    if len(cell) <= LONG and POUNDS.fullmatch(cell.strip()):
        return "lb"
    found = _NUMBER.fullmatch(cell.strip()) if len(cell) <= LONG else None
    unit = found[1].strip(" .").casefold() if found else ""
    return unit if unit in UNITS else ""


def has_digit(cell: str) -> bool:
    """Whether a figure stands in the cell."""
    return any(letter.isdigit() for letter in cell)


@lru_cache(maxsize=65_536)
def is_label(cell: str) -> bool:
    """Whether a cell could head a column: words, or words with a figure among them.

    Examples
    --------
    >>> is_label("Weight (20 wk)"), is_label("C04"), is_label("17/3/2026"), is_label("spring")
    (True, False, False, True)
    """
    shape = shape_of(cell)
    if shape is Shape.WORD or (shape is Shape.DATE and not has_digit(cell)):
        return True
    if shape is Shape.TEXT:
        return len(cell) <= 2 * LONG
    return shape is Shape.CODE and _words_first(cell)


def _words_first(cell: str) -> bool:
    """Whether a cell with figures is of letters for the most part, as in ``eggs_12wk``."""
    letters = sum(letter.isalpha() for letter in cell)
    return letters >= 3 and letters > sum(letter.isdigit() for letter in cell)
