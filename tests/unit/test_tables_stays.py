"""Stays that clash: one bird in two places, two cocks in one pen."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matchmaker.checking import check
from tests.unit.tables_helpers import SETTINGS, birds, folder, read

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.errors import Fault


def _doubts(path: Path, *stays: str, **tables: str) -> tuple[Fault, ...]:
    moves = "\n".join(["bird,pen,moved_in,moved_out", *stays]) + "\n"
    found = read(path, moves=moves, **tables)
    assert found.faults == ()
    return found.doubts


def _told(path: Path, *stays: str, **tables: str) -> list[tuple[str, int | None, str]]:
    return [(one.kind, one.row, one.value) for one in _doubts(path, *stays, **tables)]


TWO_PENS = "two-pens-at-once"
TWO_COCKS = "two-cocks-at-once"
BOTH = (
    "the cocks C1 (row 2) and C2 (row 3) are both in Yard from 2026-02-01 on, so nobody knows "
    "which of them is a chick's sire"
)


@pytest.mark.parametrize(
    "stays",
    [
        ("H1,Yard,2026-01-01,2026-02-01", "H1,Orchard,2026-02-01,"),
        ("H1,Orchard,2026-02-01,", "H1,Yard,,2026-02-01"),
        ("H1,Yard,2026-01-01,2026-01-01", "H1,Orchard,2026-01-01,"),
        ("H1,Yard,2026-05-01,", "H2,Yard,2026-05-01,"),
        ("C1,Yard,2026-01-01,2026-02-01", "C2,Yard,2026-02-01,"),
        ("C1,Yard,2026-01-01,2026-02-01", "H1,Yard,2026-01-01,", "C2,Yard,2026-02-01,"),
        ("C1,Yard,2026-01-01,", "C2,Orchard,2026-01-01,"),
    ],
)
def test_stays_that_follow_each_other_are_no_doubt(tmp_path: Path, stays: tuple[str, ...]) -> None:
    assert _told(tmp_path, *stays) == []


@pytest.mark.parametrize(
    ("stays", "told"),
    [
        (("H1,Yard,2026-01-01,2026-02-02", "H1,Orchard,2026-02-01,"), [(3, "2026-02-01")]),
        (("H1,Orchard,2026-02-01,", "H1,Yard,,"), [(2, "2026-02-01")]),
        (("H1,Yard,,", "H1,Orchard,,"), [(3, "")]),
        (("H1,Yard,2026-01-01,", "H1,Yard,2026-02-01,2026-03-01"), [(3, "2026-02-01")]),
        (
            (
                "H1,Yard,2026-01-01,2026-06-01",
                "H1,Orchard,2026-02-01,2026-02-10",
                "H1,Orchard,2026-03-01,2026-03-10",
            ),
            [(3, "2026-02-01"), (4, "2026-03-01")],
        ),
    ],
    ids=["a day too long", "from ever", "without days", "the same pen", "inside a long one"],
)
def test_every_stay_that_meets_an_earlier_one_is_a_doubt(
    tmp_path: Path, stays: tuple[str, ...], told: list[tuple[int, str]]
) -> None:
    assert _told(tmp_path, *stays) == [(TWO_PENS, row, day) for row, day in told]


@pytest.mark.parametrize(
    ("stays", "problem", "mend"),
    [
        (
            ("H1,Yard,2026-01-01,", "H1,Orchard,2026-02-01,"),
            "H1 is still in Yard on 2026-02-01 (row 2)",
            "write in row 2 when H1 left Yard, or mend this date",
        ),
        (
            ("H1,Yard,2026-01-01,2026-03-01", "H1,Yard,2026-02-01,"),
            "H1 is in Yard on 2026-02-01 (also row 2)",
            "mend in row 2 when H1 left Yard, or delete one of the two rows",
        ),
        (
            ("C1,Yard,2026-01-01,", "C2,Yard,2026-02-01,"),
            BOTH,
            "write in row 2 when C1 left Yard, or mend row 3",
        ),
    ],
)
def test_a_doubt_says_what_clashes_and_what_to_do(
    tmp_path: Path, stays: tuple[str, ...], problem: str, mend: str
) -> None:
    (doubt,) = _doubts(tmp_path, *stays)
    assert (doubt.file, doubt.problem, doubt.mend) == ("moves.csv", problem, mend)


@pytest.mark.parametrize(
    ("stays", "told"),
    [
        (("C1,Yard,2026-01-01,2026-02-02", "C2,Yard,2026-02-01,"), (3, "2026-02-01")),
        (("C2,Yard,2026-02-01,2026-02-05", "C1,Yard,,"), (2, "2026-02-01")),
        (("C1,Yard,,", "C2,Yard,,"), (3, "")),
        (
            (
                "C1,Yard,2026-01-01,2026-02-01",
                "C2,Yard,2026-01-05,2026-01-10",
                "C2,Yard,2026-01-20,",
            ),
            (3, "2026-01-05"),
        ),
    ],
    ids=["a day too long", "from ever", "without days", "told once"],
)
def test_two_cocks_in_one_pen_are_a_doubt(
    tmp_path: Path, stays: tuple[str, ...], told: tuple[int, str]
) -> None:
    assert _told(tmp_path, *stays) == [(TWO_COCKS, *told)]


@pytest.mark.parametrize("status", ["dead", "sold", "culled"])
def test_a_stay_ends_on_the_day_the_bird_was_gone(tmp_path: Path, status: str) -> None:
    header = "bird,sex,sire,dam,breed,status,left_on"
    table = birds(f"C1,cock,,,sussex,{status},2026-02-01", "C2,cock,,,sussex,,", header=header)
    stays = ("C1,Yard,2026-01-01,", "C2,Yard,2026-02-01,")
    assert _told(tmp_path, *stays, birds=table) == []
    earlier = ("C1,Yard,2026-01-01,", "C2,Yard,2026-01-31,")
    assert _told(tmp_path, *earlier, birds=table) == [(TWO_COCKS, 3, "2026-01-31")]


def test_a_cock_may_go_between_as_many_pens_as_he_serves(tmp_path: Path) -> None:
    stays = ("C1,Yard,2026-01-01,", "C1,Orchard,2026-01-01,", "C1,Yard,2026-02-01,")
    several = SETTINGS + "[limits]\npens_per_cock = 2\n"
    assert _told(tmp_path, *stays, settings=several) == [(TWO_PENS, 4, "2026-02-01")]
    hens = tuple(stay.replace("C1", "H1") for stay in stays)
    assert [row for _, row, _ in _told(tmp_path, *hens, settings=several)] == [3, 4]


def test_who_came_into_a_pen_after_it_was_gone_is_told_once(tmp_path: Path) -> None:
    header = "bird,sex,hatched,sire,dam,breed,status,left_on"
    table = birds(
        "C1,cock,2024-01-01,,,sussex,dead,2026-01-20",
        "H1,hen,2024-01-01,,,sussex,,",
        "Y1,hen,2026-03-17,C1,H1,,,",
        header=header,
    )
    stays = ("C1,Yard,2026-02-01,2026-05-01", "H1,Yard,2026-02-01,2026-05-01")
    moves = "\n".join(["bird,pen,moved_in,moved_out", *stays]) + "\n"
    found = check(folder(tmp_path, moves=moves, birds=table)).doubts
    (told,) = [one for one in found if one.file == "moves.csv"]
    assert told.problem == (
        "C1 is written as dead since 2026-01-20 (row 2 of the birds), and came into Yard after that"
    )
    assert (told.row, told.column, told.value) == (2, "moved_in", "2026-02-01")
    assert "parents-apart" not in {one.kind for one in found}
