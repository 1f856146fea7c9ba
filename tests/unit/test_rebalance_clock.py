"""Whose the eggs of a hen are, day by day, against calendars worked out by hand.

All calendars are for 2027 and our own arithmetic, from the rules that the planner states: an egg
may be a cock's from the day after they met, and is kept as his from the seventh day; so many days
(the clean-out) after their last day together it can no longer be his.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from itertools import pairwise

import pytest

from matchmaker.rebalance.clock import Clock, Contact, Waits, fertility_after, sure_sire
from matchmaker.rebalance.diary import Diary, Stay
from matchmaker.rebalance.schedule import entry
from matchmaker.rebalance.standing import Standing, lose

UP = dt.date(2027, 2, 1)
DEATH = dt.date(2027, 3, 20)


def day(text: str) -> dt.date:
    return dt.date.fromisoformat(f"2027-{text}")


def stay(bird: str, pen: str, first: str | None = "02-01", last: str | None = None) -> Stay:
    ends = [None if text is None else day(text) for text in (first, last)]
    return Stay(bird=bird, pen=pen, first=ends[0], last=ends[1])


def diary(*stays: Stay, told: str = "", clean_out: int = 21) -> Diary:
    """Birds whose bands begin with C are cocks; eggs are told apart in the pens named."""
    return Diary(
        stays=stays,
        cocks=frozenset(one.bird for one in stays if one.bird.startswith("C")),
        told_apart=frozenset(told.split()),
        waits=Waits(clean_out=clean_out),
    )


def standing(book: Diary, on: dt.date = DEATH) -> Standing:
    """The pens on a morning."""
    return Standing(
        day=on, diary=book, pen_of={one.bird: one.pen for one in book.stays if one.last is None}
    )


def owners(book: Diary, hen: str, first: str, last: str) -> dict[str, str]:
    """The first and last day of each unbroken time in which her eggs are kept as one cock's."""
    spans: list[tuple[str, dt.date, dt.date]] = []
    at, end = day(first), day(last)
    while at <= end:
        owner = book.credited(hen, at)
        if owner is not None:
            yesterday = at - dt.timedelta(days=1)
            begun = spans.pop() if spans and spans[-1][::2] == (owner[0], yesterday) else None
            spans.append((owner[0], begun[1] if begun else at, at))
        at += dt.timedelta(days=1)
    return {f"{since:%m-%d} to {until:%m-%d}": cock for cock, since, until in spans}


CALENDARS = [
    # clean-out, his eggs to, the next cock's first day, his first eggs
    (14, "03-27", "03-27", "04-03"),
    (21, "04-03", "04-03", "04-10"),
    (28, "04-03", "04-10", "04-17"),
]
"""The cock died on 20 March. His eggs are kept for 14 days, or until the next one comes, who comes
seven days before the clean-out is over; day 14, 21 and 28 are 3, 10 and 17 April."""


@pytest.mark.parametrize("told", ["", "Yard"])
@pytest.mark.parametrize(("clean_out", "his_to", "next_in", "next_from"), CALENDARS)
def test_a_dead_cock_and_his_successor(
    clean_out: int, his_to: str, next_in: str, next_from: str, told: str
) -> None:
    stays = [stay(bird, "Yard") for bird in ("C1", "H1", "H2")]
    spare = stay("C2", "Coop", first=None)
    book = diary(*stays, spare, told=told, clean_out=clean_out)
    alive = replace(standing(book), pen_of={one.bird: one.pen for one in stays})
    after = lose(alive, {"C1": DEATH})
    begins = entry(after, "H1", "C2", "Yard")
    assert begins.hen_in == begins.cock_in == day(next_in)
    assert begins.eggs_from == day(next_from)
    told_stays = [*after.diary.stays[:3], stay("C2", "Yard", next_in)]
    done = diary(*told_stays, told=told, clean_out=clean_out)
    assert owners(done, "H1", "03-01", "05-01") == {
        f"03-01 to {his_to}": "C1",
        f"{next_from} to 05-01": "C2",
    }


