"""The next season's folder: made from that of the season that ends, checked, put in its place."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.checking import Check, check
from matchmaker.closing.roll_over import next_season, put_in_place, written_aside
from matchmaker.errors import InputError
from matchmaker.tables.read_verdicts import read_verdicts

if TYPE_CHECKING:
    import datetime as dt
    from pathlib import Path

    from matchmaker.closing.change import NextSeason
    from matchmaker.flock.flock import Flock


def close_season(
    flock: Flock,
    *,
    day: dt.date,
    into: Path | None = None,
    graded: Path | None = None,
    write: bool = True,
) -> tuple[NextSeason, Check]:
    """The next season's folder, ready to be planned, and what ``check`` says of it.

    ``graded`` is a file with the keeper's verdict on young birds (``grade --csv`` writes one). The
    folder of the season that ends is not touched. Without ``write`` nothing is kept.

    Raises
    ------
    UsageError
        If the season is not over on that day, or something cannot be read or written.
    InputError
        With the faults of the file of verdicts, or those that the new folder would have; it is not
        written then.
    WouldOverwriteError
        If the folder for the next season holds anything already.
    """
    verdicts = {} if graded is None else read_verdicts(graded, flock.tables)
    season = next_season(flock, day=day, into=into, verdicts=verdicts)
    with written_aside(season) as aside:
        found = check(aside)
        if found.faults:
            raise InputError(found.faults)
        if write:
            put_in_place(season, aside)
    return season, found
