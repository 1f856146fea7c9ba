"""What is read and does not bind the plan yet is said, never ignored in silence."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.builders import HOME, HOME_SEEN, TOP, Row, checked, of_kind, where

if TYPE_CHECKING:
    from pathlib import Path


def unused(
    path: Path, settings: str = "", top: str = TOP, **tables: list[Row]
) -> list[tuple[object, ...]]:
    found = checked(path, HOME, settings, top, seen=HOME_SEEN, **tables)
    assert found.faults == ()
    return [(*where(one), one.problem) for one in of_kind(found.doubts, "not-used-yet")]


def test_nothing_given_nothing_said(tmp_path: Path) -> None:
    assert unused(tmp_path) == []


@pytest.mark.parametrize(
    ("section", "key", "value"),
    [
        ("limits", "mean_inbreeding_max", "0.05"),
        ("limits", "sire_share_max", "0.5"),
        ("limits", "group_kinship_max", "0.2"),
        ("limits", "kinship_price", "1.0"),
        ("year", "incubator_per_week", "40"),
    ],
)
def test_limits_on_the_whole_plan(tmp_path: Path, section: str, key: str, value: str) -> None:
    assert unused(tmp_path, f"[{section}]\n{key} = {value}\n") == [
        (
            "matchmaker.toml",
            5,
            f"{section}.{key}",
            "",
            "read, but it does not bind the plan in this version",
        )
    ]


def test_a_limit_of_nought_is_given_too(tmp_path: Path) -> None:
    assert len(unused(tmp_path, "[limits]\nmean_inbreeding_max = 0.0\n")) == 1


@pytest.mark.parametrize(
    ("table", "row"),
    [
        ("moves", {"bird": "SH", "pen": "Yard", "moved_in": "2027-02-01"}),
        ("eggs", {"pen": "Yard", "eggs": "12"}),
    ],
)
def test_tables_of_later_work(tmp_path: Path, table: str, row: Row) -> None:
    problem = "read and checked, but the plan does not use it in this version"
    assert unused(tmp_path, "", TOP, **{table: [row]}) == [
        (f"{table}.csv", None, None, "", problem)
    ]


@pytest.mark.parametrize(("column", "day"), [("from", "2027-03-01"), ("until", "2027-04-01")])
def test_periods_of_pens(tmp_path: Path, column: str, day: str) -> None:
    pens: list[Row] = [{"pen": "Yard", "hens_max": "6", column: day}]
    assert unused(tmp_path, pens=pens) == [
        (
            "pens.csv",
            2,
            column,
            day,
            "pen Yard has a period; this version plans one season-long turn per pen",
        )
    ]