def test_how_fertile_a_dead_cocks_eggs_are() -> None:
    book = diary(stay("C1", "Yard", last="03-20"), stay("H1", "Yard"))
    found = [book.credit("H1", day(on), day(on)) for on in ("03-27", "03-28", "04-03", "04-04")]
    assert found[0] == {"C1": 1.0}
    assert found[1] == {"C1": pytest.approx(10.5 / 11.5)}
    assert found[2] == {"C1": pytest.approx(4.5 / 11.5)}
    assert found[3] == {}


def test_the_first_week() -> None:
    book = diary(stay("C1", "Yard"), stay("H1", "Yard"))
    assert book.clock("H1").sires(UP) == ()
    assert book.clock("H1").sires(day("02-02")) == ("C1",)
    assert owners(book, "H1", "01-25", "02-28") == {"02-08 to 02-28": "C1"}


def test_a_pen_that_nobody_knows_the_beginning_of_has_no_first_week() -> None:
    book = diary(stay("C1", "Yard", None), stay("H1", "Yard", None))
    assert owners(book, "H1", "01-25", "02-28") == {"01-25 to 02-28": "C1"}
    since = diary(stay("C1", "Yard", None), stay("H1", "Yard"))
    assert owners(since, "H1", "01-25", "02-28") == {"02-08 to 02-28": "C1"}


PENS = [stay(bird, pen) for bird, pen in (("C1", "Yard"), ("C2", "Orchard"), ("H3", "Orchard"))]


def test_a_hen_moved_between_two_living_cocks_where_eggs_are_told_apart() -> None:
    """She leaves C1 on 20 March, waits alone, and joins C2 a week before she is clear of C1."""
    book = diary(*PENS, stay("H1", "Yard"), told="Orchard")
    begins = entry(standing(book), "H1", "C2", "Orchard")
    assert (begins.hen_in, begins.cock_in) == (day("04-03"), DEATH)
    assert begins.eggs_from == day("04-10")
    moved = diary(
        *PENS, stay("H1", "Yard", last="03-20"), stay("H1", "Orchard", "04-03"), told="Orchard"
    )
    assert owners(moved, "H1", "03-01", "05-01") == {
        "03-01 to 04-03": "C1",
        "04-10 to 05-01": "C2",
    }
    assert owners(moved, "H3", "03-01", "05-01") == {"03-01 to 05-01": "C2"}


def test_where_eggs_are_not_told_apart_she_waits_until_she_is_clear() -> None:
    book = diary(*PENS, stay("H1", "Yard"))
    begins = entry(standing(book), "H1", "C2", "Orchard")
    assert (begins.hen_in, begins.eggs_from) == (day("04-10"), day("04-17"))
    moved = diary(*PENS, stay("H1", "Yard", last="03-20"), stay("H1", "Orchard", "04-10"))
    assert owners(moved, "H3", "03-01", "05-01") == {"03-01 to 05-01": "C2"}
    assert owners(moved, "H1", "04-04", "05-01") == {"04-17 to 05-01": "C2"}


def test_one_hen_that_brings_another_cock_makes_the_whole_pen_doubtful() -> None:
    """Put in on 21 March, the day after her last with C1, she is clear of him on 10 April."""
    stays = (*PENS, stay("H1", "Yard", last="03-20"), stay("H1", "Orchard", "03-21"))
    mixed = diary(*stays)
    assert owners(mixed, "H3", "03-01", "05-01") == {
        "03-01 to 03-20": "C2",
        "04-10 to 05-01": "C2",
    }
    apart = diary(*stays, told="Orchard")
    assert owners(apart, "H3", "03-01", "05-01") == {"03-01 to 05-01": "C2"}
    assert owners(apart, "H1", "03-22", "05-01") == {"04-10 to 05-01": "C2"}
    on = day("03-25")
    assert apart.clock("H1").sires(on) == ("C1", "C2")
    assert sure_sire([apart.clock("H1"), apart.clock("H3")], on) is None
    assert sure_sire([apart.clock("H3")], on) == "C2"
    assert sure_sire([], on) is None


