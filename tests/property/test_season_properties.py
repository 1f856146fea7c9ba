"""Laws of eggs to set, over eggs and goals at random."""

from __future__ import annotations

from typing import TYPE_CHECKING

from hypothesis import given, settings
from hypothesis import strategies as st

from matchmaker.season.reaching import survival
from matchmaker.season.setting import Room, settle
from matchmaker.season.shrinkage import shrink
from tests.season_lots import goal, lot

if TYPE_CHECKING:
    from matchmaker.season.lots import Lot

SHARED = survival(0.6, 0.05)

kinds = st.lists(
    st.tuples(
        st.integers(1, 8),
        st.sampled_from("123"),
        st.integers(1, 12),
        st.sampled_from([0.0625, 0.125, 0.25, 0.5]),
    ),
    min_size=1,
    max_size=10,
    unique_by=lambda kind: kind[:2],
)
lots = kinds.map(
    lambda found: [
        lot(week=week, pen=pen, eggs=eggs, sons=part, daughters=part)
        for week, pen, eggs, part in sorted(found)
    ]
)


@given(lots, st.integers(1, 12), st.integers(1, 4))
@settings(max_examples=40, deadline=None)
def test_more_wanted_never_takes_fewer_eggs(given_lots: list[Lot], wanted: int, more: int) -> None:
    (few,) = settle(given_lots, [goal(wanted)], SHARED, Room(), {}).goals
    (many,) = settle(given_lots, [goal(wanted + more)], SHARED, Room(), {}).goals
    assert many.eggs >= few.eggs
    assert many.chances[0] <= 1.0
    if many.enough:
        assert few.enough


@given(lots, st.integers(1, 12), st.floats(0.5, 0.98))
@settings(max_examples=40, deadline=None)
def test_more_certainty_never_takes_fewer_eggs(
    given_lots: list[Lot], wanted: int, certainty: float
) -> None:
    (less,) = settle(given_lots, [goal(wanted, certainty)], SHARED, Room(), {}).goals
    (more,) = settle(given_lots, [goal(wanted, certainty + 0.01)], SHARED, Room(), {}).goals
    assert more.eggs >= less.eggs


@given(lots, st.integers(1, 10), st.integers(0, 40))
@settings(max_examples=40, deadline=None)
def test_room_is_never_exceeded_and_no_lot_overdrawn(
    given_lots: list[Lot], wanted: int, incubator: int
) -> None:
    found = settle(
        given_lots,
        [goal(wanted), goal(wanted, line="Birch")],
        SHARED,
        Room(incubator=incubator, rearing=9.0),
        {},
    )
    assert all(0 < count <= one.eggs for one, count in found.rows)
    for week in {one.week.number for one, _ in found.rows}:
        assert sum(count for one, count in found.rows if one.week.number == week) <= incubator
    assert sum(count * one.lives * SHARED.mean for one, count in found.rows) <= 9.0 + 1e-9
    assert all(one.blocked for one in found.goals if not one.enough)


@given(st.integers(1, 6), st.integers(4, 30), st.integers(1, 10))
@settings(max_examples=40, deadline=None)
def test_a_fuller_incubator_never_needs_fewer_weeks(wanted: int, room: int, less: int) -> None:
    """Of eggs that are all alike: the same number, over as many weeks or more."""
    alike = [lot(week=week, pen=pen, eggs=10) for week in range(1, 21) for pen in "12"]

    def weeks(incubator: int) -> tuple[int, int, bool]:
        found = settle(alike, [goal(wanted)], SHARED, Room(incubator=incubator), {})
        return (
            len({one.week.number for one, _ in found.rows}),
            found.goals[0].eggs,
            found.goals[0].enough,
        )

    wide, narrow = weeks(room), weeks(max(1, room - less))
    assert narrow[0] >= wide[0]
    assert not narrow[2] or narrow[1] == wide[1]


@given(lots, st.integers(1, 10))
@settings(max_examples=40, deadline=None)
def test_the_last_egg_was_needed(given_lots: list[Lot], wanted: int) -> None:
    (found,) = settle(given_lots, [goal(wanted)], SHARED, Room(), {}).goals
    if not found.enough or not found.eggs:
        return
    assert found.fewest is not None
    assert found.fewest <= found.eggs
    assert found.if_sure is not None
    assert found.for_mean is None or found.for_mean <= found.eggs or found.chances[0] >= 0.95


@given(
    st.lists(st.tuples(st.integers(1, 60), st.floats(0, 1)), max_size=12),
    st.floats(0.3, 0.95),
)
@settings(max_examples=40, deadline=None)
def test_a_rate_lies_between_what_was_taken_and_the_counts(
    counts: list[tuple[int, float]], taken: float
) -> None:
    """But for a few hundredths: how much sets differ is unknown, which draws towards a half."""
    sets = [(tries, round(tries * part)) for tries, part in counts]
    found = shrink({"": sets}, taken, by_group=False).flock
    assert found.low <= found.value <= found.high
    shares = [taken, *(hits / tries for tries, hits in sets)]
    assert min(shares) - 0.04 <= found.value <= max(shares) + 0.04
