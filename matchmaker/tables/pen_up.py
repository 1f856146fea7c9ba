"""The day on which the pens are made up, where it is given with a command and not in the file."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from matchmaker.errors import UsageError

if TYPE_CHECKING:
    from matchmaker.tables.folder import FolderTables

WAIT: Final = dt.timedelta(days=7)
"""Eggs count from a week after the cock came in."""


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
