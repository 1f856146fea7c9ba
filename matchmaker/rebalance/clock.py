"""Whose the eggs of a hen can be, day by day: a clock for each hen, from where she has been.

Sperm lives in a hen for weeks, so a hen brings her former cock with her into a new pen. All days
are calendar days; an egg belongs to the day on which it is laid.

- Her first egg that can be a cock's is laid the day after they met (record 19.5 hours; Hutt 1949,
  Genetics of the Fowl, as quoted in a forum post); a whole pen is fertile after 6 to 7 days (same),
  so eggs are kept for him from day 7.
- After he has gone eggs stay fertile for 10.7 days (Curtis & Lambert) to 14.8 days (Nicolaides) on
  average (both in Hutt 1949, as quoted), with a quick fall after a week, and are not worth keeping
  after 12 to 14 days (same). Single eggs were fertile on day 30 and 32 (Warren & Kilpatrick 1929,
  Poultry Science 8(5)).
- There is no marked precedence of the last cock: old sperm is lost with time (Birkhead, Wishart
  & Biggins 1995, Proc R Soc B 261:285). So until the clean-out is over a chick may be either's.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker.pairs.value import DAYS_TO_FERTILE

if TYPE_CHECKING:
    from collections.abc import Iterable

FULL_DAYS: Final = 7
"""For so many days after a cock has gone his eggs are as fertile as before."""

MEAN_DAYS: Final = 12.75
"""Days for which eggs stay fertile on average: half way between the two published means."""

LAST_DAY: Final = 2 * MEAN_DAYS - FULL_DAYS
"""Day on which the fall, taken as a straight line, ends; this makes ``MEAN_DAYS`` the mean."""


def days(number: int) -> dt.timedelta:
    """So many days."""
    return dt.timedelta(days=number)


def fertility_after(gone: int) -> float:
    """How fertile eggs are, ``gone`` days after the cock, against those laid with him there.

    Examples
    --------
    >>> fertility_after(0), fertility_after(7), round(fertility_after(14), 2), fertility_after(19)
    (1.0, 1.0, 0.39, 0.0)
    """
    if gone <= FULL_DAYS:
        return 1.0
    return max(0.0, (LAST_DAY - gone) / (LAST_DAY - FULL_DAYS))


@dataclass(frozen=True, slots=True, kw_only=True)
class Waits:
    """The keeper's waits, in days.

    ``clean_out`` days after the last one with a cock a hen's eggs are no longer taken to be his;
    for ``eggs_after`` days they are still kept as his.
    """

    clean_out: int = 21
    eggs_after: int = 14

    @property
    def alone(self) -> int:
        """Days for which a hen stays without a cock before the next one joins her at no loss.

        A week before the clean-out is over: his first eggs worth keeping then come just as the
        last chicks of the old one are out of question. Until then all eggs are surely the old
        one's.
        """
        return max(0, self.clean_out - DAYS_TO_FERTILE)

    @property
    def kept(self) -> int:
        """Days after which no more eggs are kept as those of a cock that has gone."""
        return min(self.eggs_after, self.alone)


@dataclass(frozen=True, slots=True, kw_only=True)
class Contact:
    """Days on which a hen may have mated with a cock, both counted.

    ``first`` is ``None`` where nobody wrote it down: long ago. ``last`` is ``None`` while they are
    together.
    """

    cock: str
    first: dt.date | None
    last: dt.date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Clock:
    """One hen's contacts this season and before, and the waits that count."""

    contacts: tuple[Contact, ...]
    waits: Waits = Waits()

    def sires(self, day: dt.date) -> tuple[str, ...]:
        """The cocks whose chick an egg laid on this day may hold, in order of their bands."""
        return tuple(sorted({one.cock for one in self.contacts if self._may_be(one, day)}))

    def _may_be(self, one: Contact, day: dt.date) -> bool:
        begun = one.first is None or one.first < day
        return begun and (one.last is None or day < one.last + days(self.waits.clean_out))

    def fertility(self, cock: str, day: dt.date) -> float:
        """How fertile eggs laid on this day are by a cock, 1 while he is with the hen.

        0 in his first week, and from ``eggs_after`` days after he went.
        """
        return max(
            (self._of_contact(one, day) for one in self.contacts if one.cock == cock), default=0.0
        )

    def _of_contact(self, one: Contact, day: dt.date) -> float:
        if one.first is not None and day < one.first + days(DAYS_TO_FERTILE):
            return 0.0
        if one.last is None or day <= one.last:
            return 1.0
        gone = (day - one.last).days
        return fertility_after(gone) if gone <= self.waits.eggs_after else 0.0

    def clear_from(self, cock: str) -> dt.date | None:
        """The first day on which eggs can be no other cock's; ``None`` if they never could.

        ``dt.date.max`` while another cock is with her.
        """
        lasts = [one.last for one in self.contacts if one.cock != cock]
        if any(last is None for last in lasts):
            return dt.date.max
        known = [last + days(self.waits.clean_out) for last in lasts if last is not None]
        return max(known, default=None)

    def other_than(self, cock: str) -> dt.date | None:
        """The last day with any other cock than this one; ``None`` if there was none."""
        return max(
            (one.last for one in self.contacts if one.cock != cock and one.last is not None),
            default=None,
        )


def sure_sire(clocks: Iterable[Clock], day: dt.date) -> str | None:
    """The only cock whose chicks eggs of these hens can hold; ``None`` for none or several.

    For a pen whose eggs are not told apart: one hen that brings another cock with her makes the
    eggs of all of them doubtful.
    """
    sires = {cock for clock in clocks for cock in clock.sires(day)}
    return sires.pop() if len(sires) == 1 else None
