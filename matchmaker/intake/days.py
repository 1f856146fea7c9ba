"""Days as a keeper wrote them, column by column; what may be two days is asked, not guessed."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from matchmaker.intake.entry import columns_of_kind, with_column
from matchmaker.intake.ledger import Ledger, places_of
from matchmaker.intake.model import Question
from matchmaker.tables.dates import YEARS, read_date
from matchmaker.tables.reading import Hints, is_blank
from matchmaker.tables.schema import Column, Kind

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from matchmaker.intake.entry import Cell, Entry

DAY_FIRST: Final = "day-first"
MONTH_FIRST: Final = "month-first"
THIS_CENTURY: Final = "20.."
LAST_CENTURY: Final = "19.."

_NUMBERS: Final = re.compile(r"(\d{1,2})[-/. ]+(\d{1,2})[-/. ]+(\d{4}|'?\d{2})\.?")
_NAMED: Final = re.compile(
    r"(\d{1,2}(?:st|nd|rd|th)?[-/. ]+[A-Za-z]{3,9}\.?|[A-Za-z]{3,9}\.?[-/. ]+\d{1,2}"
    r"(?:st|nd|rd|th)?)[-/. ,]+'?(\d{2})"
)
_SERIAL: Final = re.compile(r"([2-6]\d{4})(?:\.0+)?")
_ABOUT: Final = re.compile(r"(?:ca\.?|c\.|about|around|approx\.?|~)\s*(?=\d)", re.IGNORECASE)
_REMARK: Final = re.compile(r"(?<=[\d.])\s*[(\[;,]\s*([^()\[\]]*[A-Za-z][^()\[\]]*)[)\]]?$")
_YEAR: Final = re.compile(r"(?<!\d)((?:19|20|21)\d{2})(?!\d)")
_WORDS_YEAR: Final = re.compile(r"[A-Za-z .,]*[A-Za-z]{3,}[ .,]*'?(\d{2})")
_FIRST_DAY: Final = dt.date(1899, 12, 30)
"""Day 0 of a spreadsheet's day numbers, right for all days since March 1900."""


@dataclass(slots=True, kw_only=True)
class _DateColumn:
    """One column of one sheet, and how its days are to be read."""

    table: str
    column: Column
    cells: Sequence[tuple[Entry, Cell]]
    order: str = ""
    century: str = ""
    orders_seen: set[str] = field(default_factory=set)

    @property
    def file(self) -> str:
        return self.cells[0][1].file


def take_days(entries: Sequence[Entry], given_order: str, ledger: Ledger) -> None:
    """Write every day as year-month-day; ``given_order`` ("" if none was given) settles the rest.

    The order of day and month is decided by the column, some of whose numbers may be above 12;
    otherwise it is asked, and what the other columns of the file show is proposed.
    """
    columns = _date_columns(entries)
    for one in columns:
        one.orders_seen = {seen for _, cell in one.cells if (seen := _order_shown(cell.text))}
    for one in columns:
        one.order = _order_of(one, columns, given_order, ledger)
        one.century = _century_of(one, columns, ledger)
        for entry, cell in one.cells:
            _take(one, entry, cell, ledger)


def _date_columns(entries: Iterable[Entry]) -> list[_DateColumn]:
    found: dict[tuple[str, str, str, str], list[tuple[Entry, Cell]]] = {}
    entries = list(entries)
    kinds = columns_of_kind(Kind.DATE, Kind.HATCHED)
    for table, column in kinds:
        for entry, cell in with_column(entries, table, column.name):
            key = (table, column.name, cell.file, cell.sheet)
            found.setdefault(key, []).append((entry, cell))
    declared = {(table, column.name): column for table, column in kinds}
    return [
        _DateColumn(table=key[0], column=declared[key[:2]], cells=cells)
        for key, cells in found.items()
    ]


def _bare(text: str) -> str:
    """A day without what a keeper writes round it."""
    return _REMARK.sub("", _ABOUT.sub("", text)).rstrip("? ").strip()


def _order_shown(text: str) -> str:
    """The order that a day shows by a number above 12; "" where it shows none."""
    matched = _NUMBERS.fullmatch(_bare(text))
    if not matched:
        return ""
    first, second = int(matched[1]), int(matched[2])
    if first > 12 >= second:
        return DAY_FIRST
    return MONTH_FIRST if second > 12 >= first else ""


def _order_of(one: _DateColumn, columns: Iterable[_DateColumn], given: str, ledger: Ledger) -> str:
    """The order by the column's own days, else as given, else asked once for the file."""
    if len(one.orders_seen) == 1:
        return next(iter(one.orders_seen))
    open_cells = [cell for _, cell in one.cells if _either(cell.text)]
    if not open_cells or given in {DAY_FIRST, MONTH_FIRST}:
        return given
    same_file = [other for other in columns if other.file == one.file]
    seen = _seen(same_file) or _seen(columns)
    proposed = next(iter(seen)) if len(seen) == 1 else None
    if not seen and _with_points(same_file):
        proposed = DAY_FIRST  # as with points between (common practice, no source)
    question = Question(
        key=f"order:{one.file}",
        text=f"In {one.file} stands the date {open_cells[0].text}. Is the first number the day or "
        "the month?",
        choices=(DAY_FIRST, MONTH_FIRST),
        proposed=proposed,
        places=places_of(open_cells),
    )
    return ledger.ask(question) or ""


def _seen(columns: Iterable[_DateColumn]) -> set[str]:
    return set[str]().union(*(one.orders_seen for one in columns))


