"""The season command: read, work the season out, print it, write the files that are asked for."""

from __future__ import annotations

import time
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker import verbs
from matchmaker.cli.streams import note
from matchmaker.cli.watching import watched
from matchmaker.report.season import print_season
from matchmaker.report.season_document import eggs_sheet, season_document
from matchmaker.tables.write import write_text_atomically

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.cli.output import Output
    from matchmaker.season.guide import SeasonGuide


PATIENCE: Final = 10.0
"""Seconds of search for the best plan where none is written."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What was asked for."""

    certainty: float
    calendar: Path | None
    output: Output


def run_season(folder: Path, asked: Asked) -> None:
    """Print the season, with its calendar and its rows as files where those are asked for.

    Raises
    ------
    WouldOverwriteError
        If a file exists and ``force`` is not given.
    """
    table = verbs.pairs(folder)
    with watched() as watch:
        watch.until = time.perf_counter() + PATIENCE
        guide = verbs.season(table, certainty=asked.certainty, watch=watch)
    if asked.calendar is not None:
        _write_calendar(asked.calendar, guide, force=asked.output.force)
    asked.output.show(
        lambda console: print_season(console, guide),
        lambda: season_document(guide),
        lambda: eggs_sheet(guide),
    )


def _write_calendar(file: Path, guide: SeasonGuide, *, force: bool) -> None:
    from matchmaker.report.calendar import calendar_text

    write_text_atomically(file, calendar_text(guide), overwrite=force)
    note(f"Wrote {file}: {len(guide.dates)} dates.")
