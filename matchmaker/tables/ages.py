"""When a bird can have had a chick: ages, and the days after it has gone."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Final

from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from matchmaker.tables.records import BirdRecord

INCUBATION: Final = dt.timedelta(days=21)
"""Eggs hatch after so many days (FAO 2004, Sonaiya & Swan, Small-scale poultry production)."""

FIRST_EGG_AND_INCUBATION: Final = dt.timedelta(days=126) + INCUBATION
"""18 weeks to the first egg (common practice, no source) and 3 of incubation: a chick cannot hatch
sooner after its parent."""

USUAL_PARENT_AGE: Final = dt.timedelta(days=189)
"""27 weeks: younger parents are possible but unusual (common practice, no source)."""

STORAGE: Final = dt.timedelta(days=14)
"""Longest that eggs are kept before they are set (common practice, no source)."""

FERTILE: Final = dt.timedelta(days=32)
"""Longest fertility reported after a cock was taken out (Crew, in Warren & Kilpatrick 1929)."""

LAST_CHICK_OF_DAM: Final = STORAGE + INCUBATION
"""So long after a hen has gone her last chick can hatch."""

LAST_CHICK_OF_SIRE: Final = FERTILE + STORAGE + INCUBATION
"""The same of a cock."""


def greatest_age(parent: BirdRecord, chick: BirdRecord) -> dt.timedelta | None:
    """Greatest age that a parent can have had when its chick hatched, where both are dated."""
    if parent.hatched is None or chick.hatched is None:
        return None
    return last_possible_day(chick) - first_possible_day(parent)


def first_possible_day(record: BirdRecord) -> dt.date:
    """Earliest day on which a bird can have hatched: a year alone leaves the whole year open."""
    assert record.hatched is not None  # noqa: S101  the callers have looked
    return dt.date(record.hatched.year, 1, 1) if record.hatched_is_year else record.hatched


def last_possible_day(record: BirdRecord) -> dt.date:
    """Latest day on which a bird can have hatched."""
    assert record.hatched is not None  # noqa: S101  the callers have looked
    return dt.date(record.hatched.year, 12, 31) if record.hatched_is_year else record.hatched


def when(record: BirdRecord) -> str:
    """When a bird hatched, in words."""
    assert record.hatched is not None  # noqa: S101  the callers have looked
    return f"in {record.hatched.year}" if record.hatched_is_year else f"on {record.hatched}"


def wrong_time(chick: BirdRecord, parent: BirdRecord, sex: Sex) -> tuple[str, str, str] | None:
    """Kind, problem and mend if a bird was too young, or too long gone, to have had a chick."""
    if chick.hatched is None:
        return None
    age = greatest_age(parent, chick)
    if age is not None and age < FIRST_EGG_AND_INCUBATION:
        return (
            "parent-too-late",
            (
                f"{parent.bird} hatched {when(parent)} (row {parent.row}), too late to have "
                f"a chick hatched {when(chick)}"
            ),
            "check the two hatch dates; a parent is at least 21 weeks older than its chick",
        )
    allowed = LAST_CHICK_OF_SIRE if sex is Sex.COCK else LAST_CHICK_OF_DAM
    if parent.left_on is not None and first_possible_day(chick) - parent.left_on > allowed:
        return (
            "parent-gone",
            (
                f"{parent.bird} left on {parent.left_on} (row {parent.row}), too long before a "
                f"chick hatched {when(chick)}"
            ),
            f"check both dates; after {allowed.days} days no chick can still be this bird's",
        )
    return None


def could_be_parent(parent: BirdRecord, chick: BirdRecord, sex: Sex) -> bool:
    """Whether sex and dates of a bird allow it to be the sire (cock) or dam (hen) of a chick."""
    return (
        parent.bird != chick.bird
        and parent.sex in {None, sex}
        and wrong_time(chick, parent, sex) is None
    )
