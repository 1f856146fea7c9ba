"""Close a season: the next season's folder, written or only told."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker import verbs
from matchmaker.cli.output import Output, day_or_today
from matchmaker.cli.streams import note
from matchmaker.report.closing import closing_document, print_closing
from matchmaker.tables.flock_folder import as_typed

if TYPE_CHECKING:
    from pathlib import Path


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosingAsked:
    """What was asked for."""

    on: str
    into: Path | None
    graded: Path | None
    dry_run: bool
    json: bool


def run_closing(folder: Path, asked: ClosingAsked) -> None:
    """Write the next season's folder, or tell what it would hold.

    Raises
    ------
    UsageError
        If the season is not over, or a file cannot be read or written.
    """
    flock = verbs.read(folder)
    day = day_or_today(flock, asked.on, "close the season")
    written = not asked.dry_run
    season, found = verbs.close_season(
        flock, day=day, into=asked.into, graded=asked.graded, write=written
    )
    Output(json=asked.json).show(
        lambda console: print_closing(console, season, found, written=written),
        lambda: closing_document(season, flock, found, written=written),
    )
    if written:
        note(f"Next: matchmaker plan --in {as_typed(season.into)}")