def _with_points(columns: Iterable[_DateColumn]) -> bool:
    unclear = [cell.text for one in columns for _, cell in one.cells if _either(cell.text)]
    return all("." in text for text in unclear)


def _either(text: str) -> bool:
    """Whether a day may be read in two ways, as two different days."""
    matched = _NUMBERS.fullmatch(_bare(text))
    if not matched:
        return False
    first, second = int(matched[1]), int(matched[2])
    return max(first, second) <= 12 and first != second


def _century_of(one: _DateColumn, columns: Iterable[_DateColumn], ledger: Ledger) -> str:
    short = {cell: year for _, cell in one.cells if (year := _short_year(cell.text)) is not None}
    if not short:
        return ""
    same_file = [cell for other in columns if other.file == one.file for _, cell in other.cells]
    question = Question(
        key=f"century:{one.file}",
        text=f"In {one.file} stands {next(iter(short)).text}, a year of two figures. Are such "
        "years 20.. or 19..?",
        choices=(THIS_CENTURY, LAST_CENTURY),
        proposed=_likely_century(same_file),
        places=places_of(short),
    )
    return ledger.ask(question) or ""


def _short_year(text: str) -> int | None:
    bare = _bare(text)
    matched = _NUMBERS.fullmatch(bare)
    named = _NAMED.fullmatch(bare) or _WORDS_YEAR.fullmatch(bare)
    year = matched[3] if matched else (named[named.re.groups] if named else "")
    year = year.removeprefix("'")
    return int(year) if len(year) == 2 else None


def _likely_century(cells: Sequence[Cell]) -> str | None:
    """20.. where the file's other years are so, or where 19.. would be before any living book."""
    short = [year for cell in cells if (year := _short_year(cell.text)) is not None]
    if all(1900 + year not in YEARS for year in short):
        return THIS_CENTURY
    full = [int(year) for cell in cells for year in _YEAR.findall(cell.text)]
    return THIS_CENTURY if full and min(full) >= 2000 else None


def _take(one: _DateColumn, entry: Entry, cell: Cell, ledger: Ledger) -> None:
    name, hatched = one.column.name, one.column.kind is Kind.HATCHED
    if is_blank(cell.text):
        ledger.change(one.table, name, cell, "")
        return
    day = _day(one, _bare(cell.text))
    if day is not None:
        _take_day(one, entry, cell, day, ledger)
        return
    year = _year_alone(cell.text, one.century) if hatched else None
    if year is None:
        _leave(one, cell, ledger)
        return
    entry.values[name] = year
    if cell.text != year:
        ledger.change(one.table, name, cell, year)
        ledger.doubt(
            "only-the-year",
            cell,
            f"{cell.text} names no day, so only the year {year} was taken",
            "write the day if you know it",
        )


def _take_day(one: _DateColumn, entry: Entry, cell: Cell, day: dt.date, ledger: Ledger) -> None:
    name = one.column.name
    entry.values[name] = day.isoformat()
    ledger.change(one.table, name, cell, day.isoformat())
    remark = _REMARK.search(cell.text)
    if remark:
        entry.notes.append(f"{cell.header}: {remark[1].strip()}")
    if _ABOUT.match(cell.text) or cell.text.rstrip().endswith("?"):
        ledger.doubt(
            "day-not-sure",
            cell,
            f"{cell.text} was taken as {day}, though you were not sure of it",
            "write the day if you know it, or the year alone",
        )


def _day(one: _DateColumn, text: str) -> dt.date | None:
    """The day a text names under the column's order and century; ``None`` where that is open."""
    serial = _SERIAL.fullmatch(text)
    if serial:
        return _FIRST_DAY + dt.timedelta(days=int(serial[1]))
    text = _with_century(text, one.century)
    order = one.order or _order_shown(text) or ("" if _either(text) else DAY_FIRST)
    value = read_date(text, Hints(dates=order)).value if order else None
    if not order and not _NUMBERS.fullmatch(text):
        value = read_date(text, Hints(dates="iso")).value
    return value if isinstance(value, dt.date) else None


def _with_century(text: str, century: str) -> str:
    matched = _NUMBERS.fullmatch(text)
    if matched and len(matched[3].removeprefix("'")) == 2 and century:
        return f"{matched[1]}/{matched[2]}/{century[:2]}{matched[3].removeprefix(chr(39))}"
    named = _NAMED.fullmatch(text)
    if named and century:
        return f"{named[1]} {century[:2]}{named[2]}"
    return text


def _year_alone(text: str, century: str) -> str | None:
    """The one year in a text that names no day (spring 2024, Easter 2024, March 24)."""
    short = _WORDS_YEAR.fullmatch(text)
    if short and century:
        return f"{century[:2]}{short[1]}"
    years = set(_YEAR.findall(text))
    rest = _YEAR.sub("", text)
    return years.pop() if len(years) == 1 and not re.search(r"\d", rest) else None


def _leave(one: _DateColumn, cell: Cell, ledger: Ledger) -> None:
    if _either(cell.text) and not one.order:
        problem = f"{cell.text} may be two days, and nothing says which number is the day"
        mend = "answer the question about this column, or give --dates day-first or month-first"
    elif _short_year(cell.text) is not None and not one.century:
        problem = f"{cell.text} has a year of two figures"
        mend = "answer the question about this column"
    else:
        problem = f"{cell.text} is no day that can be told"
        mend = "write the day as 2026-03-17"
    ledger.leave_in_doubt("day-not-read", cell, problem, mend)
