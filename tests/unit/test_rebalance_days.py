"""Days that a response counts, worked out by hand: cocks put in at once, hens that move along.

Forty days of eggs are over and thirty are left; a day is worth a tenth of a chick. Birds and dates
are invented.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest

from matchmaker.plan.arithmetic.verify import evaluate
from matchmaker.plan.posing.problem import (
    Candidate,
    CockLimit,
    LineGoal,
    PenKind,
    PlanProblem,
    TestGoal,
)
from matchmaker.rebalance.clock import Waits
from matchmaker.rebalance.diary import Diary, Stay
from matchmaker.rebalance.posing import pose_response, unmoved
from matchmaker.rebalance.standing import Standing, lose
from tests.oracle.response_flocks import SmallSeason, pair_of
from tests.unit.test_rebalance_posing import DAY, STILL, of_hen

# Eggs of which two cocks may be the sire.

OPEN = dt.date(2027, 4, 18)
AWAY = dt.date(2027, 3, 15)
STAYS = tuple(Stay(bird=bird, pen="P1", first=dt.date(2027, 2, 1)) for bird in ("C1", "H1"))
ALDER = LineGoal(line="Alder", importance=1.0, chicks_wanted=99.0)
BIRCH = replace(ALDER, line="Birch")


def orphaned(value: float, *, line: str = "Alder") -> tuple[SmallSeason, Standing]:
    """C1 is lost today and leaves H1; C2 stands nowhere, his chicks with her join ``line``.

    ``value`` is what either gives with her in 60 days.
    """
    pairs = (
        pair_of("H1", "C1", "back", "Alder", value),
        pair_of("H1", "C2", "back", line, value),
    )
    kind = PenKind(pens=("P1",), hens_max=3, hens_min=0, line="", dam_known=True)
    season = SmallSeason(
        problem=PlanProblem(
            candidates=pairs,
            kinds=(kind,),
            cocks=tuple(CockLimit(cock=cock, hens_max=3, pens_max=1) for cock in ("C1", "C2")),
            lines=(ALDER, BIRCH),
        ),
        first=dt.date(2027, 2, 8),
        last=OPEN,
        until={"P1": OPEN},
    )
    return season, lose(standing_in({"C1": "P1", "H1": "P1"}), {"C1": DAY})


def standing_in(place: dict[str, str]) -> Standing:
    """The pens today, made up on 1 February; eggs are told apart in all of them."""
    up = dt.date(2027, 2, 1)
    book = Diary(
        stays=tuple(Stay(bird=bird, pen=pen, first=up) for bird, pen in place.items()),
        cocks=frozenset({"C1", "C2"}),
        told_apart=frozenset(place.values()),
    )
    return Standing(day=DAY, diary=book, pen_of=place)


def test_eggs_of_either_cock_count_where_their_chicks_join_one_line() -> None:
    """C2 comes today. H1's eggs are either's for 21 days, then his for nine, from 10 April on.

    Today's are still C1's alone. Each is worth a whole day, 0.1: an egg is as fertile as by the
    better of the two, and one of them always is at his full. If C2 waits until 3 April only nine
    days are his.
    """
    season, after = orphaned(6.0)
    found = pose_response(season, after, set_mixed=True)
    begins = found.entries["H1", "C2", "P1"]
    assert (begins.cock_in, begins.eggs_from) == (DAY, dt.date(2027, 4, 10))
    assert sum(begins.mixed) == pytest.approx(21)
    one, still = of_hen(found, "H1", "C2"), found.bank.still["H1"]
    assert still.value == pytest.approx(0.1 * STILL, abs=0.001)
    assert one.value == pytest.approx(0.1 * (30 - STILL), abs=0.002)
    assert one.wanted == pytest.approx(one.value, abs=0.002)
    waits = of_hen(pose_response(season, after), "H1", "C2")
    assert waits.value == pytest.approx(0.9)
    assert one.value > waits.value + 0.5


def test_eggs_of_the_day_on_which_the_next_cock_comes_at_once_are_the_last_ones() -> None:
    """20 March is C1's, then twenty days are either's and nine C2's: thirty in all."""
    assert days_at_once(OPEN) == pytest.approx(30)


@pytest.mark.parametrize("left", [10, 16])
def test_eggs_of_either_cock_count_no_longer_than_the_season(left: int) -> None:
    assert days_at_once(DAY + dt.timedelta(days=left - 1)) == pytest.approx(left)


def days_at_once(last: dt.date) -> float:
    """Days of eggs of H1, C2 being put to her today and eggs of either being set."""
    season, after = orphaned(6.0)
    season = replace(season, last=last, until={"P1": last})
    found = pose_response(season, after, set_mixed=True)
    assert found.entries["H1", "C2", "P1"].cock_in == DAY
    return (of_hen(found, "H1", "C2").wanted + found.bank.still["H1"].wanted) / 0.1


def test_eggs_of_either_cock_are_not_set_where_their_chicks_join_two_lines() -> None:
    season, after = orphaned(6.0, line="Birch")
    mixed, plain = (pose_response(season, after, set_mixed=one) for one in (True, False))
    assert mixed.problem.candidates == plain.problem.candidates
    assert mixed.entries["H1", "C2", "P1"].cock_in == dt.date(2027, 4, 3)


