"""Faults on the screen: those alike together, and causes before what they lead to."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

from rich.console import Console

from matchmaker.errors import Fault
from matchmaker.report.finding_words import place_text
from matchmaker.report.terminal import print_faults

if TYPE_CHECKING:
    from collections.abc import Iterable


def fault(row: int, *, file: str = "birds.csv", value: str = "zz") -> Fault:
    return Fault(
        kind="unknown-class",
        file=file,
        row=row,
        column="lav",
        value=value,
        problem="it says nothing",
        mend="write yes",
    )


def screen(faults: Iterable[Fault]) -> list[str]:
    stream = io.StringIO()
    print_faults(Console(file=stream, width=100), faults, "fault", "must be mended")
    return stream.getvalue().splitlines()


def test_faults_alike_but_for_the_row_are_printed_once_and_all_counted() -> None:
    assert screen([fault(3), fault(5), fault(9, value="yy")]) == [
        "3 faults (must be mended):",
        '  birds.csv, rows 3, 5, column lav "zz": it says nothing',
        "      → write yes",
        '  birds.csv, row 9, column lav "yy": it says nothing',
        "      → write yes",
        "",
    ]


def test_of_many_rows_some_are_named_and_the_others_counted() -> None:
    told = place_text(*(fault(row) for row in range(2, 12)))
    assert told == 'birds.csv, rows 2, 3, 4, 5, 6, 7 and 4 more, column lav "zz"'


def test_the_settings_come_first_and_have_keys() -> None:
    lines = screen([fault(3), fault(60, file="matchmaker.toml")])
    assert lines[1].startswith("  matchmaker.toml, row 60, key lav")
    assert lines[3].startswith("  birds.csv, row 3, column lav")
