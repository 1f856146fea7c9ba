"""The grade command: keep, let go or wait, for every young bird; nothing is written."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker import verbs
from matchmaker.cli.output import show
from matchmaker.cli.streams import note
from matchmaker.cli.watching import watched
from matchmaker.grade.rounds import SEARCHED_PAIRS
from matchmaker.report.grade import print_grading
from matchmaker.report.grade_document import grading_document, grading_sheet
from matchmaker.tables.asked import day_asked

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.flock.flock import Flock

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
    json: bool
    csv: Path | None
    force: bool


def run_grade(folder: Path, asked: Asked) -> None:
    """Grade the young birds of a folder's flock and show the grading.

    Raises
    ------
    UsageError
        If the day is no day, or far from the season.
    """
    table = verbs.pairs(folder)
    day = day_of(table.study.flock, asked.on)
    few = len(table.allowed) <= SEARCHED_PAIRS
    patience = None if asked.thorough else PATIENCE if few else LONGER
    with watched() as watch:
        grading = verbs.grade(table, day, factor=asked.factor, patience=patience, watch=watch)
    show(
        lambda console: print_grading(console, grading),
        document=(lambda: grading_document(grading)) if asked.json else None,
        sheet=(asked.csv, lambda: grading_sheet(grading)),
        force=asked.force,
    )
    note("Nothing is written to your tables: what became of a bird is yours to write down.")


def day_of(flock: Flock, on: str) -> dt.date:
    """The day that is given, else the flock's own today, else the clock's.

    Where the tables tell of days after the clock's, the newest of them is today.
    """
    if on:
        return day_asked(on, flock.settings, "put with --on")
    clock = dt.datetime.now(tz=dt.UTC).astimezone().date()
    return flock.settings.today or max(clock, flock.tables.newest_date or clock)