def test_with_the_same_cock_before_and_after_nothing_is_lost() -> None:
    together = [
        stay(bird, pen, *days)
        for bird in ("C1", "H1")
        for pen, days in (("Yard", ("02-01", "03-20")), ("Orchard", ("03-20", None)))
    ]
    book = diary(*together)
    assert owners(book, "H1", "02-08", "05-01") == {"02-08 to 05-01": "C1"}
    assert book.credit("H1", day("02-08"), day("05-01")) == {"C1": 83.0}


def test_both_move_into_a_pen_that_lost_its_cock_long_ago() -> None:
    """C2 died on 5 March, so that his pen may have a cock from 19 March on: today."""
    book = diary(stay("C1", "Yard"), stay("H1", "Yard"), stay("C2", "Orchard", last="03-05"))
    begins = entry(standing(book), "H1", "C1", "Orchard")
    assert begins.hen_in == begins.cock_in == begins.eggs_from == DEATH


@pytest.mark.parametrize(
    ("told", "hen_in", "eggs_from"),
    [("Orchard", "04-03", "03-20"), ("", "04-04", "04-10")],
)
def test_a_hen_stays_with_her_cock_until_he_goes(told: str, hen_in: str, eggs_from: str) -> None:
    """C2 dies today and C1 takes over his pen on 3 April, H1 going with him.

    Where eggs are not told apart she, who carries C1's sperm, comes in the day after the last
    eggs of C2 are kept, and no egg there is surely C1's before 10 April. She was never apart.
    """
    book = diary(stay("C1", "Yard"), stay("H1", "Yard"), *PENS[1:], told=told)
    after = lose(standing(book), {"C2": DEATH})
    begins = entry(after, "H1", "C1", "Orchard")
    assert begins.cock_in == day("04-03")
    assert (begins.hen_in, begins.eggs_from) == (day(hen_in), day(eggs_from))
    going = [
        replace(one, last=begins.cock_in if one.bird == "C1" else begins.hen_in)
        if one.pen == "Yard"
        else one
        for one in after.diary.stays
    ]
    came = [stay("C1", "Orchard", "04-03"), stay("H1", "Orchard", hen_in)]
    done = diary(*going, *came, told=told)
    (contact,) = done.clock("H1").contacts
    assert (contact.cock, contact.first, contact.last) == ("C1", UP, None)
    assert owners(done, "H3", "03-21", "05-01") == {
        "03-21 to 04-03": "C2",
        "04-10 to 05-01": "C1",
    }


def test_a_cock_put_in_at_once_shares_the_eggs_until_the_hen_is_clear() -> None:
    """21 days, 20 March to 9 April: an egg is as fertile as by the better of the two.

    That is the former for a week, then the new one. The former's part of it, k days after he was
    lost, is 7 / (7 + k) in the first week, then (18.5 - k) / (30 - k) until his line ends: the egg
    of the day on which the new one comes is all his.
    """
    book = diary(*(stay(bird, "Yard") for bird in ("C1", "H1")))
    after = lose(standing(book), {"C1": DEATH})
    begins = entry(after, "H1", "C2", "Yard", at_once=True)
    assert (begins.cock_in, begins.eggs_from) == (DEATH, day("04-10"))
    old, new = begins.mixed
    former = sum(7 / (7 + k) for k in range(8)) + sum((18.5 - k) / (30 - k) for k in range(8, 19))
    assert old == pytest.approx(former)
    assert old + new == pytest.approx(21)


def test_fertility_falls_and_its_mean_is_the_one_that_is_stated() -> None:
    """The mean of a duration is the area under the share that lasts so long."""
    shares = [fertility_after(gone) for gone in range(40)]
    assert shares == sorted(shares, reverse=True)
    assert shares[0] == 1.0
    assert shares[19:] == [0.0] * 21
    by_day = sum((one + other) / 2 for one, other in pairwise(shares))
    assert by_day == pytest.approx(12.75, abs=0.02)


