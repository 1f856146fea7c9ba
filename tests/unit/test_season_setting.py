"""Which eggs are set: order, shared rooms, what is set already, what is out of reach."""

from __future__ import annotations

import numpy as np

from matchmaker.season.counting import Known
from matchmaker.season.reaching import Tally, survival
from matchmaker.season.setting import MOST_MORE, Room, queue, settle
from tests.season_flocks import eggs_for
from tests.season_lots import SURE, goal, lot

SHARED = survival(0.6, 0.05)
HALF = np.array([0.5])


def test_of_eggs_that_are_alike_the_early_ones_are_set() -> None:
    lots = [lot(week=week, eggs=10) for week in (1, 2, 3)]
    found = settle(lots, [goal(6)], SURE, Room(), {})
    assert [(one.week.number, count) for one, count in found.rows] == [(1, 10), (2, 8)]
    assert found.goals[0].eggs == eggs_for(6, 0.95, 0.5, SURE) == 18


def test_a_little_likelier_is_no_reason_to_wait() -> None:
    lots = [lot(week=1, pen="1"), lot(week=2, pen="2", sons=0.26, daughters=0.26)]
    assert queue(lots, goal(1), 1.0) == [0] * 10 + [1] * 10


def test_much_likelier_is_one() -> None:
    lots = [lot(week=1, pen="1", sons=0.125, daughters=0.125), lot(week=2, pen="2")]
    assert queue(lots, goal(1), 1.0) == [1] * 10 + [0] * 10


def test_no_line_lives_off_one_hen_while_others_can_give() -> None:
    lots = [lot(pen="1", eggs=20), lot(pen="2", eggs=20, sons=0.125, daughters=0.125)]
    order = queue(lots, goal(8, most_per_hen=2.0), 1.0)
    assert order == [0] * 4 + [1] * 8 + [0] * 16 + [1] * 12


def test_lines_share_the_incubator_by_what_they_lack_and_importance() -> None:
    lots = [lot(pen="1"), lot(pen="2", line="Birch")]
    goals = [goal(9), goal(9, line="Birch")]
    even = settle(lots, goals, SURE, Room(incubator=10), {})
    assert [count for _, count in even.rows] == [5, 5]
    assert [one.blocked for one in even.goals] == ["incubator", "incubator"]
    goals = [goal(9), goal(9, line="Birch", importance=0.25)]
    uneven = settle(lots, goals, SURE, Room(incubator=10), {})
    assert [count for _, count in uneven.rows] == [8, 2]


def test_a_full_incubator_moves_eggs_to_later_weeks() -> None:
    lots = [lot(week=week, eggs=10) for week in (1, 2, 3, 4)]
    found = settle(lots, [goal(6)], SURE, Room(incubator=5), {})
    assert [count for _, count in found.rows] == [5, 5, 5, 3]
    assert found.goals[0].enough


def test_the_rearing_room_counts_chicks_nobody_wants_too() -> None:
    found = settle([lot(eggs=50)], [goal(20)], SURE, Room(rearing=12.0), {})
    (one,) = found.goals
    assert (one.eggs, one.blocked) == (12, "rearing")
    assert one.more is not None
    assert one.more + 12 == eggs_for(20, 0.95, 0.5, SURE)


def test_out_of_reach_says_by_how_much() -> None:
    (one,) = settle([lot(eggs=10)], [goal(8)], SHARED, Room(), {}).goals
    assert not one.enough
    assert (one.blocked, one.eggs, one.for_mean) == ("eggs", 10, None)
    assert one.more is not None
    tally = Tally(8, SHARED)
    for _ in range(10 + one.more):
        tally.add(0.5)
    assert tally.chance >= 0.95
    assert one.expected < 3.1


def test_no_wanted_chick_at_all_is_out_of_reach_for_ever() -> None:
    (one,) = settle([lot(sons=0.0, daughters=0.0)], [goal(1)], SURE, Room(), {}).goals
    assert (one.eggs, one.more, one.chances) == (0, None, (0.0,))


def test_numbers_by_sex_must_be_reached_too() -> None:
    lots = [lot(eggs=60, sons=0.125, daughters=0.375)]
    plain = settle(lots, [goal(6)], SURE, Room(), {}).goals[0]
    by_sex = settle(lots, [goal(6, sons=3)], SURE, Room(), {}).goals[0]
    assert plain.eggs < by_sex.eggs == eggs_for(3, 0.95, 0.125, SURE)
    assert by_sex.chances[1] >= 0.95


def test_what_hatched_already_counts_and_fills_its_week() -> None:
    lots = [lot(week=1, eggs=10), lot(week=2, eggs=10)]
    done = Known(week=1, eggs=9, trials=8, hatched=True, parts=(HALF,), raised=8.0)
    aim = goal(6)
    found = settle(lots, [aim], SURE, Room(incubator=10), {aim.key: [done]})
    assert [(one.week.number, count) for one, count in found.rows] == [(1, 1), (2, 9)]
    assert found.goals[0].done == 9
    full = settle([], [goal(1)], SURE, Room(), {aim.key: [done]}).goals[0]
    assert (full.eggs, full.enough) == (0, True)


def test_eggs_in_the_incubator_share_what_is_not_known() -> None:
    done = Known(week=1, eggs=20, trials=20, hatched=False, parts=(HALF,), raised=12.0)
    aim = goal(4)
    (one,) = settle([], [aim], SHARED, Room(), {aim.key: [done]}).goals
    tally = Tally(4, SHARED)
    for _ in range(20):
        tally.add(0.5)
    assert one.chances == (tally.chance,)


def test_the_mean_takes_fewer_eggs_than_certainty() -> None:
    (one,) = settle([lot(eggs=100)], [goal(12)], SHARED, Room(), {}).goals
    assert one.for_mean == 40
    assert one.if_sure is not None
    assert one.for_mean < one.if_sure < one.eggs


def test_a_chance_without_any_doubt_is_plain_binomial() -> None:
    assert len(survival(1.0, 0.2).values) == 1


def test_a_thousand_eggs_and_more_are_not_worked_out() -> None:
    (one,) = settle([lot(eggs=10)], [goal(5000)], SHARED, Room(), {}).goals
    assert one.more == MOST_MORE
    (one,) = settle([lot(eggs=10)], [goal(295)], SHARED, Room(), {}).goals
    assert one.more == MOST_MORE


def test_where_no_chick_lives_no_egg_is_set() -> None:
    found = settle([lot(eggs=10)], [goal(2)], survival(0.0, 0.0), Room(), {})
    assert found.rows == ()
    assert (found.goals[0].more, found.goals[0].chances) == (None, (0.0,))