# A hen that moves along with her cock.


def days_along(
    *, line: str = "", until: dt.date = OPEN, closed: bool = False, told: bool = True
) -> float:
    """Days of eggs of H1 by C1, who takes over the pen P2 of C2, lost today, on 3 April.

    In P1 eggs are told apart, in P2 if ``told``. P1 is free ``until`` a day, or closed today; in P2
    chicks of one ``line`` may be bred, or any. A day is worth 0.1 chicks.
    """
    rows = [pair_of("H1", "C1", "back", "Alder", 6.0), pair_of("H1", "C1", "cross", "Birch", 6.0)]
    kind = PenKind(pens=("P1",), hens_max=3, hens_min=0, line="Alder", dam_known=True)
    season = SmallSeason(
        problem=PlanProblem(
            candidates=(*rows, pair_of("H9", "C2", "back", "Alder", 6.0)),
            kinds=(kind, replace(kind, pens=("P2",), line=line, dam_known=told)),
            cocks=tuple(CockLimit(cock=cock, hens_max=3, pens_max=1) for cock in ("C1", "C2")),
            lines=(ALDER, BIRCH),
        ),
        first=dt.date(2027, 2, 8),
        last=OPEN,
        until={"P1": until, "P2": OPEN},
    )
    standing = standing_in({"C1": "P1", "H1": "P1", "C2": "P2", "H9": "P2"})
    if not told:
        diary = replace(standing.diary, told_apart=frozenset({"P1"}))
        standing = replace(standing, diary=diary)
    after = lose(standing, {"C2": DAY}, frozenset({"P1"} if closed else ()))
    found = pose_response(season, after)
    assert found.entries["H1", "C1", "P2"].hen_in == dt.date(2027, 4, 3 if told else 4)
    (moved,) = (
        one
        for one in found.problem.candidates
        if (one.hen, one.turn, one.line) == ("H1", "P2", line or "Alder")
    )
    return (moved.wanted + found.bank.still["H1"].wanted) / 0.1


def test_a_hen_that_moves_along_loses_nothing() -> None:
    assert days_along() == pytest.approx(30)


def test_until_she_moves_her_eggs_count_where_she_is() -> None:
    """15 days in P1, to 3 April; 9 in P2, from 10 April on. What is laid on 4 April is in doubt."""
    assert days_along(told=False) == pytest.approx(24)


def test_no_egg_of_a_hen_that_moves_along_counts_in_two_lines() -> None:
    """For the old line what she would lay if he went today, to 3 April; then 15 for the new one."""
    assert days_along(line="Birch") == pytest.approx(STILL + 15)


def test_eggs_before_she_moves_count_as_long_as_her_old_pen_is_free() -> None:
    """Until 31 March, 12 days; on 3 April she comes into P2, where 16 are left."""
    assert days_along(until=dt.date(2027, 3, 31)) == pytest.approx(12 + 16)


def test_birds_of_a_closed_pen_are_apart_until_the_next_is_free() -> None:
    """Today and a week in full, then six days that fade, to 2 April; his again from 10 April on.

    He comes back to her on 3 April: from then on none is counted before a week is over.
    """
    assert days_along(line="Birch", closed=True) == pytest.approx(STILL - 4.5 / 11.5 + 9)


def test_eggs_before_she_moves_count_from_the_day_on_which_they_are_his() -> None:
    """H1 was with C3 up to 8 March and is clear of him on 5 April; on 10 April she goes with C1.

    Eggs of a cock that goes are kept for 14 days, to 3 April, but he stays: 14 days are his.
    """
    season, _ = orphaned(6.0)
    kind = season.problem.kinds[0]
    season = replace(
        season,
        problem=replace(season.problem, kinds=(kind, replace(kind, pens=("P2",)))),
        until={"P1": OPEN, "P2": OPEN},
    )
    standing = standing_in({"C1": "P1", "H1": "P1", "C2": "P2", "H9": "P2"})
    before = dt.date(2027, 3, 8)
    stays = (
        Stay(bird="C3", pen="P1", first=None, last=before),
        *(one for one in standing.diary.stays if one.bird != "C1"),
        Stay(bird="C1", pen="P1", first=before + dt.timedelta(days=1)),
    )
    diary = replace(standing.diary, stays=stays, cocks=frozenset({"C1", "C2", "C3"}))
    standing = replace(standing, diary=replace(diary, waits=Waits(clean_out=28)))
    found = pose_response(season, lose(standing, {"C2": DAY}))
    assert found.entries["H1", "C1", "P2"].hen_in == dt.date(2027, 4, 10)
    (moved,) = (one for one in found.problem.candidates if one.turn == "P2")
    assert "H1" not in found.bank.still
    assert moved.wanted / 0.1 == pytest.approx(14)


