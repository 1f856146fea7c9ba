"""Tables that never lose a band: whole if the screen is wide enough, else as records."""

from __future__ import annotations

import os
import re
import sys
from textwrap import fill
from typing import IO, TYPE_CHECKING

from rich import box
from rich.console import Console
from rich.table import Table
from rich.text import Text

from matchmaker.report.columns import Column

if TYPE_CHECKING:
    from collections.abc import Sequence

PIPED_WIDTH = 80
"""Columns assumed where the output is no terminal and ``COLUMNS`` is not set."""


GAP = 2
"""Spaces between columns."""

LEAST_SENTENCE = 24
"""A column of sentences narrower than this is no longer readable."""

__all__ = ["Column", "console_for", "name_wrapped", "print_rows", "say"]

HEADED = box.Box("    \n    \n ── \n    \n    \n    \n    \n    \n")
"""A line under the heading and nothing else."""


def console_for(stream: IO[str] | None = None) -> Console:
    """A console on standard output, 80 columns wide where that is no terminal."""
    stream = stream or sys.stdout
    return Console(
        file=stream,
        width=None if stream.isatty() else _told_width(),
        highlight=False,
        markup=False,
        emoji=False,
        soft_wrap=False,
        color_system=None if os.environ.get("NO_COLOR") else "auto",  # then no bold either
    )


def _told_width() -> int:
    """The width that ``COLUMNS`` tells, if it is a number that makes sense."""
    told = os.environ.get("COLUMNS", "")
    return int(told) if told.isdecimal() and int(told) > 0 else PIPED_WIDTH


def print_rows(console: Console, columns: Sequence[Column], rows: Sequence[Sequence[str]]) -> None:
    """Print rows as a table if it fits the width, else as records; no cell is ever cut."""
    whole, rows = rows, _names_wrapped(columns, rows, console.width)
    room = console.width - _width(columns, rows)
    sentences = sum(column.sentence for column in columns)
    if room < sentences * LEAST_SENTENCE:
        _print_records(console, columns, whole)
    else:
        console.print(_table(columns, rows, room // sentences if sentences else 0))


def _names_wrapped(
    columns: Sequence[Column], rows: Sequence[Sequence[str]], width: int
) -> Sequence[Sequence[str]]:
    """The rows with the cells of the first column of names as narrow as the width asks for."""
    at = next((at for at, column in enumerate(columns) if column.name), None)
    over = _width(columns, rows) - width
    if at is None or over <= 0:
        return rows
    room = max(len(row[at]) for row in rows) - over
    return [[*row[:at], name_wrapped(row[at], room), *row[at + 1 :]] for row in rows]


def name_wrapped(name: str, width: int) -> str:
    r"""A name on lines of at most ``width``, broken at blanks and after ``_``, ``-`` and ``/``.

    What has no such place stays whole, even if it is longer.

    Examples
    --------
    >>> name_wrapped("Eggs in 12 weeks", 11), name_wrapped("weight_20wk", 8)
    ('Eggs in 12\nweeks', 'weight_\n20wk')
    """
    lines = [""]
    for piece in re.findall(r"[^\s_/-]*[\s_/-]|[^\s_/-]+", name):
        if lines[-1] and len((lines[-1] + piece).rstrip()) > width:
            lines.append("")
        lines[-1] += piece
    return "\n".join(line.rstrip() for line in lines)


def _width(columns: Sequence[Column], rows: Sequence[Sequence[str]]) -> int:
    """Columns of the terminal that all but the sentences take, with the gaps between."""
    widest = [
        max(
            len(line)
            for cell in (column.heading, *(row[at] for row in rows))
            for line in cell.split("\n")
        )
        for at, column in enumerate(columns)
        if not column.sentence
    ]
    return sum(widest) + GAP * (len(columns) - 1)


def _table(columns: Sequence[Column], rows: Sequence[Sequence[str]], room: int) -> Table:
    table = Table(
        box=HEADED, show_edge=False, pad_edge=False, padding=(0, GAP - 1, 0, 0), header_style="bold"
    )
    for column in columns:
        table.add_column(
            Text(column.heading),
            justify="right" if column.number else "left",
            no_wrap=not column.sentence,
            max_width=room if column.sentence else None,
        )
    for row in rows:
        table.add_row(*(Text(cell) for cell in row))
    return table


def _print_records(
    console: Console, columns: Sequence[Column], rows: Sequence[Sequence[str]]
) -> None:
    """Each row as one paragraph, short cells behind each other and each sentence on a new line."""
    for row in rows:
        short: list[str] = []
        for column, cell in zip(columns, row, strict=True):
            if column.sentence and cell:
                _say_short(console, short)
                short = []
                say(console, f"{column.heading}: {cell}")
            elif cell:
                short.append(f"{column.heading}:\u00a0{cell}")
        _say_short(console, short)
        console.print()


def _say_short(console: Console, cells: Sequence[str]) -> None:
    if cells:
        say(console, "; ".join(cells))


def say(console: Console, text: str, *, style: str = "", indent: int = 0) -> None:
    """Print a sentence, wrapped at words; what is longer than the width is left whole.

    A number stays on one line with its percent sign; any other no-break space holds too.
    """
    wrapped = fill(
        text.replace(" %", "\u00a0%"),
        width=max(console.width, 20),
        initial_indent=" " * indent,
        subsequent_indent=" " * (indent + 2),
        break_long_words=False,
        break_on_hyphens=False,
    )
    wrapped = wrapped.replace("\u00a0", " ")
    console.print(Text(wrapped, style=style), crop=False, overflow="ignore", no_wrap=True)
