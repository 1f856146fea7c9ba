"""Who was in which pen on which days, as far as the book says."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from matchmaker.intake.names import bare_name
from matchmaker.tables.ages import INCUBATION, LAST_CHICK_OF_DAM, LAST_CHICK_OF_SIRE

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from matchmaker.intake.entry import Entry


@dataclass(frozen=True, slots=True)
class Days:
    """From the first to the last day, both included."""

    first: dt.date
    last: dt.date

    def meets(self, other: Days) -> bool:
        """Whether some day is in both."""
        return max(self.first, other.first) <= min(self.last, other.last)


@dataclass(frozen=True, slots=True, kw_only=True)
class PenLog:
    """Stays by pen: band and days; and whether the book has any log at all."""

    stays: Mapping[str, tuple[tuple[str, Days], ...]] = field(default_factory=dict)

    def inside(self, pen: str, days: Days) -> tuple[str, ...]:
        """The birds that were in a pen on any of these days, each once."""
        stays = self.stays.get(bare_name(pen), ())
        return tuple(dict.fromkeys(bird for bird, stay in stays if stay.meets(days)))

    def pens_of(self, bird: str, days: Days) -> tuple[str, ...]:
        """The pens that a bird was in on any of these days."""
        return tuple(
            pen
            for pen, stays in self.stays.items()
            if any(one == bird and stay.meets(days) for one, stay in stays)
        )


def days_of_hatch(hatched: str) -> Days | None:
    """The days on which a bird can have hatched: one, or a year.

    Examples
    --------
    >>> days_of_hatch("2025").last, days_of_hatch("") is None
    (datetime.date(2025, 12, 31), True)
    """
    if not hatched:
        return None
    if len(hatched) == 4:
        return Days(dt.date(int(hatched), 1, 1), dt.date(int(hatched), 12, 31))
    day = dt.date.fromisoformat(hatched)
    return Days(day, day)


def laid_on(hatch: Days) -> Days:
    """The days on which the egg of a chick can have been laid."""
    return Days(hatch.first - LAST_CHICK_OF_DAM, hatch.last - INCUBATION)


def sired_on(hatch: Days) -> Days:
    """The days on which a cock with the hen can have become the sire."""
    return Days(hatch.first - LAST_CHICK_OF_SIRE, hatch.last - INCUBATION)


def pen_log(entries: Iterable[Entry]) -> PenLog:
    """Gather the stays that moves and egg records tell of; open ends are open."""
    stays: dict[str, list[tuple[str, Days]]] = defaultdict(list)
    for entry in entries:
        pen = bare_name(entry.values.get("pen", ""))
        if not pen:
            continue
        if entry.table == "moves" and entry.values.get("bird"):
            days = _between(entry, "moved_in", "moved_out")
            stays[pen].append((entry.values["bird"], days))
        elif entry.table == "eggs" and entry.values.get("collected_from"):
            for bird in filter(None, (entry.values.get("cock"), entry.values.get("hen"))):
                stays[pen].append((bird, _collected(entry)))
    return PenLog(stays={pen: _dated(inside) for pen, inside in stays.items()})


def _dated(inside: list[tuple[str, Days]]) -> tuple[tuple[str, Days], ...]:
    """The stays with a day: those without one say where a bird is now."""
    always = Days(dt.date.min, dt.date.max)
    return tuple(stay for stay in inside if stay[1] != always) or tuple(inside)


def _collected(entry: Entry) -> Days:
    """The days of collecting; of those with one day written only that is known."""
    first = dt.date.fromisoformat(entry.values["collected_from"])
    last = entry.values.get("collected_to")
    return Days(first, dt.date.fromisoformat(last) if last else first)


def _between(entry: Entry, first: str, last: str) -> Days:
    since, until = entry.values.get(first), entry.values.get(last)
    return Days(
        dt.date.fromisoformat(since) if since else dt.date.min,
        dt.date.fromisoformat(until) if until else dt.date.max,
    )
