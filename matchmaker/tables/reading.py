"""What a cell's parser returns: a value, an issue in words, or both."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Mapping


@dataclass(frozen=True, slots=True, kw_only=True)
class Issue:
    """What is wrong with a cell and how to mend it; a ``doubt`` does not stop the planning.

    ``becomes`` is what the cell would be mended to, where that can be told; else "".
    """

    kind: str
    problem: str
    mend: str
    doubt: bool = False
    becomes: str = ""


@dataclass(frozen=True, slots=True)
class Reading:
    """A cell's value, ``None`` where it is blank or cannot be used, and what is wrong with it."""

    value: object = None
    issue: Issue | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Hints:
    """What the configuration says about how to read the tables.

    ``dates`` is the order of day and month in dates that are not ISO, ``season`` the year of the
    plan, ``loci`` the symbols the configuration names, ``known_loci`` those of the catalogue,
    ``units`` the unit of each trait.
    """

    dates: str = "iso"
    season: int | None = None
    loci: frozenset[str] = frozenset()
    known_loci: frozenset[str] = frozenset()
    units: Mapping[str, str] = field(default_factory=dict)

    @property
    def season_end(self) -> dt.date | None:
        """Last day of the season's year, if the season is known."""
        return None if self.season is None else dt.date(self.season, 12, 31)


BLANK_WORDS: Final = frozenset({"", "?", "-", "–", "unknown", "not known", "n/a", "none"})
"""What keepers write for "nobody knows", apart from ``NA``, which may be a band."""


def is_blank(text: str) -> bool:
    """Whether a cell says nothing; not for bands, where every text is a band."""
    return text.casefold() in BLANK_WORDS or text.casefold() == "na"


def refused(kind: str, problem: str, mend: str) -> Reading:
    """Return a reading without a value and the fault in its place."""
    return Reading(None, Issue(kind=kind, problem=problem, mend=mend))


def doubted(value: object, kind: str, problem: str, mend: str) -> Reading:
    """Return a value together with a doubt about it."""
    return Reading(value, Issue(kind=kind, problem=problem, mend=mend, doubt=True))
