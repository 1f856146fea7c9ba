"""A day that is given with a command, written as the flock's tables write theirs."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from matchmaker.errors import UsageError
from matchmaker.tables.dates import read_date
from matchmaker.tables.reading import Hints

if TYPE_CHECKING:
    from matchmaker.settings import Settings


def day_asked(text: str, settings: Settings, purpose: str) -> dt.date:
    """Return the day that is written as the flock's tables write theirs, or year-month-day.

    Raises
    ------
    UsageError
        If it is no day, or may be two; ``purpose`` says what it is for.

    Examples
    --------
    >>> from matchmaker.settings import Settings
    >>> settings = Settings(season=2027, recurrent="sussex", target={"O": 2}, dates="day-first")
    >>> str(day_asked("8/2/2027", settings, "make up the pens"))
    '2027-02-08'
    """
    reading = read_date(text.strip(), Hints(dates=settings.dates))
    if not isinstance(reading.value, dt.date):
        why = f"{reading.issue.problem}; {reading.issue.mend}" if reading.issue else ""
        raise UsageError(f"the day to {purpose} cannot be read: {why}")
    return reading.value
