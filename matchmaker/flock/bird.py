"""One bird, with what the tables say of it settled: its sex by role, its line, its parents."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import datetime as dt

    from matchmaker.tables.records import BirdRecord, Sex


@dataclass(frozen=True, slots=True, kw_only=True)
class Bird:
    """A bird of the books, living or not.

    ``sex`` is ``None`` only where neither the sex column nor a chick of its own settles it;
    ``line`` is never empty. ``record`` is what the keeper wrote.
    """

    band: str
    sex: Sex | None
    line: str
    record: BirdRecord

    @property
    def hatched(self) -> dt.date | None:
        """Hatch date; a year alone is taken as 1 May of it."""
        return self.record.hatched

    @property
    def alive_here(self) -> bool:
        """Whether the bird is on the farm, quarantine included."""
        return self.record.status.alive_here

    def age_on(self, day: dt.date) -> int | None:
        """Age in days on ``day``, or ``None`` where the hatch date is unknown."""
        return None if self.hatched is None else (day - self.hatched).days
