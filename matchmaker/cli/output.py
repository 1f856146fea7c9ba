"""How an answer leaves the program: screen or document, and files beside."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.cli.streams import note, print_document
from matchmaker.errors import UsageError
from matchmaker.report.screen import console_for
from matchmaker.tables.asked import day_asked
from matchmaker.tables.nearness import Lexicon
from matchmaker.tables.write import write_csv

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from rich.console import Console

    from matchmaker.flock.flock import Flock
    from matchmaker.pairs.table import PairTable
    from matchmaker.report.documents import Document
    from matchmaker.report.sheets import Sheet


@dataclass(frozen=True, slots=True, kw_only=True)
class Output:
    """How an answer leaves the program: its document or its screen, and its rows to a CSV file.

    Files that exist are written over only if ``force`` says so.
    """

    json: bool = False
    csv: Path | None = None
    force: bool = False

    def show(
        self,
        on_screen: Callable[[Console], None],
        document: Callable[[], Document],
        sheet: Callable[[], Sheet] | None = None,
    ) -> None:
        """Write the CSV if one is asked for, then print the document, else the screen."""
        if sheet is not None:
            write_sheet(self.csv, sheet, force=self.force)
        if self.json:
            from matchmaker.report.documents import as_json

            print_document(as_json(document()))
        else:
            on_screen(console_for())


def write_sheet(file: Path | None, make: Callable[[], Sheet], *, force: bool) -> None:
    """Write rows to a CSV file.

    Raises
    ------
    WouldOverwriteError
        If the file exists and ``force`` is not given.
    """
    if file is None:
        return
    sheet = make()
    write_csv(file, sheet.header, sheet.rows, overwrite=force)
    note(f"Wrote {file}.")


def known_bird(table: PairTable, band: str | None) -> str | None:
    """The band, if the books know it; small letters for large ones are no matter.

    Raises
    ------
    UsageError
        If no bird has this band; the nearest is suggested.
    """
    bands = table.study.flock.by_band()
    if band is None or band in bands:
        return band
    alike = [one for one in bands if one.casefold() == band.strip().casefold()]
    if len(alike) == 1:
        return alike[0]
    near = Lexicon(bands).near(band).names[:3]
    hint = f" Did you mean {' or '.join(near)}?" if near else ""
    raise UsageError(
        f"no bird {band} is in the tables.{hint} matchmaker flock lists the living ones; birds.csv "
        "has all"
    )


def day_or_today(flock: Flock, written: str, purpose: str) -> dt.date:
    """The day that was given, else the flock's own today, else the clock's.

    Where the tables tell of days after the clock's, the newest of them is today.

    Raises
    ------
    UsageError
        If what was given is no day, or may be two; ``purpose`` says what it is for.
    """
    if written:
        return day_asked(written, flock.settings, purpose)
    clock = dt.datetime.now(tz=dt.UTC).astimezone().date()
    return flock.settings.today or max(clock, flock.tables.newest_date or clock)
