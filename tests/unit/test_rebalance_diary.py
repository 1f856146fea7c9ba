"""The diary of a season against a calendar kept day by day, over stays drawn at random.

The days and rules are our own; nothing here is taken from elsewhere.
"""

from __future__ import annotations

import datetime as dt
import random
from collections import Counter
from dataclasses import dataclass
from functools import cached_property
from itertools import product

import pytest

from matchmaker.rebalance.clock import Waits
from matchmaker.rebalance.diary import Diary, Stay

UP = dt.date(2027, 2, 1)
SPAN = 75
"""Days that are looked at, from the day on which the pens were made up."""

LONG_AGO = -60
"""Where a stay without a first day begins in the slow diary, in days from then."""


def diary_by_seed(seed: int) -> Diary:
    """A diary of three pens: most birds stay where they are, some move, some come or go."""
    rng = random.Random(f"diary {seed}")  # noqa: S311
    pens = ("Coop", "Orchard", "Yard")
    birds = [f"C{place}" for place in range(1, 4)] + [f"H{place}" for place in range(1, 6)]
    stays: list[Stay] = []
    for bird in birds:
        pen, first = rng.choice(pens), rng.choice((None, 0, 0, 0, 5))
        while first is None or first < SPAN:
            last = None if rng.random() < 0.6 else (first or 0) + rng.randint(0, 30)
            ends = [None if one is None else UP + dt.timedelta(days=one) for one in (first, last)]
            stays.append(Stay(bird=bird, pen=pen, first=ends[0], last=ends[1]))
            if last is None:
                break
            pen, first = rng.choice(pens), last + rng.randint(0, 12)
    return Diary(
        stays=tuple(rng.sample(stays, len(stays))),
        cocks=frozenset(bird for bird in birds if bird.startswith("C")),
        told_apart=frozenset(pen for pen in pens if rng.random() < 0.5),
        waits=Waits(clean_out=rng.choice((14, 21, 28)), eggs_after=rng.choice((7, 10, 14))),
    )


def fixed_diary_by_seed(seed: int) -> Diary:
    """A diary in which hardly anybody moves, as most are."""
    rng = random.Random(f"fixed {seed}")  # noqa: S311
    pens = ("Coop", "Orchard", "Yard")
    stays = [
        Stay(bird=f"{sex}{place}", pen=pen, first=UP + dt.timedelta(days=rng.choice((0, 0, 0, 9))))
        for place, pen in enumerate(pens)
        for sex in ("C", f"H{place}x", f"H{place}y")
    ]
    left = UP + dt.timedelta(days=20)
    for _ in range(rng.choice((0, 1, 1))):
        at = rng.randrange(len(stays))
        stays[at] = Stay(bird=stays[at].bird, pen=stays[at].pen, first=stays[at].first, last=left)
    return Diary(
        stays=tuple(stays),
        cocks=frozenset(one.bird for one in stays if one.bird.startswith("C")),
        told_apart=frozenset(pen for pen in pens if rng.random() < 0.5),
    )


def days_of(stay: Stay) -> set[int]:
    """The days of a stay, counted from ``UP``; one that goes on does so for a while."""
    first = LONG_AGO if stay.first is None else (stay.first - UP).days
    last = 2 * SPAN if stay.last is None else (stay.last - UP).days
    return set(range(first, last + 1))


@dataclass(frozen=True)
class SlowDiary:
    """Who was where on each day, as plain sets of (day, pen), days counted from ``UP``."""

    diary: Diary

    @cached_property
    def where(self) -> dict[str, set[tuple[int, str]]]:
        found: dict[str, set[tuple[int, str]]] = {}
        for stay in self.diary.stays:
            found.setdefault(stay.bird, set()).update((day, stay.pen) for day in days_of(stay))
        return found

    @cached_property
    def together(self) -> dict[tuple[str, str], set[int]]:
        """The days on which a hen was in one pen with a cock.

        Where they share one day of longer stays, one left as the other came.
        """
        found: dict[tuple[str, str], set[int]] = {}
        for hers, his in product(self.diary.stays, repeat=2):
            if hers.bird in self.diary.cocks or his.bird not in self.diary.cocks:
                continue
            own, other = days_of(hers), days_of(his)
            days = own & other if hers.pen == his.pen else set()
            if len(days) > 1 or (days and 1 in (len(own), len(other))):
                found.setdefault((hers.bird, his.bird), set()).update(days)
        return found

    def sires(self, hen: str, day: int) -> set[str]:
        """Cocks with whom she was on a day before, less than the clean-out ago."""
        clean = self.diary.waits.clean_out
        return {
            cock
            for (one, cock), days in self.together.items()
            if one == hen and any(was in days for was in range(day - clean + 1, day))
        }

    def fertility(self, hen: str, cock: str, day: int) -> float:
        """Full from the seventh day with him to a week after, then falling to 18.5 days."""
        days = self.together.get((hen, cock), set())
        for gone in range(self.diary.waits.eggs_after + 1):
            was = day - gone
            if was in days:
                begun = was
                while begun - 1 in days:
                    begun -= 1
                if begun == LONG_AGO or day >= begun + 7:
                    return min(1.0, (18.5 - gone) / 11.5)
        return 0.0

    def owner(self, hen: str, day: int) -> tuple[str, float] | None:
        """Whose her egg surely is: she and all whose eggs it may be are sure of one cock."""
        hens = {hen}
        for at, pen in self.where[hen]:
            if at == day and pen not in self.diary.told_apart:
                hens |= {one for one, own in self.where.items() if (day, pen) in own}
        sires: set[str] = set()
        for one in hens - self.diary.cocks:
            sires |= self.sires(one, day)
        if len(sires) != 1:
            return None
        (sire,) = sires
        fertility = self.fertility(hen, sire, day)
        return (sire, fertility) if fertility > 0 else None


