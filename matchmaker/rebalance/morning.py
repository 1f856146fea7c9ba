"""The pens on the morning of a day as the books tell them: from the moves, else from the plan."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from matchmaker.errors import InputError, UsageError
from matchmaker.rebalance.clock import Waits, days
from matchmaker.rebalance.diary import Diary, Stay
from matchmaker.rebalance.standing import Standing
from matchmaker.tables.records import Sex, Status

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Iterator, Mapping

    from matchmaker.flock.flock import Flock
    from matchmaker.tables.folder import FolderTables
    from matchmaker.tables.records import BirdRecord


def standing_pens(flock: Flock, day: dt.date, *, waits: Waits | None = None) -> Standing:
    """The pens on the morning of a day, from the stays that are written, else from the plan.

    Nobody is lost yet: ``missing`` are the birds that the books call gone, and those whose stay
    ends on or before ``day`` without another one, if they were in a pen this season.

    Raises
    ------
    InputError
        If by what is written a bird is in two pens that morning, or two cocks are in one.
    UsageError
        If no pens stand.
    """
    tables = flock.tables
    if day < flock.settings.pen_up:
        raise UsageError(_not_yet(flock, day))
    cocks = frozenset(bird.band for bird in flock.birds if bird.sex is Sex.COCK)
    stays = written_stays(tables)
    done = tuple(
        stay
        for stay in stays
        if (stay.first is None or stay.first < day) and not _is_long_ago(flock, stay)
    )
    from_plan = not _is_a_pen([stay for stay in done if _open(stay, day)], cocks)
    if from_plan:
        done = _of_plan(flock, day)
    gone = _gone(flock, done, day)
    _refuse_muddle(flock, [s for s in done if _open(s, day)], gone, from_plan=from_plan)
    missing = _taken_out(flock, stays, done, day) | gone
    whole = _as_they_go_on(done, day, cocks, missing)
    return Standing(
        day=day,
        diary=diary_of(flock, whole, waits),
        pen_of={stay.bird: stay.pen for stay in whole if stay.last is None},
        missing=missing,
        from_plan=from_plan,
        quarantined=_in_quarantine(flock, whole, day),
        undone=() if from_plan else tuple(_undone(flock, stays, day)),
    )


def _is_long_ago(flock: Flock, stay: Stay) -> bool:
    """Whether a stay ended too long before the first eggs for any of them to be of it."""
    limits = flock.settings.limits
    waits = days(limits.clean_out_days + limits.eggs_after_days + 1)
    return stay.last is not None and stay.last < flock.settings.pen_up - waits


def _undone(flock: Flock, stays: tuple[Stay, ...], day: dt.date) -> Iterator[Stay]:
    """Stays written for that day or later; those of a later turn of their pen stand as written."""
    later = {
        (pen.pen, pen.first_day)
        for pen in flock.tables.pens
        if pen.first_day is not None and pen.first_day > day
    }
    for stay in stays:
        first = stay.first
        if first is None or first < day:
            continue
        if not any(pen == stay.pen and turn <= first for pen, turn in later):
            yield stay


def _in_quarantine(
    flock: Flock, stays: tuple[Stay, ...], day: dt.date
) -> dict[str, dt.date | None]:
    """Birds that stand in a pen although the books have them in quarantine, with its end."""
    birds = flock.by_band()
    records = {stay.bird: birds[stay.bird].record for stay in stays if stay.last is None}
    return {
        band: record.release_on
        for band, record in sorted(records.items())
        if in_quarantine(record, day)
    }


def in_quarantine(record: BirdRecord, day: dt.date) -> bool:
    """Whether the books have a bird in quarantine on a day."""
    held = record.release_on is None or record.release_on > day
    return record.status is Status.QUARANTINE and held


def _of_plan(flock: Flock, day: dt.date) -> tuple[Stay, ...]:
    """The written plan as stays from the day of penning on."""
    up = flock.settings.pen_up
    if day <= up:
        raise UsageError(_not_yet(flock, day))
    birds = flock.by_band()
    for row in flock.tables.plan:
        for band in (row.cock, row.hen):
            left = birds[band].record.left_on
            if not birds[band].alive_here and left is not None and left < up:
                raise UsageError(
                    f"the standing plan is an older one: {band} (row {row.row}) had left on "
                    f"{left}, before the pens were made up on {up}. Keep this season's plan first: "
                    "matchmaker plan --pen-up DATE, or --write"
                )
    rows = {
        (bird, row.pen): Stay(bird=bird, pen=row.pen, first=up, row=row.row)
        for row in reversed(flock.tables.plan)
        for bird in (row.cock, row.hen)
    }
    if not rows:
        raise UsageError(
            "no pens stand: moves.csv says of no pen that a cock and a hen are in it, and there is "
            "no plan.csv. When the pens are made up: matchmaker plan --pen-up DATE"
        )
    return tuple(sorted(rows.values(), key=lambda stay: (stay.row, stay.bird)))


def _not_yet(flock: Flock, day: dt.date) -> str:
    firsts = (stay.first for stay in written_stays(flock.tables))
    up = min((first for first in firsts if first and first > day), default=flock.settings.pen_up)
    return (
        f"on {day} no pens stand yet: they are made up on {up}. Write in "
        "birds.csv who is gone and run matchmaker plan; or give a later day with --on"
    )


def waits_of(flock: Flock) -> Waits:
    """The waits that the settings give."""
    limits = flock.settings.limits
    return Waits(clean_out=limits.clean_out_days, eggs_after=limits.eggs_after_days)


def diary_of(flock: Flock, stays: Iterable[Stay], waits: Waits | None = None) -> Diary:
    """The diary of some stays of a flock's birds; the waits are those of its settings."""
    return Diary(
        stays=tuple(stays),
        cocks=frozenset(bird.band for bird in flock.birds if bird.sex is Sex.COCK),
        told_apart=frozenset(pen.pen for pen in flock.tables.pens if pen.dam_known),
        waits=waits or waits_of(flock),
    )