@pytest.mark.parametrize(
    "pens",
    [
        ("P2", "P1"),
        ("P1", "P2"),
    ],
)
def test_a_hen_that_goes_from_one_pen_of_her_cock_to_his_other_loses_nothing(
    pens: tuple[str, str],
) -> None:
    """C1 holds ``pens``, written in that order. P1 is closed today and H1 goes to P2: 30 days."""
    season, _ = orphaned(6.0)
    kind = season.problem.kinds[0]
    season = replace(
        season,
        problem=replace(season.problem, kinds=(kind, replace(kind, pens=("P2",)))),
        until={"P1": OPEN, "P2": OPEN},
    )
    up = dt.date(2027, 2, 1)
    stays = [Stay(bird="C1", pen=pen, first=up) for pen in pens]
    stays += [Stay(bird=hen, pen=pen, first=up) for hen, pen in (("H1", "P1"), ("H2", "P2"))]
    diary = Diary(stays=tuple(stays), cocks=frozenset({"C1"}), told_apart=frozenset(pens))
    place = {stay.bird: stay.pen for stay in stays}
    standing = Standing(day=DAY, diary=diary, pen_of=place)
    found = pose_response(season, lose(standing, {}, frozenset({"P1"})))
    whole = of_hen(found, "H1", "C1").wanted + found.bank.still["H1"].wanted
    assert whole / 0.1 == pytest.approx(30)


# A cock that comes back to his hen.


@pytest.mark.parametrize("told", [True, False])
def test_a_cock_put_back_is_credited_with_eggs_from_a_week_later_on(*, told: bool) -> None:
    """C1 was away from 15 March on: 23 days from 27 March on. Those of his first week are left out.

    They would be his: that is caution. Nobody else's eggs are about, so it is all one whether they
    are told apart.
    """
    season, after = orphaned(6.0)
    stays = tuple(replace(one, last=AWAY if one.bird == "C1" else None) for one in STAYS)
    diary = replace(after.diary, stays=stays, told_apart=frozenset({"P1"} if told else ()))
    kinds = (replace(season.problem.kinds[0], dam_known=told),)
    season = replace(season, problem=replace(season.problem, kinds=kinds))
    found = pose_response(season, Standing(day=DAY, diary=diary, pen_of={"H1": "P1"}))
    assert found.entries["H1", "C1", "P1"].cock_in == DAY
    whole = of_hen(found, "H1", "C1").wanted + found.bank.still["H1"].wanted
    assert whole / 0.1 == pytest.approx(23)


@pytest.mark.parametrize(
    "left",
    [
        30,
        6,
    ],
)
def test_who_comes_back_to_her_cock_counts_no_longer_than_the_season(left: int) -> None:
    """H1 left C1 two days ago and stands in no pen; C1 comes into P2, whose cock is lost today.

    That is on 3 April. With thirty days left nine are his; with six he comes too late.
    """
    last = DAY + dt.timedelta(days=left - 1)
    season, _ = orphaned(6.0)
    kind = season.problem.kinds[0]
    season = replace(
        season,
        problem=replace(season.problem, kinds=(kind, replace(kind, pens=("P2",)))),
        last=last,
        until={"P1": last, "P2": last},
    )
    standing = standing_in({"C1": "P1", "H1": "P1", "C2": "P2", "H9": "P2"})
    since = DAY - dt.timedelta(days=2)
    stays = (replace(s, last=since if s.bird == "H1" else None) for s in standing.diary.stays)
    standing = replace(
        standing,
        diary=replace(standing.diary, stays=tuple(stays)),
        pen_of={"C1": "P1", "C2": "P2", "H9": "P2"},
    )
    found = pose_response(season, lose(standing, {"C2": DAY}))
    more = [one.wanted / 0.1 for one in found.problem.candidates if one.turn == "P2"]
    assert sum(more) == pytest.approx(9 if left == 30 else 0)


# Birds on trial.


def test_test_chicks_so_far_are_taken_off_what_more_are_worth() -> None:
    """C1's worth of m chicks is the least of pieces (slope, start): shifted by those there are.

    A day is worth a tenth of a chick: 4 so far, 7 in all.
    """
    season, after = _with_trial()
    found = pose_response(season, after)
    (goal,) = found.problem.tests
    had = sum(one.test_chicks for one in found.bank.pairs)
    assert had == pytest.approx(4.0 + 0.1 * STILL)
    assert [slope for slope, _ in goal.pieces] == [0.5, 0.1, 0.0]
    assert [start for _, start in goal.pieces] == pytest.approx([0.5 * had, 2 + 0.1 * had, 3])
    assert evaluate(found.problem, unmoved(found)).value == pytest.approx(2.0 + 0.1 * 7)


def _with_trial() -> tuple[SmallSeason, Standing]:
    season, _ = orphaned(0.0)
    trial = Candidate(
        hen="H1",
        cock="C1",
        row="proof",
        line="",
        value=0.0,
        wanted=0.0,
        tested="C1",
        test_chicks=6.0,
    )
    goal = TestGoal(bird="C1", pieces=((0.5, 0.0), (0.1, 2.0), (0.0, 3.0)))
    problem = replace(season.problem, candidates=(trial,), tests=(goal,))
    return replace(season, problem=problem), standing_in({"C1": "P1", "H1": "P1"})
