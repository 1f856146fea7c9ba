"""The spring for which young birds are graded: the next day on which pens are made up."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from matchmaker.errors import UsageError
from matchmaker.tables.dates import years_on

if TYPE_CHECKING:
    import datetime as dt

    from matchmaker.settings import Settings
    from matchmaker.tables.folder import FolderTables

LASTING_WISHES: Final = frozenset({"apart", "allow"})
"""Wishes that hold in other seasons than the one they were written for."""

FARTHEST: Final = 50
"""Seasons between the settings' own and the one graded for, at most: beyond it is a slip."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Spring:
    """The season graded for: when its pens are made up, and when those before it were.

    ``moved`` is how many seasons it comes after the one the settings are written for.
    """

    season: int
    pen_up: dt.date
    before: dt.date
    moved: int


def next_spring(settings: Settings, day: dt.date) -> Spring:
    """The first season whose pens are made up on the day or later; its dates are as this season's.

    Raises
    ------
    UsageError
        If the day is half a century from the season of the settings.

    Examples
    --------
    >>> import datetime as dt
    >>> from matchmaker.settings import Settings
    >>> settings = Settings(season=2027, recurrent="sussex", target={"O": 2})
    >>> next_spring(settings, dt.date(2027, 5, 10)).pen_up
    datetime.date(2028, 2, 1)
    >>> next_spring(settings, dt.date(2027, 1, 26)).moved
    0
    """
    moved = day.year - settings.pen_up.year
    if abs(moved) > FARTHEST:
        raise UsageError(
            f"{day} is no day near the season {settings.season}: mend the day put with --on, or "
            "the season in matchmaker.toml"
        )
    moved += 1 if years_on(settings.pen_up, moved) < day else 0
    return Spring(
        season=settings.season + moved,
        pen_up=years_on(settings.pen_up, moved),
        before=years_on(settings.pen_up, moved - 1),
        moved=moved,
    )


def set_for(tables: FolderTables, spring: Spring) -> FolderTables:
    """The tables with the settings, pens and wishes of the season graded for.

    In another season than that of the settings only lasting wishes hold, and a rotation falls as
    it is written, whatever was decided by hand for this one.
    """
    settings = tables.settings
    if settings is None or spring.moved == 0:
        return tables
    years = spring.moved
    dates = ("pen_up", "collect_from", "collect_until")
    moved = {
        key: years_on(date, years)
        for key in dates
        if (date := getattr(settings.year, key)) is not None
    }
    update: dict[str, object] = {
        "season": spring.season,
        "year": settings.year.model_copy(update=moved),
    }
    if settings.rotation is not None:
        update["rotation"] = settings.rotation.model_copy(update={"open": None})
    return replace(
        tables,
        settings=settings.model_copy(update=update),
        pens=tuple(
            replace(
                pen,
                first_day=None if pen.first_day is None else years_on(pen.first_day, years),
                last_day=None if pen.last_day is None else years_on(pen.last_day, years),
            )
            for pen in tables.pens
        ),
        wishes=tuple(row for row in tables.wishes if row.wish in LASTING_WISHES),
    )
