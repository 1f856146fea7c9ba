"""What closing a season changes, change by change, each by a stated rule."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping
    from pathlib import Path


class Step(StrEnum):
    """The rules by which a folder becomes that of the next season."""

    SEASON = "season"
    TODAY = "today"
    YEAR_ON = "year-on"
    ROTATION = "rotation"
    BREEDER = "breeder"
    STILL_YOUNG = "still-young"
    WAITS = "waits"
    LET_GO = "let-go"
    RELEASED = "released"
    LINE = "line"
    NO_LINE = "no-line"
    NO_SEX = "no-sex"
    PENS_ENDED = "pens-ended"
    WISH_ENDED = "wish-ended"
    WISH_OF_GONE = "wish-of-gone"
    PLAN_KEPT = "plan-kept"


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One thing that is changed, or that is looked at and stays (``new`` is then ``old``).

    ``subject`` is a band, a key of the settings or a file; ``old`` and ``new`` are as written.
    """

    step: Step
    file: str
    row: int | None
    subject: str
    old: str
    new: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NextSeason:
    """The next season's folder before it is written.

    ``texts`` are the files that differ from the old folder's, by name; ``renamed`` maps old names
    to new ones; all other files are copied as they are.
    """

    folder: Path
    into: Path
    season: int
    closed_on: dt.date
    changes: tuple[Change, ...]
    texts: Mapping[str, str]
    renamed: Mapping[str, str]

    def by(self, step: Step) -> tuple[Change, ...]:
        """Return the changes that one rule made."""
        return tuple(change for change in self.changes if change.step is step)
