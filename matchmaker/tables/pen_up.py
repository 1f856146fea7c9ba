"""The day on which the pens are made up, where it is given with a command and not in the file."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from matchmaker.errors import UsageError
from matchmaker.tables.dates import read_date
from matchmaker.tables.reading import Hints

if TYPE_CHECKING:
    from matchmaker.settings import Settings
    from matchmaker.tables.folder import FolderTables

WAIT: Final = dt.timedelta(days=7)
"""Eggs count from a week after the cock came in."""


def pen_up_day(text: str, settings: Settings) -> dt.date:
    """Return the day that is written as the flock's tables write theirs, or year-month-day.

    Raises
    ------
    UsageError
        If it is no day, or may be two.

    Examples
    --------
    >>> from matchmaker.settings import Settings
    >>> settings = Settings(season=2027, recurrent="sussex", target={"O": 2}, dates="day-first")
    >>> str(pen_up_day("8/2/2027", settings))
    '2027-02-08'
    """
    reading = read_date(text.strip(), Hints(dates=settings.dates))
    if not isinstance(reading.value, dt.date):
        why = f"{reading.issue.problem}; {reading.issue.mend}" if reading.issue else ""
        raise UsageError(f"no day to make up the pens: {why}")
    return reading.value


def made_up_on(tables: FolderTables, day: dt.date) -> FolderTables:
    """Return the tables with settings in which the pens are made up on this day.

    The days on which eggs are kept move with it where the file does not say them.

    Raises
    ------
    UsageError
        If the day is far from the season, or no egg would be kept after it.
    """
    if tables.settings is None:
        return tables
    year = tables.settings.year.model_copy(update={"pen_up": day})
    settings = tables.settings.model_copy(update={"year": year})
    if day.year not in {settings.season - 1, settings.season}:
        raise UsageError(
            f"pens made up on {day} are not for the season {settings.season}: mend the day, or "
            "the season in matchmaker.toml"
        )
    if settings.collect_until < day + WAIT:
        row = tables.setting_place("year.collect_until")["row"]
        raise UsageError(
            f"no eggs would be kept of pens made up on {day}: by matchmaker.toml (line {row}) "
            f"they are collected until {settings.collect_until}; set collect_until to a later "
            "day, or make up the pens earlier"
        )
    return replace(tables, settings=settings)
