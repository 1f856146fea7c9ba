"""Delimited text (CSV): its bytes, its separator and its rows."""

from __future__ import annotations

import csv
import io
from collections import Counter
from itertools import islice
from typing import TYPE_CHECKING, Final

from matchmaker.errors import Fault
from matchmaker.tables.schema import Table, known_headers

if TYPE_CHECKING:
    from collections.abc import Callable

    from matchmaker.tables.findings import Findings

SEPARATORS: Final = (",", ";", "\t")

HEADER_WITHIN: Final = 30
"""A header is looked for in this many first rows."""

_MARKS: Final = ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"))

NumberedRows = list[tuple[int, list[str]]]


def delimited_rows(
    file: str, content: bytes, table: Table, findings: Findings
) -> NumberedRows | None:
    """Return the rows of a CSV file with their numbers, counted as a spreadsheet counts them.

    A quoted cell may hold line breaks; it still makes one row. A first line ``sep=;`` names the
    separator and is not counted, as spreadsheets do not show it. A row that cannot be read ends
    the table with a fault; the rows before it are kept.
    """
    text = _text(file, content, findings)
    if text is None:
        return None
    named, body = _named_separator(text)
    separator = named or max(SEPARATORS, key=lambda mark: _known(body, mark, table))
    rows, error = _parsed(body, separator)
    if error is not None:
        findings.faults.append(_broken_row(file, len(rows) + 1, error))
    return list(enumerate(rows, start=1))


def delimited_grid(
    file: str, content: bytes, known: Callable[[list[str]], int], findings: Findings
) -> NumberedRows | None:
    """Return the rows of delimited text of which nobody knows yet what table it is.

    The separator is the one that shows the most known header words (``known`` counts them in a
    row), then the one that parts the most rows alike.
    """
    text = _text(file, content, findings)
    if text is None:
        return None
    named, body = _named_separator(text)
    separator = named or max(
        (*SEPARATORS, "|"), key=lambda mark: _alike(_parsed(body, mark, HEADER_WITHIN)[0], known)
    )
    rows, error = _parsed(body, separator)
    if error is not None:
        findings.faults.append(_broken_row(file, len(rows) + 1, error))
    return list(enumerate(rows, start=1))


def _alike(rows: list[list[str]], known: Callable[[list[str]], int]) -> tuple[int, int, int]:
    """Return how well a separator parts these rows: known words, rows alike, their width."""
    widths = Counter(len(row) for row in rows if len(row) > 1)
    width, alike = max(widths.items(), key=lambda item: (item[1], item[0]), default=(0, 0))
    return max(map(known, rows), default=0), alike, width


def _text(file: str, content: bytes, findings: Findings) -> str | None:
    mark = next((name for start, name in _MARKS if content.startswith(start)), None)
    try:
        text = _decoded(file, content, mark, findings)
    except UnicodeDecodeError:
        text = "\0"
    if "\0" not in text:
        return text
    findings.faults.append(
        Fault(
            kind="unreadable-file",
            file=file,
            problem="this is not text in a form a table can have",
            mend='save it again as "CSV UTF-8"',
        )
    )
    return None


def _decoded(file: str, content: bytes, mark: str | None, findings: Findings) -> str:
    if mark is not None:
        return content.decode(mark)
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError as error:
        text = content.decode("cp1252")
        line = content.count(b"\n", 0, error.start) + 1
        findings.doubts.append(_old_letters(file, line))
        return text


def _old_letters(file: str, line: int) -> Fault:
    return Fault(
        kind="old-encoding",
        file=file,
        problem=f"the letters are not UTF-8 (first in line {line}) and were read as Windows-1252",
        mend='look at names with accents; save the table as "CSV UTF-8" to be sure',
    )


def _named_separator(text: str) -> tuple[str | None, str]:
    first, _, rest = text.partition("\n")
    first = first.strip("\r").strip('"')
    if first.lower().startswith("sep=") and len(first) == len("sep=;") and first[-1] not in '\r"':
        return first[-1], rest
    return None, text


def _parsed(
    text: str, separator: str, most: int | None = None
) -> tuple[list[list[str]], csv.Error | None]:
    """Return the rows that can be read and what stopped the reading, if anything did."""
    rows: list[list[str]] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    try:
        for row in islice(reader, most):
            rows.append(row)  # noqa: PERF402  a broken row must not lose those before it
    except csv.Error as error:
        return rows, error
    return rows, None


def _known(text: str, separator: str, table: Table) -> int:
    head, _ = _parsed(text, separator, HEADER_WITHIN)
    return max((known_headers(table, row) for row in head), default=0)


def _broken_row(file: str, row: int, error: csv.Error) -> Fault:
    quotes = "limit" not in str(error)
    return Fault(
        kind="broken-row",
        file=file,
        row=row,
        problem="a quotation mark is out of place, so this row and those after it cannot be told "
        "apart"
        if quotes
        else "a cell of this row is far too long; the rows after it were not read",
        mend='open the file in a spreadsheet and save it again, or mend the " marks by hand',
    )
