"""Cocks in succession: the turns of a season, and the eggs that count in each."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

import pytest

from matchmaker.plan.posing.pose import pose_problem
from matchmaker.plan.posing.turns import Turn, overlapping, season_turns
from matchmaker.report.defaults import defaults_of
from matchmaker.settings import Settings
from matchmaker.tables.records import PenRecord
from tests.builders import HOME, HOME_SEEN, checked, judged, of_kind, where

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from matchmaker.plan.posing.problem import PlanProblem
    from tests.builders import Row

YEAR = {
    "pen_up": dt.date(2027, 2, 1),
    "collect_from": dt.date(2027, 2, 8),
    "collect_until": dt.date(2027, 4, 18),
}
"""Seventy days of eggs."""

YEAR_TEXT = "[year]\npen_up = 2027-02-01\ncollect_from = 2027-02-08\ncollect_until = 2027-04-18\n"
SUCCESSION: list[Row] = [
    {"pen": "Yard", "hens_max": "6", "until": "2027-03-07"},
    {"pen": "Yard", "hens_max": "6", "from": "2027-03-08"},
    {"pen": "Orchard", "hens_max": "8"},
]


def settings(clean_out_days: int = 21, **year: dt.date) -> Settings:
    return Settings.model_validate(
        {
            "season": 2027,
            "recurrent": "sussex",
            "target": {"O": 2},
            "limits": {"clean_out_days": clean_out_days},
            "year": {**YEAR, **year},
        }
    )


def pen(first: str = "", last: str = "", *, is_open: bool = True) -> PenRecord:
    days = [dt.date.fromisoformat(f"2027-{day}") if day else None for day in (first, last)]
    return PenRecord(row=2, pen="P", hens_max=4, open=is_open, first_day=days[0], last_day=days[1])


def told(turns: Sequence[Turn]) -> list[tuple[str, str, int]]:
    return [(turn.label, f"{turn.eggs_from:%m-%d}", turn.days) for turn in turns]


def test_without_periods_the_season_is_one_turn() -> None:
    (turn,) = season_turns([pen(), pen("", "", is_open=False)], settings())
    assert (turn.label, turn.days, turn.part, turn.clean_out) == ("", 70, 1.0, False)


def test_periods_of_closed_pens_do_not_matter() -> None:
    turns = season_turns([pen(), pen("03-01", "", is_open=False)], settings())
    assert [turn.label for turn in turns] == [""]


def test_a_cock_that_follows_waits_for_the_last_ones_eggs() -> None:
    """Eggs until 7 March; 21 days on, from 28 March, none can be the first cock's."""
    turns = season_turns([pen("", "03-07"), pen("03-08")], settings())
    assert told(turns) == [
        ("2027-02-01 to 2027-03-07", "02-08", 28),
        ("2027-03-08 to 2027-04-18", "03-28", 22),
    ]
    assert [turn.part for turn in turns] == pytest.approx([0.4, 22 / 70])
    assert [turn.clean_out for turn in turns] == [False, True]


def test_days_between_two_turns_count_for_cleaning_out() -> None:
    turns = season_turns([pen("", "03-07"), pen("03-20")], settings())
    assert told(turns)[1][1:] == ("03-28", 22)


def test_a_week_must_pass_in_any_case() -> None:
    turns = season_turns([pen("", "03-07"), pen("03-25")], settings(clean_out_days=5))
    assert told(turns)[1][1:] == ("04-01", 18)


def test_a_later_turn_that_meets_all_others_has_no_earlier_cock() -> None:
    """Its hens cannot have been in the other pen, which is still held."""
    turns = season_turns([pen(), pen("02-20")], settings())
    assert told(turns) == [
        ("2027-02-01 to 2027-04-18", "02-08", 70),
        ("2027-02-20 to 2027-04-18", "02-27", 51),
    ]


def test_a_turn_without_a_day_for_eggs_is_none() -> None:
    turns = season_turns([pen("", "03-31"), pen("04-01")], settings())
    assert [turn.label for turn in turns] == ["2027-02-01 to 2027-03-31"]


def test_a_turn_in_which_nothing_was_bred_leaves_nothing_to_clean_out() -> None:
    turns = season_turns([pen("", "02-05"), pen("02-06")], settings())
    assert told(turns) == [("2027-02-06 to 2027-04-18", "02-13", 65)]


def test_there_is_always_a_turn() -> None:
    (turn,) = season_turns([pen("04-17", "04-18")], settings())
    assert (turn.days, turn.part) == (0, 0.0)
    (turn,) = season_turns([], settings())
    assert turn.label == ""
    (turn,) = season_turns([pen()], settings(collect_until=dt.date(2027, 1, 1)))
    assert (turn.days, turn.part) == (0, 0.0)