def hens_of(diary: Diary) -> list[str]:
    return sorted({stay.bird for stay in diary.stays} - diary.cocks)


@pytest.mark.parametrize("start", range(0, 60, 20))
def test_each_egg_is_credited_as_by_a_calendar(start: int) -> None:
    seen: Counter[str] = Counter()
    for seed in range(start, start + 20):
        diary = diary_by_seed(seed)
        slow = SlowDiary(diary)
        for hen in hens_of(diary):
            for day in range(SPAN):
                found = diary.credited(hen, UP + dt.timedelta(days=day))
                expected = slow.owner(hen, day)
                place = (seed, hen, day)
                assert (found is None) == (expected is None), place
                if found is not None and expected is not None:
                    assert found[0] == expected[0], place
                    assert found[1] == pytest.approx(expected[1]), place
                seen["nobody's" if found is None else "full" if found[1] == 1 else "less"] += 1
    assert min(seen["nobody's"], seen["full"], seen["less"]) > 50, seen


def by_day(diary: Diary, hen: str, first: dt.date, last: dt.date) -> dict[str, float]:
    """The sum of what each day is credited."""
    found: dict[str, float] = {}
    for number in range((last - first).days + 1):
        owner = diary.credited(hen, first + dt.timedelta(days=number))
        if owner is not None:
            found[owner[0]] = found.get(owner[0], 0.0) + owner[1]
    return found


def test_days_credited_at_one_stroke_are_those_one_by_one() -> None:
    rng = random.Random("days")  # noqa: S311
    quick = slow = 0
    for seed in range(150):
        for diary in (diary_by_seed(seed), fixed_diary_by_seed(seed)):
            for hen in hens_of(diary):
                first = UP + dt.timedelta(days=rng.randint(-5, 40))
                last = first + dt.timedelta(days=rng.randint(-3, 30))
                plain = diary._undisturbed(hen) is not None
                quick, slow = quick + plain, slow + (not plain)
                expected = by_day(diary, hen, first, last)
                assert diary.credit(hen, first, last) == pytest.approx(expected), (seed, hen)
    assert min(quick, slow) > 200, (quick, slow)


def test_the_order_in_which_stays_are_written_does_not_matter() -> None:
    for seed in range(20):
        diary = diary_by_seed(seed)
        turned = Diary(
            stays=diary.stays[::-1],
            cocks=diary.cocks,
            told_apart=diary.told_apart,
            waits=diary.waits,
        )
        for hen in hens_of(diary):
            ends = (UP, UP + dt.timedelta(days=SPAN))
            assert diary.credit(hen, *ends) == pytest.approx(turned.credit(hen, *ends))


def test_a_bird_that_was_in_no_pen_met_nobody() -> None:
    diary = diary_by_seed(0)
    assert diary.clock("H99").contacts == ()
    assert diary.credited("H99", UP) is None
    assert diary.credit("H99", UP, UP + dt.timedelta(days=30)) == {}


@pytest.mark.parametrize(
    ("his_first", "his_last", "met"), [(0, 9, False), (9, 9, True), (0, 10, True), (12, 20, True)]
)
def test_a_cock_that_left_as_she_came_never_met_her(
    his_first: int, his_last: int, *, met: bool
) -> None:
    """She comes on the tenth day: he leaves on it, was there for that day alone, or stays on."""
    first, last = (UP + dt.timedelta(days=one) for one in (his_first, his_last))
    stays = (
        Stay(bird="C1", pen="Yard", first=first, last=last),
        Stay(bird="H1", pen="Yard", first=UP + dt.timedelta(days=9)),
    )
    diary = Diary(stays=stays, cocks=frozenset({"C1"}), told_apart=frozenset())
    assert bool(diary.clock("H1").contacts) == met


def test_a_hen_that_left_before_the_cock_came_and_is_with_another_makes_no_doubt() -> None:
    """Six cocks take turns as the other one, so that no order of names can hide a mistake."""
    for other in (f"C{place}" for place in range(2, 8)):
        left = UP + dt.timedelta(days=3)
        stays = (
            Stay(bird="C1", pen="Yard", first=UP + dt.timedelta(days=5)),
            Stay(bird="H1", pen="Yard", first=UP),
            Stay(bird="H2", pen="Yard", first=UP, last=left),
            Stay(bird="H2", pen="Coop", first=left + dt.timedelta(days=1)),
            Stay(bird=other, pen="Coop", first=UP),
        )
        diary = Diary(stays=stays, cocks=frozenset({"C1", other}), told_apart=frozenset())
        assert diary.credit("H1", UP, UP + dt.timedelta(days=30)) == {"C1": 19.0}
