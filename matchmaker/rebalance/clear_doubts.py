"""Hens that are not clear of an earlier cock when the pens are made up."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.rebalance.clock import days
from matchmaker.rebalance.morning import diary_of, written_stays

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.errors import Fault
    from matchmaker.flock.flock import Flock
    from matchmaker.rebalance.clock import Contact


def clear_doubts(flock: Flock) -> Iterator[Fault]:
    """A doubt for each living hen whose first eggs of the season may be an earlier cock's.

    A plan counts the eggs of all hens from the same day on: who of them is with whom is not known
    before it is made.
    """
    tables, settings = flock.tables, flock.settings
    diary = diary_of(flock, written_stays(tables))
    living = {bird.band for bird in flock.living}
    for hen, clock in diary.clocks.items():
        late = [one for one in clock.contacts if _lasts(flock, one)]
        if hen not in living or not late:
            continue
        last = max(late, key=lambda one: one.last or settings.pen_up)
        stays = [
            stay for stay in diary.stays_of(hen) if last.last is None or stay.last == last.last
        ]
        ended = last.last or settings.pen_up
        clear = ended + days(settings.limits.clean_out_days)
        yield tables.fault(
            "moves",
            stays[0].row if stays else None,
            "moved_out",
            kind="not-clear",
            value=str(last.last or ""),
            problem=f"{hen} {'was' if last.last else 'is'} with {last.cock} "
            f"{'until ' + str(ended) if last.last else 'until the pens are made up'}: before "
            f"{clear} her eggs may still be his, and a plan counts them from "
            f"{settings.collect_from} for whoever she is put to",
            mend=f"put her to {last.cock} again, do not set her eggs before {clear}, or keep her "
            "without a cock until a week before that day (in a pen without trap nests until it)",
        )


def _lasts(flock: Flock, one: Contact) -> bool:
    """Whether a contact from before the season may still show when eggs begin to count."""
    settings = flock.settings
    begun = one.first is None or one.first < settings.pen_up
    ended = one.last or settings.pen_up
    clear = ended + days(settings.limits.clean_out_days)
    return begun and ended <= settings.pen_up and clear > settings.collect_from