@pytest.mark.parametrize(
    ("spans", "sets"),
    [
        ([(1, 9)], ["0"]),
        ([(1, 4), (5, 9)], ["0", "1"]),
        ([(1, 4), (5, 9), (1, 9)], ["02", "12"]),
        ([(1, 4), (4, 6), (5, 9), (1, 9)], ["013", "123"]),
        ([(1, 9), (2, 3), (5, 6)], ["01", "02"]),
    ],
)
def test_turns_that_share_a_day_stand_together(
    spans: list[tuple[int, int]], sets: list[str]
) -> None:
    day = dt.date(2027, 3, 1)
    turns = [
        Turn(
            label=str(at),
            first=day + dt.timedelta(first),
            last=day + dt.timedelta(last),
            eggs_from=day,
            days=1,
            part=0.1,
        )
        for at, (first, last) in enumerate(spans)
    ]
    assert sorted("".join(sorted(labels)) for labels in overlapping(turns)) == sets


def posed(path: Path, pens: Sequence[Row] = SUCCESSION, more: str = "") -> PlanProblem:
    return pose_problem(judged(path, HOME, YEAR_TEXT + more, seen=HOME_SEEN, pens=pens))


EARLY, LATE, WHOLE = (
    "2027-02-01 to 2027-03-07",
    "2027-03-08 to 2027-04-18",
    "2027-02-01 to 2027-04-18",
)


def test_a_pair_is_a_candidate_in_every_turn(tmp_path: Path) -> None:
    problem = posed(tmp_path)
    whole = pose_problem(judged(tmp_path / "b", HOME, YEAR_TEXT, seen=HOME_SEEN))
    season = {(one.hen, one.cock): one for one in whole.candidates}
    parts = {EARLY: 0.4, LATE: 22 / 70, WHOLE: 1.0}
    assert len(problem.candidates) == 3 * len(season)
    for one in problem.candidates:
        all_of_it = season[one.hen, one.cock]
        assert one.wanted == pytest.approx(parts[one.turn] * all_of_it.wanted)
        assert one.wanted_hens == pytest.approx(parts[one.turn] * all_of_it.wanted_hens)


def test_pens_belong_to_their_turns(tmp_path: Path) -> None:
    problem = posed(tmp_path)
    assert [(kind.pens, kind.turn) for kind in problem.kinds] == [
        (("Yard",), EARLY),
        (("Yard",), LATE),
        (("Orchard",), WHOLE),
    ]
    assert {frozenset(turns) for turns in problem.turns} == {
        frozenset({EARLY, WHOLE}),
        frozenset({LATE, WHOLE}),
    }


def test_the_cap_on_a_pair_holds_in_each_turn(tmp_path: Path) -> None:
    more = "[lines.Alder]\nchicks_wanted = 10\nfamilies = 2\n"
    found = {one.turn: one for one in posed(tmp_path, more=more).candidates if one.hen == "AH"}
    assert found[WHOLE].value == 5.0
    assert found[WHOLE].chicks == pytest.approx(10.0)
    assert found[LATE].value == pytest.approx(22 / 70 * 24.48 / 2, abs=0.001)
    assert found[LATE].chicks == pytest.approx(22 / 70 * 24.48)


def test_eggs_a_week_hang_on_the_share_that_is_set(tmp_path: Path) -> None:
    """All chicks of a short turn are raised: all four eggs a week are set."""
    more = "[lines.Alder]\nchicks_wanted = 10\nfamilies = 2\n"
    found = {one.turn: one for one in posed(tmp_path, more=more).candidates if one.hen == "AH"}
    assert found[LATE].eggs == pytest.approx(4.0)
    assert found[WHOLE].eggs == pytest.approx(4.0 * 10.0 / 24.48)


def test_pens_are_not_doubted_for_their_periods(tmp_path: Path) -> None:
    found = checked(tmp_path, HOME, YEAR_TEXT, seen=HOME_SEEN, pens=SUCCESSION)
    assert (found.faults, of_kind(found.doubts, "no-egg-days")) == ((), [])
    assert found.table is not None
    assert (
        "eggs of a later turn count from 21 days after an earlier cock was with the hens"
        in defaults_of(found.table)
    )


def test_a_period_without_eggs_is_doubted(tmp_path: Path) -> None:
    pens: list[Row] = [SUCCESSION[2], {"pen": "Yard", "hens_max": "6", "from": "2027-04-15"}]
    found = checked(tmp_path, HOME, YEAR_TEXT, seen=HOME_SEEN, pens=pens)
    (doubt,) = of_kind(found.doubts, "no-egg-days")
    assert where(doubt) == ("pens.csv", 3, "from", "2027-04-15")
    assert doubt.problem == (
        "no eggs of pen Yard are kept in this period: they count from a week after the cock came "
        "in and 21 days after an earlier turn, from 2027-02-08 to 2027-04-18"
    )
    assert found.table is not None
    assert {kind.pens for kind in pose_problem(found.table).kinds} == {("Orchard",)}
