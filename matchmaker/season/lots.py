"""Which eggs there are to set: by week, by pen or by hen, and what each of them may become."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Final

from matchmaker.pairs.value import eggs_a_week
from matchmaker.rebalance.clock import days
from matchmaker.rebalance.eggs import collected
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from matchmaker.pairs.pair import Pair
    from matchmaker.season.rates import Rates
    from matchmaker.season.standing import Pens
    from matchmaker.tables.records import EggRecord

STORED_DAYS: Final = 7
"""Eggs are set at most so many days after laying: longer storage harms (Fasenko 2007, Poult Sci
86:1020; a loss can be measured from 2 to 3 days on, World's Poultry Science Journal)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Week:
    """Days of which the eggs are set together on ``set_on``, both ends counted."""

    number: int
    first: dt.date
    last: dt.date
    set_on: dt.date


def weeks_of(first: dt.date, last: dt.date) -> tuple[Week, ...]:
    """The weeks of a season in which eggs are kept.

    Examples
    --------
    >>> import datetime as dt
    >>> found = weeks_of(dt.date(2027, 2, 8), dt.date(2027, 2, 20))
    >>> [(week.number, str(week.last), str(week.set_on)) for week in found]
    [(1, '2027-02-14', '2027-02-15'), (2, '2027-02-20', '2027-02-21')]
    """
    found: list[Week] = []
    at = first
    while at <= last:
        end = min(at + days(STORED_DAYS - 1), last)
        found.append(Week(number=len(found) + 1, first=at, last=end, set_on=end + days(1)))
        at = end + days(1)
    return tuple(found)


@dataclass(frozen=True, slots=True, kw_only=True)
class Portion:
    """Eggs of one pair in a lot, as many as are expected of it.

    ``lives`` is what of the chance that all eggs share is left for its chicks: more or less by the
    fertility of its cock and by what inbreeding takes.
    """

    pair: Pair
    eggs: float
    lives: float

    def wanted(self, sex: Sex) -> float:
        """The part of the shared chance for a wanted chick of this sex."""
        return self.lives * (self.pair.wanted_by_sex or {}).get(sex, 0.0)


@dataclass(frozen=True, kw_only=True)
class Lot:
    """Eggs that are not told apart further: of one hen in one week, or of one pen.

    ``hen`` is "" where the eggs of a pen are not told apart; an egg is then one of its pairs' by
    how much they lay. ``eggs`` is a whole number that can be set. ``tested`` is the bird on trial
    in a test mating.
    """

    week: Week
    pen: str
    hen: str
    cock: str
    line: str
    tested: str
    portions: tuple[Portion, ...]
    eggs: int

    @property
    def source(self) -> tuple[str, str, str, str, str]:
        """What tells lots of one week apart."""
        return (self.pen, self.hen, self.cock, self.line, self.tested)

    @cached_property
    def hens(self) -> tuple[str, ...]:
        """The hens of whom these eggs are."""
        return tuple(sorted({one.pair.hen for one in self.portions}))

    @cached_property
    def _whole(self) -> float:
        return sum(one.eggs for one in self.portions)

    @cached_property
    def lives(self) -> float:
        """Mean over the eggs of the part of the shared chance that they have."""
        return sum(one.eggs * one.lives for one in self.portions) / self._whole

    @cached_property
    def by_sex(self) -> Mapping[Sex, float]:
        """Mean over the eggs of the part of the shared chance for a wanted chick of each sex."""
        return {
            sex: sum(one.eggs * one.wanted(sex) for one in self.portions) / self._whole
            for sex in Sex
        }

    @cached_property
    def wanted(self) -> float:
        """The same for a wanted chick of either sex."""
        return sum(self.by_sex.values())


@dataclass(frozen=True, kw_only=True)
class Laid:
    """The eggs of a season's pens."""

    pens: Pens
    rates: Rates

    @cached_property
    def weeks(self) -> tuple[Week, ...]:
        """The weeks of the season."""
        settings = self.pens.table.study.flock.settings
        return weeks_of(settings.collect_from, settings.collect_until)

    @cached_property
    def lots(self) -> tuple[Lot, ...]:
        """All lots, by week, pen and hen; eggs that may be of two cocks are in none.

        What a hen is expected to lay is a broken number: over the weeks as many whole eggs are
        counted as she has laid altogether.
        """
        sofar: dict[tuple[str, ...], float] = defaultdict(float)
        found = []
        for week in self.weeks:
            for source, portions in sorted(self.portions(week.first, week.last).items()):
                before = sofar[source]
                sofar[source] += sum(one.eggs for one in portions)
                eggs = int(sofar[source] + 1e-9) - int(before + 1e-9)
                if eggs > 0:
                    found.append(_lot(week, source, portions, eggs))
        return tuple(found)

    def portions(self, first: dt.date, last: dt.date) -> dict[tuple[str, ...], list[Portion]]:
        """Eggs of some days that surely are of one cock, by pen, hen, cock, line and test."""
        found: dict[tuple[str, ...], list[Portion]] = defaultdict(list)
        for hen in self.pens.hens:
            for pen, cock, amount in self._credited(hen, first, last):
                pair = self.pens.pair(hen, cock)
                if pair is None or pair.crossing is None:
                    continue
                told = hen if pen in self.pens.diary.told_apart else ""
                tested = _tested(pair)
                found[pen, told, cock, pair.line or "", tested].append(self._portion(pair, amount))
        return dict(found)

    def _credited(
        self, hen: str, first: dt.date, last: dt.date
    ) -> Iterator[tuple[str, str, float]]:
        """Pen, cock and days, each as it is fertile."""
        stays = self.pens.diary.stays_of(hen)
        if len(stays) == 1 and stays[0].last is None:
            for cock, amount in self.pens.diary.credit(hen, first, last).items():
                yield stays[0].pen, cock, amount
            return
        amounts: dict[tuple[str, str], float] = defaultdict(float)
        day = first
        while day <= last:
            owner = self.pens.diary.credited(hen, day)
            pen = self.pens.pen_of(hen, day)
            if owner is not None and pen is not None:
                amounts[pen, owner[0]] += owner[1]
            day += days(1)
        for (pen, cock), amount in sorted(amounts.items()):
            yield pen, cock, amount

    def _portion(self, pair: Pair, amount: float) -> Portion:
        return Portion(pair=pair, eggs=amount * self._a_day(pair.hen), lives=self.lives(pair))

    def _a_day(self, hen: str) -> float:
        """Eggs that a hen is expected to lay a day."""
        flock = self.pens.table.study.flock
        bird = flock.by_band()[hen]
        own = bird.record.lay_per_week
        return (self.rates.lay.value if own is None else eggs_a_week(bird, flock.settings)) / 7.0

    def lives(self, pair: Pair) -> float:
        """The part of the flock's chance of a raised chick that a pair's eggs have.

        Of fertilities written for hen and cock the lower counts, else that of the cock's own sets.
        """
        flock = self.pens.table.study.flock
        birds = flock.by_band()
        written = [
            birds[band].record.fertility
            for band in (pair.hen, pair.cock)
            if birds[band].record.fertility is not None
        ]
        fertility = min((one for one in written if one is not None), default=None)
        if fertility is None:
            fertility = self.rates.of_cock(pair.cock)
        usual = self.rates.fertility.value
        inbred = max(1.0 - flock.settings.year.depression * pair.kinship, 0.0)
        return inbred * fertility / usual if usual > 0 else 0.0

    def of_set(self, record: EggRecord) -> tuple[Lot, ...]:
        """A set of eggs in the book as a lot, or none where its cock is not certain.

        Of hens that are clear of another cock on some of the days only, or of which some stand in
        no row of matings, so many of the eggs count as were likely laid by the others.
        """
        span = collected(record)
        if span is None:
            return ()
        week = Week(
            number=0, first=span[0], last=span[1], set_on=record.set_on or span[1] + days(1)
        )
        here: dict[tuple[str, ...], list[Portion]] = defaultdict(list)
        for (pen, _, cock, *row), portions in sorted(self.portions(*span).items()):
            if pen == record.pen and record.cock in {"", cock}:
                own = [one for one in portions if record.hen in {"", one.pair.hen}]
                here[pen, record.hen, cock, *row] += own
        laid = [sum(one.eggs for one in portions) for portions in here.values()]
        whole = sum(laid)
        if whole <= 0 or not record.eggs:
            return ()
        certain = round(record.eggs * self._certain_part(record, span))
        counts = shared_out(certain, laid)
        return tuple(
            _lot(week, source, _parted(portions, record.eggs / whole), count)
            for (source, portions), count in zip(here.items(), counts, strict=True)
            if count
        )

    def _certain_part(self, record: EggRecord, span: tuple[dt.date, dt.date]) -> float:
        """The part of a set's eggs that is of one cock for certain and of a pair in a row."""
        certain = whole = 0.0
        for hen in self.pens.hens if not record.hen else (record.hen,):
            for number in range((span[1] - span[0]).days + 1):
                day = span[0] + days(number)
                if self.pens.pen_of(hen, day) != record.pen:
                    continue
                cocks = self._cocks_of(hen, record.pen, day)
                if record.cock and len(cocks) == 1 and record.cock not in cocks:
                    continue
                pair = self.pens.pair(hen, min(cocks)) if len(cocks) == 1 else None
                whole += self._a_day(hen)
                if pair is not None and pair.crossing is not None:
                    certain += self._a_day(hen)
        return certain / whole if whole > 0 else 0.0

    def _cocks_of(self, hen: str, pen: str, day: dt.date) -> set[str]:
        """Cocks whose a hen's egg may be on a day; of her neighbours where not told apart."""
        diary = self.pens.diary
        hens = (hen,) if pen in diary.told_apart else diary.hens_in(pen, day)
        return {cock for one in hens for cock in diary.clock(one).sires(day)}


def shared_out(whole: int, parts: Sequence[float]) -> list[int]:
    """Whole numbers in proportion to some parts that add up to the whole: none is lost.

    Examples
    --------
    >>> shared_out(5, [1.0, 1.0]), shared_out(3, [2.0, 1.0]), shared_out(4, [0.0])
    ([3, 2], [2, 1], [0])
    """
    total = sum(parts)
    if total <= 0:
        return [0] * len(parts)
    exact = [whole * part / total for part in parts]
    found = [int(one + 1e-9) for one in exact]
    order = sorted(range(len(parts)), key=lambda at: (found[at] - exact[at], at))
    for at in order[: whole - sum(found)]:
        found[at] += 1
    return found


def _lot(week: Week, source: tuple[str, ...], portions: Iterable[Portion], eggs: int) -> Lot:
    pen, hen, cock, line, tested = source
    return Lot(
        week=week,
        pen=pen,
        hen=hen,
        cock=cock,
        line=line,
        tested=tested,
        portions=tuple(portions),
        eggs=eggs,
    )


def _parted(portions: Iterable[Portion], part: float) -> list[Portion]:
    return [Portion(pair=one.pair, eggs=one.eggs * part, lives=one.lives) for one in portions]


def _tested(pair: Pair) -> str:
    if pair.crossing is None or pair.crossing.tests is None:
        return ""
    return pair.hen if pair.crossing.tests is Sex.HEN else pair.cock