def written_stays(tables: FolderTables) -> tuple[Stay, ...]:
    """The stays that ``moves.csv`` tells, in its order."""
    return tuple(
        Stay(bird=m.bird, pen=m.pen, first=m.moved_in, last=m.moved_out, row=m.row)
        for m in tables.moves
    )


def _open(stay: Stay, day: dt.date) -> bool:
    """Whether a stay that has begun had not ended on the evening before a day."""
    return stay.last is None or stay.last >= day


def _is_a_pen(stays: list[Stay], cocks: frozenset[str]) -> bool:
    with_cock = {stay.pen for stay in stays if stay.bird in cocks}
    return any(stay.pen in with_cock for stay in stays if stay.bird not in cocks)


def _gone(flock: Flock, done: tuple[Stay, ...], day: dt.date) -> dict[str, dt.date]:
    """Birds still in a pen by what is written that the books call gone, with their last day.

    That is ``day`` where it is not written.
    """
    inside = {stay.bird for stay in done if _open(stay, day)}
    return {
        bird.band: min(bird.record.left_on or day, day)
        for bird in flock.birds
        if bird.band in inside and not bird.alive_here
    }


def _taken_out(
    flock: Flock, stays: tuple[Stay, ...], done: tuple[Stay, ...], day: dt.date
) -> dict[str, dt.date]:
    """Birds that were in a pen this season, have left it by this day, and are to be in none.

    Nobody knows why they were taken out: they may be dead. So they are not used again unless
    somebody says that they are at hand.
    """
    since = flock.settings.pen_up
    shut = {pen.pen for pen in flock.tables.pens if not pen.open}
    stays_on = {stay.bird for stay in stays if stay.last is None or stay.last > day}
    found: dict[str, dt.date] = {}
    for stay in done:
        if stay.last is None or stay.pen in shut:
            continue  # a pen that is shut says why its birds left
        if since <= stay.last <= day and stay.bird not in stays_on:
            found[stay.bird] = max(stay.last, found.get(stay.bird, stay.last))
    return found


def _as_they_go_on(
    done: tuple[Stay, ...], day: dt.date, cocks: frozenset[str], missing: Mapping[str, dt.date]
) -> tuple[Stay, ...]:
    """The stays, open if they last to this morning and no other cock has taken the pen since."""
    whole = tuple(replace(stay, last=None) if _open(stay, day) else stay for stay in done)
    held = {s.pen for s in whole if s.last is None and s.bird in cocks and s.bird not in missing}
    return tuple(
        replace(stay, last=missing[stay.bird])
        if stay.last is None and stay.bird in cocks & missing.keys() and stay.pen in held
        else stay
        for stay in whole
    )


def _refuse_muddle(
    flock: Flock, stays: list[Stay], gone: Mapping[str, dt.date], *, from_plan: bool
) -> None:
    """Refuse a bird in two pens, or two cocks in one, that morning."""
    table = "plan" if from_plan else "moves"
    faults = tuple(
        flock.tables.fault(
            table, stay.row, "pen", kind=kind, value=stay.pen, problem=problem, mend=mend
        )
        for kind, stay, problem, mend in _muddles(flock, stays, gone)
    )
    if faults:
        raise InputError(faults)


def _muddles(
    flock: Flock, stays: list[Stay], gone: Mapping[str, dt.date]
) -> Iterator[tuple[str, Stay, str, str]]:
    """Kind, stay, problem and mend of each stay that cannot be beside an earlier one."""
    sexes = {bird.band: bird.sex for bird in flock.birds}
    several = flock.settings.limits.pens_per_cock > 1
    pen_of: dict[str, Stay] = {}
    cock_of: dict[str, Stay] = {}
    for stay in stays:
        is_cock = sexes[stay.bird] is Sex.COCK
        other = pen_of.setdefault(stay.bird, stay)
        if other.pen != stay.pen and not (is_cock and several):
            yield (
                "two-pens-at-once",
                stay,
                f"{stay.bird} stands in pen {other.pen} (row {other.row}) and in pen {stay.pen}",
                "write when it left one of them, or delete one of the rows",
            )
        other = cock_of.setdefault(stay.pen, stay) if is_cock and stay.bird not in gone else stay
        if other.bird != stay.bird:
            both = f"{other.bird} (row {other.row}) and {stay.bird} stand in pen {stay.pen}"
            yield (
                "two-cocks-at-once",
                stay,
                f"{both} together, so nobody knows whose its eggs are",
                "write when one of them left, or delete one of the rows",
            )
