"""Dates as keepers write them: ISO always, others by a stated order, nothing guessed."""

from __future__ import annotations

import datetime as dt
import re
from typing import Final

from matchmaker.tables.reading import Hints, Reading, doubted, refused

YEAR_ONLY: Final = (5, 1)
"""Month and day that stand for a year alone: the middle of the hatching season (common practice,
no source)."""

YEARS: Final = range(1950, 2201)

_ISO: Final = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})(?:[T ]\d{1,2}:\d{2}(?::\d{2})?)?")
_YEAR_FIRST: Final = re.compile(r"(\d{4})[/.](\d{1,2})[/.](\d{1,2})")
_NUMBERS: Final = re.compile(r"(\d{1,2})[-/. ]+(\d{1,2})[-/. ]+(\d{4})\.?")
_SHORT_YEAR: Final = re.compile(r"\d{1,2}[-/. ]+(\d{1,2}|[A-Za-z]{3,9}\.?)[-/. ,]+'?\d{2}")
_DAY_NAME: Final = re.compile(r"(\d{1,2})(?:st|nd|rd|th)?[-/. ]+([A-Za-z]{3,9})\.?[-/. ,]+(\d{4})")
_NAME_DAY: Final = re.compile(r"([A-Za-z]{3,9})\.?[-/. ]+(\d{1,2})(?:st|nd|rd|th)?[-/. ,]+(\d{4})")
_SERIAL: Final = re.compile(r"[2-9]\d{4}")

_MONTHS: Final = (
    *("january", "february", "march", "april", "may", "june"),
    *("july", "august", "september", "october", "november", "december"),
)
_WRITE_ISO: Final = "write the date as year-month-day, for example 2026-03-17"


def read_date(text: str, hints: Hints) -> Reading:
    """Return the day that a cell names.

    Examples
    --------
    >>> read_date("17/3/2026", Hints(dates="day-first")).value
    datetime.date(2026, 3, 17)
    """
    iso = _ISO.fullmatch(text) or _YEAR_FIRST.fullmatch(text)
    if iso:
        return _made(text, *(int(part) for part in iso.groups()[:3]))
    numbers = _NUMBERS.fullmatch(text)
    if numbers:
        return _ordered(text, numbers, hints)
    return _with_month_name(text) or _not_a_date(text)


def read_hatched(text: str, hints: Hints) -> Reading:
    """Return the day of hatching and whether only its year is written, as ``(day, year_only)``."""
    year_only = re.fullmatch(r"\d{4}", text) is not None
    if year_only and int(text) not in YEARS:
        return _strange_year(text)
    reading = Reading(dt.date(int(text), *YEAR_ONLY)) if year_only else read_date(text, hints)
    day = reading.value
    if not isinstance(day, dt.date):
        return reading
    if hints.season_end is not None and day > hints.season_end:
        return refused(
            "future-date",
            f"{text} is after the season {hints.season} ends",
            "mend the date, or the season in matchmaker.toml",
        )
    return Reading((day, year_only), reading.issue)


def _made(text: str, year: int, month: int, day: int) -> Reading:
    if year not in YEARS:
        return _strange_year(text)
    made = _day(year, month, day)
    if made is None:
        return refused("impossible-date", f"there is no day {text}", _WRITE_ISO)
    return Reading(made)


def _day(year: int, month: int, day: int) -> dt.date | None:
    try:
        return dt.date(year, month, day)
    except ValueError:
        return None


def _strange_year(text: str) -> Reading:
    return refused(
        "strange-year", f"{text} is not in a year that a living flock's books reach", _WRITE_ISO
    )


def _ordered(text: str, numbers: re.Match[str], hints: Hints) -> Reading:
    first, second, year = (int(part) for part in numbers.groups())
    if year not in YEARS:
        return _strange_year(text)
    if hints.dates == "iso":
        return _by_its_only_reading(text, _day(year, second, first), _day(year, first, second))
    day, month = (first, second) if hints.dates == "day-first" else (second, first)
    made = _day(year, month, day)
    if made is not None:
        return Reading(made)
    return refused(
        "impossible-date",
        f"{text} is no day when read {hints.dates}",
        "mend the date, or write it as year-month-day",
    )


def _by_its_only_reading(text: str, by_day: dt.date | None, by_month: dt.date | None) -> Reading:
    readings = sorted({day for day in (by_day, by_month) if day is not None})
    if not readings:
        return refused("impossible-date", f"there is no day {text}", _WRITE_ISO)
    if len(readings) == 2:
        return refused(
            "ambiguous-date",
            f"{text} may be {readings[0]} or {readings[1]}",
            'write dates = "day-first" or dates = "month-first" in matchmaker.toml',
        )
    return doubted(
        readings[0],
        "date-form",
        f"{text} was read as {readings[0]}, its only possible reading",
        'write it as year-month-day, or set dates = "day-first" or "month-first"',
    )


def _with_month_name(text: str) -> Reading | None:
    by_day, by_name = _DAY_NAME.fullmatch(text), _NAME_DAY.fullmatch(text)
    if by_day:
        day, name, year = by_day.groups()
    elif by_name:
        name, day, year = by_name.groups()
    else:
        return None
    months = [at for at, month in enumerate(_MONTHS, 1) if _names_month(name, month)]
    return _made(text, int(year), months[0], int(day)) if months else None


def _names_month(name: str, month: str) -> bool:
    return month.startswith("sep" if name.casefold() == "sept" else name.casefold())


def _not_a_date(text: str) -> Reading:
    if _SHORT_YEAR.fullmatch(text):
        return refused("two-digit-year", f"{text} has a year of two digits", _WRITE_ISO)
    if _SERIAL.fullmatch(text):
        day = dt.date(1899, 12, 30) + dt.timedelta(days=int(text))
        return refused(
            "date-as-number",
            f"{text} looks like a spreadsheet's day number ({day})",
            "show the column as dates in the spreadsheet and save again",
        )
    return refused("bad-date", f"{text} is not a date", _WRITE_ISO)


def years_on(day: dt.date, years: int) -> dt.date:
    """The same day so many years on; of 29 February the 28th where there is none.

    Examples
    --------
    >>> import datetime as dt
    >>> years_on(dt.date(2028, 2, 29), 1)
    datetime.date(2029, 2, 28)
    """
    year = day.year + years
    leap = year % 4 == 0 and (year % 100 != 0 or year % 400 == 0)
    if (day.month, day.day) == (2, 29) and not leap:
        return day.replace(year=year, day=28)
    return day.replace(year=year)