def test_the_day_from_which_no_other_cock_is_possible() -> None:
    past = Contact(cock="C1", first=None, last=DEATH)
    now = Contact(cock="C2", first=day("04-03"), last=None)
    clock = Clock(contacts=(past, now))
    assert clock.clear_from("C2") == day("04-10")
    assert clock.clear_from("C1") == dt.date.max
    assert clock.other_than("C2") == DEATH
    assert clock.other_than("C1") is None
    assert Clock(contacts=(now,)).clear_from("C2") is None


@pytest.mark.parametrize(
    ("clean_out", "eggs_after", "alone", "kept"),
    [(14, 14, 7, 7), (21, 14, 14, 14), (28, 14, 21, 14), (28, 10, 21, 10), (5, 14, 0, 0)],
)
def test_how_long_a_hen_stays_alone_and_how_long_eggs_are_kept(
    clean_out: int, eggs_after: int, alone: int, kept: int
) -> None:
    waits = Waits(clean_out=clean_out, eggs_after=eggs_after)
    assert (waits.alone, waits.kept) == (alone, kept)


ORPHAN = [stay("C1", "Yard"), stay("H1", "Yard"), stay("H2", "Orchard")]
"""C1 dies on 20 March; by the default waits H1 lays his eggs until 3 April."""


@pytest.mark.parametrize(
    ("before", "successor"),
    [
        pytest.param([stay("C2", "Orchard")], "C3", id="on the last day of such eggs"),
        pytest.param([stay("C2", "Orchard", last="03-10")], "C3", id="ten days before it"),
        pytest.param([stay("C2", "Orchard")], "C2", id="today, with her own cock's eggs"),
    ],
)
def test_a_newcomer_spoils_no_eggs_that_are_still_a_lost_cocks(
    before: list[Stay], successor: str
) -> None:
    after = lose(standing(diary(*ORPHAN, *before)), {"C1": DEATH})
    begins = entry(after, "H2", successor, "Yard")
    came = Stay(bird="H2", pen="Yard", first=begins.hen_in)
    left = [replace(one, last=DEATH) if one.bird == "H2" else one for one in after.diary.stays]
    done = diary(*left, came)
    assert owners(done, "H1", "03-20", "04-03") == {"03-20 to 04-03": "C1"}


def test_a_new_cock_spoils_no_eggs_of_a_hen_brought_in_of_late() -> None:
    """The pen's cock died on 1 March; H1 came on 18 March from C2, whose eggs she lays to 31st."""
    here = [stay("C1", "Yard", last="03-01"), stay("H1", "Yard", "03-18")]
    from_where = [stay("C2", "Orchard"), stay("H1", "Orchard", last="03-17")]
    book = diary(*here, *from_where, told="Yard")
    begins = entry(standing(book), "H1", "C3", "Yard")
    done = diary(*here, *from_where, Stay(bird="C3", pen="Yard", first=begins.cock_in), told="Yard")
    assert owners(book, "H1", "03-20", "03-31") == {"03-20 to 03-31": "C2"}
    assert owners(done, "H1", "03-20", "03-31") == {"03-20 to 03-31": "C2"}


def test_a_cock_put_back_into_his_pen_need_not_wait_for_himself() -> None:
    book = diary(stay("C1", "Yard", last="03-17"), stay("H1", "Yard"))
    assert entry(standing(book), "H1", "C1", "Yard").cock_in == DEATH


def test_a_pen_that_is_closed_and_moves_as_a_whole_loses_nothing() -> None:
    book = diary(stay("C1", "Yard"), stay("H1", "Yard"), stay("H9", "Orchard"))
    after = lose(standing(book), {}, frozenset({"Yard"}))
    assert entry(after, "H1", "C1", "Orchard").eggs_from == DEATH


def test_who_keeps_eggs_for_five_days_loses_none_where_both_move_together() -> None:
    together = [
        stay(bird, pen, *days)
        for bird in ("C1", "H1")
        for pen, days in (("Yard", ("02-01", "03-20")), ("Orchard", ("03-20", None)))
    ]
    book = replace(diary(*together), waits=Waits(eggs_after=5))
    assert owners(book, "H1", "03-01", "05-01") == {"03-01 to 05-01": "C1"}
