"""Eggs of this season that the book has as set: what they count for, and the room they take."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from matchmaker.rebalance.clock import days
from matchmaker.rebalance.eggs import collected
from matchmaker.season.brood import Batch
from matchmaker.season.counting import Known, parts_of
from matchmaker.season.lots import shared_out
from matchmaker.season.setting import Taken

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Sequence

    from matchmaker.flock.flock import Flock
    from matchmaker.season.goals import Goal
    from matchmaker.season.lots import Laid, Lot, Week
    from matchmaker.season.rates import Rates
    from matchmaker.tables.records import EggRecord


def booked_sets(flock: Flock) -> list[EggRecord]:
    """The sets in the book that are of this season."""
    up = flock.settings.pen_up
    return [
        one
        for one in flock.tables.eggs
        if one.eggs
        and (since := one.set_on or one.collected_to or one.collected_from)
        and since > up
    ]


def counted_lots(
    laid: Laid, records: Iterable[EggRecord]
) -> tuple[tuple[tuple[Lot, EggRecord], ...], tuple[int, ...]]:
    """Sets in the book with what their eggs may become, and those of nobody's certainty."""
    found: list[tuple[Lot, EggRecord]] = []
    doubtful = []
    for record in records:
        lots = laid.of_set(record)
        found += [(lot, record) for lot in lots]
        if not lots:
            doubtful.append(record.row)
    return tuple(found), tuple(doubtful)


def still_to_set(laid: Laid, records: Iterable[EggRecord], today: dt.date) -> tuple[Lot, ...]:
    """Lots of the weeks that are not over, without the pens whose eggs of a week are set."""
    had = {
        (week_laid(laid.weeks, span[1]), record.pen)
        for record in records
        if (span := collected(record)) is not None
    }
    return tuple(
        lot
        for lot in laid.lots
        if lot.week.set_on >= today and (lot.week.number, lot.pen) not in had
    )


def uncounted(
    records: Iterable[EggRecord], done: Iterable[tuple[Lot, EggRecord]], laid: Laid
) -> list[Taken]:
    """What the eggs of the book that count for no goal take of the rooms."""
    counted: dict[int, int] = defaultdict(int)
    for lot, record in done:
        counted[record.row] += lot.eggs
    found = []
    for record in records:
        eggs, span = record.eggs or 0, collected(record)
        rest = eggs - counted[record.row]
        if rest > 0 and span is not None:
            found.append(
                Taken(
                    week=week_set(laid.weeks, record.set_on or span[1] + days(1)),
                    eggs=rest,
                    raised=rest / eggs * _raised_of(record, laid.rates),
                )
            )
    return found


def _raised_of(record: EggRecord, rates: Rates) -> float:
    """Chicks to be raised of a set, by what is known of it, without inbreeding."""
    if record.hatched is not None:
        return record.hatched * rates.rearing.value
    if record.fertile is not None:
        return record.fertile * rates.hatch_of_fertile.value * rates.rearing.value
    return (record.eggs or 0) * rates.raised


def week_laid(weeks: Iterable[Week], last: dt.date) -> int:
    """The number of the week in which the last eggs of a set were laid; 0 if it is none."""
    return next((week.number for week in weeks if week.first <= last <= week.last), 0)


def week_set(weeks: Iterable[Week], set_on: dt.date) -> int:
    """The number of the week whose eggs are set by a day; 0 if it is none of the season."""
    return next((week.number for week in weeks if week.first < set_on <= week.set_on), 0)


def known_eggs(
    goals: Iterable[Goal], done: Sequence[tuple[Lot, EggRecord]], laid: Laid
) -> dict[tuple[str, str], list[Known]]:
    """What is known of the eggs of each goal, by its key."""
    found: dict[tuple[str, str], list[Known]] = defaultdict(list)
    numbers = _trials(done)
    for goal in goals:
        for (lot, record), trials in zip(done, numbers, strict=True):
            if (lot.tested or lot.line) == (goal.tested or goal.line):
                found[goal.key].append(_as_known(goal, (lot, record), trials, laid))
    return found


def _trials(done: Sequence[tuple[Lot, EggRecord]]) -> list[int]:
    """Chicks hatched, fertile eggs or eggs of each lot, those of one set shared out among its."""
    found = [0] * len(done)
    of_row: dict[int, list[int]] = defaultdict(list)
    for at, (_, record) in enumerate(done):
        of_row[record.row].append(at)
    for places in of_row.values():
        record = done[places[0]][1]
        eggs = [float(done[at][0].eggs) for at in places]
        known = record.fertile if record.hatched is None else record.hatched
        whole = sum(eggs) if known is None else known * sum(eggs) / (record.eggs or sum(eggs))
        for at, number in zip(places, shared_out(round(whole), eggs), strict=True):
            found[at] = number
    return found


def _as_known(goal: Goal, one: tuple[Lot, EggRecord], number: int, laid: Laid) -> Known:
    """A set as what is known of it makes it: chicks hatched, eggs found fertile, or eggs."""
    (lot, record), rates = one, laid.rates
    parts = parts_of(goal, lot)
    each = [part / lot.lives if lot.lives else part for part in parts]
    if record.hatched is not None:
        lives = rates.rearing.value
    else:
        lives = rates.hatch_of_fertile.value * rates.rearing.value
    hatched = record.hatched is not None or record.fertile is not None
    chances = [one * lives for one in each] if hatched else list(parts)
    return Known(
        week=week_set(laid.weeks, lot.week.set_on),
        eggs=lot.eggs,
        trials=number,
        hatched=hatched,
        parts=tuple(chances),
        raised=number * (lives if hatched else lot.lives * rates.raised),
    )


def set_batches(done: Iterable[tuple[Lot, EggRecord]], rates: Rates) -> list[Batch]:
    """Sets in the book: what hatched of them, or was fertile, counts as it was found."""
    shell = rates.fertility.value * rates.hatch_of_fertile.value
    found = []
    for lot, record in done:
        like = float(lot.eggs)
        share = lot.eggs / (record.eggs or lot.eggs)
        if record.hatched is not None and lot.lives * shell > 0:
            like = record.hatched * share / (lot.lives * shell)
        elif record.fertile is not None and lot.lives * rates.fertility.value > 0:
            like = record.fertile * share / (lot.lives * rates.fertility.value)
        found.append(Batch(lot=lot, eggs=lot.eggs, like=like))
    return found
