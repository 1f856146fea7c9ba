"""The pens as they stand on the morning of a day, who is lost, and what that leaves."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING

from matchmaker.errors import InputError, UsageError
from matchmaker.rebalance.clock import Waits
from matchmaker.rebalance.diary import Diary, Stay
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator, Mapping

    from matchmaker.errors import Fault
    from matchmaker.flock.flock import Flock
    from matchmaker.tables.folder import FolderTables


@dataclass(frozen=True, kw_only=True)
class Standing:
    """The pens on the morning of ``day``: what was written for that day or later is not done yet.

    ``pen_of`` says where each bird is that may stay there. ``lost`` are birds that are gone, with
    their last day; ``closed`` pens that can no longer be used, and ``evicted`` says which birds
    must leave which of them. ``missing`` are birds of these pens that are gone by what the books
    say. ``from_plan`` says that no stays are written and the standing plan is taken instead, as
    made up on the day of penning. ``undone`` are stays written for that day or later, which are
    planned anew.
    """

    day: dt.date
    diary: Diary
    pen_of: Mapping[str, str]
    lost: Mapping[str, dt.date] = field(default_factory=dict)
    closed: frozenset[str] = frozenset()
    evicted: Mapping[str, str] = field(default_factory=dict)
    missing: Mapping[str, dt.date] = field(default_factory=dict)
    from_plan: bool = False
    undone: tuple[Stay, ...] = ()

    def cock_in(self, pen: str) -> str | None:
        """The cock who may stay in a pen."""
        return self._cock_of.get(pen)

    @cached_property
    def _cock_of(self) -> Mapping[str, str]:
        return {pen: bird for bird, pen in self.places if bird in self.diary.cocks}

    @cached_property
    def places(self) -> tuple[tuple[str, str], ...]:
        """Every bird that may stay with its pen; a cock may have several."""
        stays = self.diary.stays
        return tuple(sorted({(stay.bird, stay.pen) for stay in stays if stay.last is None}))

    @cached_property
    def cocks(self) -> tuple[str, ...]:
        """The cocks that stand in pens, in order of their bands."""
        return tuple(sorted(set(self._cock_of.values())))

    def homes(self, cock: str) -> tuple[str, ...]:
        """The pens in which a cock may stay."""
        return tuple(pen for pen, here in sorted(self._cock_of.items()) if here == cock)

    def stands(self, bird: str) -> str | None:
        """The pen in which a bird stood this morning, whether it may stay there or not."""
        return self.pen_of.get(bird) or self.evicted.get(bird)

    def hens_in(self, pen: str) -> tuple[str, ...]:
        """The hens who may stay in a pen."""
        return self._hens_of.get(pen, ())

    @cached_property
    def _hens_of(self) -> Mapping[str, tuple[str, ...]]:
        found: dict[str, tuple[str, ...]] = {}
        for bird, pen in sorted(self.pen_of.items()):
            if bird not in self.diary.cocks:
                found[pen] = (*found.get(pen, ()), bird)
        return found

    def left_by_cock(self, pen: str) -> dt.date | None:
        """The last day of the last cock in a pen that has none now; ``None`` if there was none."""
        lasts = [stay.last for stay in self.diary.cocks_of(pen) if stay.last is not None]
        return max(lasts, default=None)

    def cockless_since(self, hen: str) -> dt.date | None:
        """Since when a hen is without a cock, having been with one; ``None`` if she has one."""
        pen = self.pen_of.get(hen)
        if pen is not None and self.cock_in(pen) is not None:
            return None
        lasts = [one.last for one in self.diary.clock(hen).contacts if one.last is not None]
        return max(lasts, default=None)


def lose(
    standing: Standing, lost: Mapping[str, dt.date], closed: frozenset[str] = frozenset()
) -> Standing:
    """The same morning with birds lost, each on its last day, and pens closed."""
    stays = tuple(_cut(stay, lost, closed, standing.day) for stay in standing.diary.stays)
    return replace(
        standing,
        diary=replace(standing.diary, stays=stays),
        pen_of={stay.bird: stay.pen for stay in stays if stay.last is None},
        lost={**standing.lost, **lost},
        closed=standing.closed | closed,
        evicted={
            **{bird: pen for bird, pen in standing.evicted.items() if bird not in lost},
            **{b: pen for b, pen in standing.pen_of.items() if pen in closed and b not in lost},
        },
    )


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
    done = tuple(stay for stay in stays if stay.first is None or stay.first < day)
    from_plan = not _is_a_pen([stay for stay in done if _open(stay, day)], cocks)
    if from_plan:
        done = _of_plan(flock, day)
    missing = _gone(flock, done, day)
    faults = tuple(
        _faults(
            tables,
            [s for s in done if _open(s, day)],
            cocks,
            missing,
            from_plan=from_plan,
            several=flock.settings.limits.pens_per_cock > 1,
        )
    )
    if faults:
        raise InputError(faults)
    taken_out = _taken_out(flock, stays, done, day)
    missing |= {bird: when for bird, when in taken_out.items() if bird not in missing}
    whole = tuple(replace(stay, last=None) if _open(stay, day) else stay for stay in done)
    held = {s.pen for s in whole if s.last is None and s.bird in cocks and s.bird not in missing}
    whole = tuple(
        replace(stay, last=missing[stay.bird])
        if stay.last is None and stay.bird in cocks & missing.keys() and stay.pen in held
        else stay
        for stay in whole
    )
    told = frozenset(pen.pen for pen in tables.pens if pen.dam_known)
    return Standing(
        day=day,
        diary=Diary(stays=whole, cocks=cocks, told_apart=told, waits=waits or waits_of(flock)),
        pen_of={stay.bird: stay.pen for stay in whole if stay.last is None},
        missing=missing,
        from_plan=from_plan,
        undone=() if from_plan else tuple(stay for stay in stays if stay not in done),
    )


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
    return (
        f"on {day} no pens stand yet: they are made up on {flock.settings.pen_up}. Write in "
        "birds.csv who is gone and run matchmaker plan; or give a later day with --on"
    )


def waits_of(flock: Flock) -> Waits:
    """The waits that the settings give."""
    limits = flock.settings.limits
    return Waits(clean_out=limits.clean_out_days, eggs_after=limits.eggs_after_days)


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
    stays_on = {stay.bird for stay in stays if stay.last is None or stay.last > day}
    found: dict[str, dt.date] = {}
    for stay in done:
        if stay.last is not None and since <= stay.last <= day and stay.bird not in stays_on:
            found[stay.bird] = max(stay.last, found.get(stay.bird, stay.last))
    return found


def _cut(stay: Stay, gone: Mapping[str, dt.date], closed: frozenset[str], day: dt.date) -> Stay:
    """A stay, ended with its bird or with its pen at the latest."""
    ends = [] if stay.last is None else [stay.last]
    ends += [gone[stay.bird]] if stay.bird in gone else []
    ends += [day] if stay.pen in closed and stay.last is None else []
    return replace(stay, last=min(ends, default=None))


def _faults(
    tables: FolderTables,
    stays: list[Stay],
    cocks: frozenset[str],
    gone: Mapping[str, dt.date],
    *,
    from_plan: bool,
    several: bool,
) -> Iterator[Fault]:
    """A bird in two pens, or two cocks in one, that morning."""
    table, column = ("plan", "pen") if from_plan else ("moves", "pen")
    first_of: dict[str, Stay] = {}
    cock_of: dict[str, Stay] = {}
    for stay in stays:
        other = first_of.setdefault(stay.bird, stay)
        if other.pen != stay.pen and (stay.bird not in cocks or not several):
            yield tables.fault(
                table, stay.row, column, kind="two-pens-at-once", value=stay.pen,
                problem=f"{stay.bird} stands in {other.pen} (row {other.row}) and in {stay.pen}",
                mend="write when it left one of them, or delete one of the rows",
            )  # fmt: skip
        if stay.bird in cocks and stay.bird not in gone:
            other = cock_of.setdefault(stay.pen, stay)
            if other.bird != stay.bird:
                yield tables.fault(
                    table, stay.row, column, kind="two-cocks-at-once", value=stay.pen,
                    problem=f"{other.bird} (row {other.row}) and {stay.bird} stand in {stay.pen} "
                    "together, so nobody knows whose its eggs are",
                    mend="write when one of them left, or delete one of the rows",
                )  # fmt: skip
