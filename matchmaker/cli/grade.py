"""The grade command: keep, let go or wait, for every young bird; nothing is written."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker import verbs
from matchmaker.cli.output import day_or_today
from matchmaker.cli.streams import note
from matchmaker.cli.watching import watched
from matchmaker.grade.rounds import SEARCHED_PAIRS
from matchmaker.report.grade import print_grading
from matchmaker.report.grade_document import grading_document, grading_sheet

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.cli.output import Output

PATIENCE: Final = 1.5
"""Seconds of search for what birds are worth, unless ``--thorough``; no verdict hangs on it."""

LONGER: Final = 6.0
"""The same where more than ``SEARCHED_PAIRS`` are allowed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What was asked for."""

    on: str
    factor: float
    thorough: bool
    output: Output


def run_grade(folder: Path, asked: Asked) -> None:
    """Grade the young birds of a folder's flock and show the grading.

    Raises
    ------
    UsageError
        If the day is no day, or far from the season.
    """
    table = verbs.pairs(folder)
    day = day_or_today(table.study.flock, asked.on, "put with --on")
    few = len(table.allowed) <= SEARCHED_PAIRS
    patience = None if asked.thorough else PATIENCE if few else LONGER
    with watched() as watch:
        grading = verbs.grade(table, day, factor=asked.factor, patience=patience, watch=watch)
    asked.output.show(
        lambda console: print_grading(console, grading),
        lambda: grading_document(grading),
        lambda: grading_sheet(grading),
    )
    note("Nothing is written to your tables: what became of a bird is yours to write down.")
