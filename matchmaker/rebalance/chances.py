"""How likely a cock is to be lost in a season, by his age."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterable

    from matchmaker.flock.flock import Flock

YOUNG: Final = dt.timedelta(days=365)
"""A cock under a year is a cockerel."""

OLD: Final = dt.timedelta(days=3 * 365)
"""A cock over three years is old."""


def loss_chances(flock: Flock, cocks: Iterable[str]) -> dict[str, float]:
    """The chance of each cock that he is lost in the season, as the settings give it by age.

    The defaults are common practice, without a source. One of unknown age counts as grown.
    """
    birds, risk = flock.by_band(), flock.settings.risk
    found: dict[str, float] = {}
    for cock in cocks:
        hatched = birds[cock].record.hatched
        age = None if hatched is None else flock.settings.pen_up - hatched
        if age is not None and age < YOUNG:
            found[cock] = risk.cock_young
        elif age is not None and age > OLD:
            found[cock] = risk.cock_old
        else:
            found[cock] = risk.cock_grown
    return found
