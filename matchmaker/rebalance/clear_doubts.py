"""Hens that are not clear of an earlier cock when the pens are made up."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from matchmaker.flock.listing import listed, natural
from matchmaker.rebalance.clock import days
from matchmaker.rebalance.morning import diary_of, written_stays

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from matchmaker.errors import Fault
    from matchmaker.flock.flock import Flock
    from matchmaker.rebalance.clock import Contact
    from matchmaker.rebalance.diary import Diary, Stay


@dataclass(frozen=True, slots=True, kw_only=True)
class _Hen:
    """A hen, and the row of the moves that has her with the cock; ``None`` where no row is hers."""

    band: str
    row: int | None


def clear_doubts(flock: Flock) -> Iterator[Fault]:
    """A doubt for each earlier cock whose hens' first eggs of the season may be his.

    A plan counts the eggs of all hens from the same day on: who of them is with whom is not known
    before it is made. Hens that were with him until the same day are told together.
    """
    for contact, hens in _late(flock, diary_of(flock, written_stays(flock.tables))).items():
        yield _doubt(flock, contact, hens)


def _late(flock: Flock, diary: Diary) -> Mapping[Contact, list[_Hen]]:
    """The last cock of each living hen that is not clear of one, with the hens that are his."""
    living = {bird.band for bird in flock.living}
    found: dict[Contact, list[_Hen]] = defaultdict(list)
    for hen in sorted(diary.clocks.keys() & living, key=natural):
        contacts = (_while_he_was_here(flock, one) for one in diary.clocks[hen].contacts)
        late = [one for one in contacts if _lasts(flock, one)]
        if late:
            last = max(late, key=lambda one: one.last or flock.settings.pen_up)
            stay = _stay_of(diary, hen, last)
            found[last].append(_Hen(band=hen, row=stay.row if stay else None))
    return found


def _while_he_was_here(flock: Flock, one: Contact) -> Contact:
    """A contact that ended with the day on which the cock left, if that is written."""
    left = flock.by_band()[one.cock].record.left_on
    return one if one.last is not None or left is None else replace(one, last=left)


def _stay_of(diary: Diary, hen: str, last: Contact) -> Stay | None:
    """The first stay of a hen that ended as the contact did, or has not ended."""
    ends = (None, last.last)
    return next((stay for stay in diary.stays_of(hen) if stay.last in ends), None)


def _doubt(flock: Flock, last: Contact, hens: list[_Hen]) -> Fault:
    settings, bands = flock.settings, [hen.band for hen in hens]
    clear = (last.last or settings.pen_up) + days(settings.limits.clean_out_days)
    several = len(hens) > 1
    whom, whose, who = ("them", "their", "they are") if several else ("her", "her", "she is")
    told, first = _of_him(flock, last, several=several)
    return flock.tables.fault(
        "moves",
        hens[0].row,
        "moved_out",
        kind="not-clear",
        value=str(last.last or ""),
        problem=f"{listed(bands)} {told}: before {clear} {whose} eggs may still be his, and a plan "
        f"counts them from {settings.collect_from} for whoever {who} put to",
        mend=f"{first}do not set {whose} eggs before {clear}, or keep {whom} without a cock "
        "until a week before that day (in a pen without trap nests until it)",
        birds=tuple(bands),
    )


def _of_him(flock: Flock, last: Contact, *, several: bool) -> tuple[str, str]:
    """Until when they were with him, and the first thing to do: a cock that is gone serves none."""
    were, are, whom = ("were", "are", "them") if several else ("was", "is", "her")
    here = flock.by_band()[last.cock].alive_here
    again = f"put {whom} to {last.cock} again, "
    if last.last is not None:
        return f"{were} with {last.cock} until {last.last}", again if here else ""
    if here:
        return f"{are} with {last.cock} until the pens are made up", again
    return (
        f"{were} with {last.cock}, and of him it is not written when he left",
        f"write in birds.csv when {last.cock} left (left_on), ",
    )


def _lasts(flock: Flock, one: Contact) -> bool:
    """Whether a contact from before the season may still show when eggs begin to count."""
    settings = flock.settings
    begun = one.first is None or one.first < settings.pen_up
    ended = one.last or settings.pen_up
    clear = ended + days(settings.limits.clean_out_days)
    return begun and ended <= settings.pen_up and clear > settings.collect_from
