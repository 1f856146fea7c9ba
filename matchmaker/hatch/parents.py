"""Whose chicks a set holds: hens in the pen while the eggs were collected, cocks by the clock."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING

from matchmaker.hatch.old_plan import refuse_old_plan
from matchmaker.rebalance.clock import days
from matchmaker.rebalance.diary import Stay
from matchmaker.rebalance.eggs import collecting_days
from matchmaker.rebalance.morning import diary_of, written_stays
from matchmaker.tables.parents import read_parent
from matchmaker.tables.records import Parentage, Sex

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from matchmaker.flock.flock import Flock
    from matchmaker.hatch.told import Told
    from matchmaker.rebalance.diary import Diary


@dataclass(frozen=True, slots=True, kw_only=True)
class Meeting:
    """Why a cock may be the sire of an egg: with which hen, and when the two were together last.

    ``last`` is ``None`` where they were together on the last day of collecting.
    """

    cock: str
    hen: str
    last: dt.date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Parents:
    """The possible parents of the chicks of one set, with their weights.

    ``in_pen`` are the cocks that stood in the pen; ``meetings`` say of each possible sire why;
    ``others`` are cocks that met one of the hens so long before that no egg is taken to be
    theirs. ``told_apart`` says that the pen's eggs are told apart by hen, ``assumed`` that nobody
    wrote when they were collected, ``from_plan`` that the written plan tells who stood in the
    pen, ``said`` that the keeper named the sire.
    """

    dams: tuple[tuple[str, Fraction], ...]
    sires: tuple[tuple[str, Fraction], ...]
    first: dt.date
    last: dt.date
    in_pen: tuple[str, ...] = ()
    meetings: tuple[Meeting, ...] = ()
    others: tuple[Meeting, ...] = ()
    told_apart: bool = False
    assumed: bool = False
    from_plan: bool = False
    said: bool = False

    @property
    def sire(self) -> str:
        """The sire where he is sure, else ""."""
        return self.sires[0][0] if len(self.sires) == 1 else ""

    @property
    def dam(self) -> str:
        """The dam where she is sure, else ""."""
        return self.dams[0][0] if len(self.dams) == 1 else ""


def parent_cell(weights: tuple[tuple[str, Fraction], ...]) -> str:
    """Return possible parents as ``birds.csv`` has them; weights only where they differ.

    Examples
    --------
    >>> parent_cell((("C04", Fraction(1, 2)), ("C07", Fraction(1, 2))))
    'C04|C07'
    >>> parent_cell((("H1", Fraction(7, 10)), ("H2", Fraction(3, 10))))
    'H1:7/10|H2:3/10'
    """
    if len({weight for _, weight in weights}) <= 1:
        return "|".join(band for band, _ in weights)
    return "|".join(f"{band}:{w.numerator}/{w.denominator}" for band, w in weights)


def days_of_eggs(
    told: Told, set_on: dt.date | None, written: tuple[dt.date | None, dt.date | None]
) -> tuple[dt.date, dt.date, bool]:
    """Return the days of collecting: as told, as the book has them, else the week before setting.

    The last says whether they had to be assumed.
    """
    if told.collected is not None:
        return (*told.collected, False)
    span = collecting_days(*written, set_on)
    if span is None:
        told.refuse(
            "collected",
            "",
            "nobody wrote when these eggs were collected or set",
            "give the days, as in 2027-02-23..2027-03-01",
        )
    return (*span, None in written)


def parents_of(flock: Flock, told: Told, span: tuple[dt.date, dt.date, bool]) -> Parents:
    """Return who the parents of a set can be.

    A hen counts by the days on which she was in the pen; every cock whose sperm one of them may
    have carried on one of those days counts alike: which of them is likelier nobody knows.

    Raises
    ------
    UsageError, InputError
        If by the book no hen was in the pen, or no cock can be the sire, and none is named.
    """
    first, last, assumed = span
    _check_named(flock, told)
    diary, from_plan = _diary(flock, told, first, last)
    span_days = [first + days(n) for n in range((last - first).days + 1)]
    present = {day: diary.hens_in(told.pen, day) for day in span_days}
    dams = _dams(told, present, _where(told, first, last))
    meetings = tuple(_meetings(diary, present, [band for band, _ in dams], last))
    sires, said = _sires(told, meetings, _where(told, first, last))
    in_pen = [s.bird for s in diary.cocks_of(told.pen) if any(s.covers(d) for d in span_days)]
    possible = {band for band, _ in sires}
    return Parents(
        dams=dams,
        sires=sires,
        first=first,
        last=last,
        in_pen=tuple(sorted(set(in_pen))),
        meetings=meetings,
        others=tuple(_met_before(diary, [band for band, _ in dams], first, possible)),
        told_apart=told.pen in diary.told_apart,
        assumed=assumed,
        from_plan=from_plan,
        said=said,
    )


def _where(told: Told, first: dt.date, last: dt.date) -> str:
    return f"pen {told.pen} from {first} to {last}"


def _check_named(flock: Flock, told: Told) -> None:
    birds = flock.by_band()
    for column, band, sex in _named(told):
        if band not in birds:
            told.refuse(column, band, "no such bird is in birds.csv", "mend the band")
        if birds[band].sex not in {None, sex}:
            told.refuse(column, band, f"it is a {birds[band].sex} in birds.csv", f"name a {sex}")


def _named(told: Told) -> Iterator[tuple[str, str, Sex]]:
    if told.dam:
        yield "dam", told.dam, Sex.HEN
    if told.sire:
        for band, _ in _said(told).candidates:
            yield "sire", band, Sex.COCK


def _said(told: Told) -> Parentage:
    reading = read_parent(told.sire)
    if not isinstance(reading.value, Parentage) or not reading.value.candidates:
        told.refuse(
            "sire", told.sire, "this names no cock", "write a band, or several as in C04|C07"
        )
    return reading.value


def _diary(flock: Flock, told: Told, first: dt.date, last: dt.date) -> tuple[Diary, bool]:
    """The stays that are written, else with those of the plan; whether the plan was needed."""
    cocks = frozenset(bird.band for bird in flock.birds if bird.sex is Sex.COCK)
    stays = list(_while_here(flock, written_stays(flock.tables)))
    span = [first + days(n) for n in range((last - first).days + 1)]
    written = any(
        stay.pen == told.pen and stay.bird not in cocks and stay.covers(day)
        for stay in stays
        for day in span
    )
    if not written:
        refuse_old_plan(flock, told)
        stays += _of_plan(flock, stays)
    return diary_of(flock, stays), not written


def _of_plan(flock: Flock, stays: list[Stay]) -> Iterator[Stay]:
    """The written plan as stays since the pens were made up, of birds of which nothing is told."""
    up = flock.settings.pen_up
    told = {stay.bird for stay in stays if stay.last is None or stay.last >= up}
    planned = dict.fromkeys(
        (bird, row.pen)
        for row in flock.tables.plan
        for bird in (row.cock, row.hen)
        if bird not in told
    )
    yield from _while_here(flock, tuple(Stay(bird=b, pen=pen, first=up) for b, pen in planned))


def _while_here(flock: Flock, stays: tuple[Stay, ...]) -> Iterator[Stay]:
    """Stays ended with the day on which the bird left the farm."""
    birds = flock.by_band()
    for stay in stays:
        record = birds[stay.bird].record
        if birds[stay.bird].sex is None:
            continue  # it lays no eggs and sires no chicks as far as the book knows
        left = None if record.status.alive_here else record.left_on
        last = min((day for day in (stay.last, left) if day is not None), default=None)
        if last is None or stay.first is None or stay.first <= last:
            yield replace(stay, last=last)


def _dams(
    told: Told, present: Mapping[dt.date, tuple[str, ...]], where: str
) -> tuple[tuple[str, Fraction], ...]:
    if told.dam and (told.sire or any(told.dam in hens for hens in present.values())):
        return ((told.dam, Fraction(1)),)
    if told.dam:
        told.refuse(
            "dam",
            told.dam,
            f"by the tables she was not in {where}",
            f"write in moves.csv when she was there, or name the cock too ({told.called('sire')})",
        )
    hen_days = Counter(hen for hens in present.values() for hen in hens)
    if not hen_days:
        told.refuse(
            "pen",
            told.pen,
            f"neither moves.csv nor the plan has a hen in {where}",
            f"write in moves.csv who was there, or name both parents ({told.called('dam')}, "
            f"{told.called('sire')})",
        )
    total = sum(hen_days.values())
    return tuple((hen, Fraction(n, total)) for hen, n in sorted(hen_days.items()))


def _meetings(
    diary: Diary, present: Mapping[dt.date, tuple[str, ...]], dams: list[str], last: dt.date
) -> Iterator[Meeting]:
    """Each cock that can be the sire with the hen through whom, the latest meeting first."""
    found: dict[str, Meeting] = {}
    for day, hens in present.items():
        for hen in hens:
            if hen in dams:
                for cock in diary.clock(hen).sires(day):
                    met = Meeting(cock=cock, hen=hen, last=_last_met(diary, hen, cock, last))
                    found[cock] = max(found.get(cock, met), met, key=_lateness)
    yield from (found[cock] for cock in sorted(found))


def _last_met(diary: Diary, hen: str, cock: str, last: dt.date) -> dt.date | None:
    ends = [one.last for one in diary.clock(hen).contacts if one.cock == cock]
    known = [end for end in ends if end is not None]
    return max(known) if len(known) == len(ends) and max(known) < last else None


def _lateness(met: Meeting) -> dt.date:
    return met.last or dt.date.max


def _met_before(
    diary: Diary, dams: list[str], first: dt.date, possible: set[str]
) -> Iterator[Meeting]:
    """Cocks that the hens met before, too long ago for an egg to be taken as theirs."""
    found: dict[str, Meeting] = {}
    for hen in dams:
        for one in diary.clock(hen).contacts:
            if one.cock not in possible and one.last is not None and one.last < first:
                met = Meeting(cock=one.cock, hen=hen, last=one.last)
                found[one.cock] = max(found.get(one.cock, met), met, key=_lateness)
    yield from sorted(found.values(), key=lambda met: (-_lateness(met).toordinal(), met.cock))


def _sires(
    told: Told, meetings: tuple[Meeting, ...], where: str
) -> tuple[tuple[tuple[str, Fraction], ...], bool]:
    if told.sire:
        named = _said(told).candidates
        shares = [Fraction(chance).limit_denominator(1000) for _, chance in named]
        total = sum(shares)
        pairs = zip(named, shares, strict=True)
        return tuple((band, share / total) for (band, _), share in pairs), True
    if not meetings:
        told.refuse(
            "pen",
            told.pen,
            f"by the tables no cock was with the hens of {where}, or for weeks before",
            f"write in moves.csv which cock was there, or name him ({told.called('sire')})",
        )
    return tuple((met.cock, Fraction(1, len(meetings))) for met in meetings), False
