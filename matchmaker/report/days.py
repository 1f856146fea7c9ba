"""Days in words, as one says them in the coop."""

from __future__ import annotations

import datetime as dt

MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)


WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def day_text(day: dt.date) -> str:
    """A day without its year.

    Examples
    --------
    >>> import datetime as dt
    >>> day_text(dt.date(2027, 4, 3))
    '3 April'
    """
    return f"{day.day} {MONTHS[day.month - 1]}"


def whole_day(day: dt.date) -> str:
    """A day with its year.

    Examples
    --------
    >>> import datetime as dt
    >>> whole_day(dt.date(2027, 9, 10))
    '10 September 2027'
    """
    return f"{day_text(day)} {day.year}"


def weekday_text(day: dt.date, season: int) -> str:
    """A day with its weekday, and the year where it is not that of the season.

    Examples
    --------
    >>> import datetime as dt
    >>> weekday_text(dt.date(2027, 2, 15), 2027), weekday_text(dt.date(2028, 1, 1), 2027)
    ('Mon 15 February', 'Sat 1 January 2028')
    """
    year = "" if day.year == season else f" {day.year}"
    return f"{WEEKDAYS[day.weekday()]} {day_text(day)}{year}"


def day_of_fact(text: str) -> str:
    """A day that a rule's facts hold as text.

    Examples
    --------
    >>> day_of_fact("2027-02-20")
    '20 February 2027'
    """
    return whole_day(dt.date.fromisoformat(text))


def span_text(first: dt.date, last: dt.date) -> str:
    """Some days, both counted.

    Examples
    --------
    >>> import datetime as dt
    >>> span_text(dt.date(2027, 4, 4), dt.date(2027, 4, 9))
    '4 to 9 April'
    >>> span_text(dt.date(2027, 3, 28), dt.date(2027, 4, 9))
    '28 March to 9 April'
    """
    if first == last:
        return day_text(first)
    if (first.year, first.month) == (last.year, last.month):
        return f"{first.day} to {day_text(last)}"
    return f"{day_text(first)} to {day_text(last)}"


def short_day(day: dt.date) -> str:
    """A day for a narrow column: February and January cut short.

    Examples
    --------
    >>> import datetime as dt
    >>> short_day(dt.date(2027, 2, 15)), short_day(dt.date(2027, 3, 1))
    ('15 Feb', '1 March')
    """
    return _short(day_text(day))


def short_span(first: dt.date, last: dt.date) -> str:
    """Some days, both counted, for a narrow column.

    Examples
    --------
    >>> import datetime as dt
    >>> short_span(dt.date(2027, 1, 25), dt.date(2027, 2, 2))
    '25 Jan to 2 Feb'
    """
    return _short(span_text(first, last))


def _short(text: str) -> str:
    return text.replace("ruary", "").replace("uary", "")
