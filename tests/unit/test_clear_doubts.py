"""Hens that are not clear of an earlier cock: one doubt a cock, and true of one that is gone."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.rebalance.clear_doubts import clear_doubts
from tests.builders import cock, hen, judged

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.errors import Fault
    from tests.builders import Row

HENS = (hen("H10"), hen("H2"))


def stay(band: str, moved_out: str = "") -> Row:
    return {"bird": band, "pen": "Yard", "moved_in": "2026-02-01", "moved_out": moved_out}


def doubts(path: Path, his: Row, *stays: Row) -> list[Fault]:
    table = judged(path, (his, cock("C2"), *HENS), moves=stays)
    return list(clear_doubts(table.study.flock))


def test_hens_of_one_cock_are_told_together(tmp_path: Path) -> None:
    (found,) = doubts(tmp_path, cock("C1"), stay("C1"), stay("H10"), stay("H2"))
    assert found.problem == (
        "H2 and H10 are with C1 until the pens are made up: before 2027-02-22 their eggs may still "
        "be his, and a plan counts them from 2027-02-08 for whoever they are put to"
    )
    assert found.mend.startswith("put them to C1 again, do not set their eggs before 2027-02-22")
    assert (found.row, found.birds) == (4, ("H2", "H10"))


def test_hens_that_left_him_on_other_days_are_told_apart(tmp_path: Path) -> None:
    stays = (stay("C1"), stay("H10", "2027-01-25"), stay("H2", "2027-01-28"))
    found = doubts(tmp_path, cock("C1"), *stays)
    assert [(one.birds, one.value) for one in found] == [
        (("H2",), "2027-01-28"),
        (("H10",), "2027-01-25"),
    ]
    assert "H10 was with C1 until 2027-01-25: before 2027-02-15 her eggs" in found[1].problem


def test_a_cock_that_is_gone_is_with_nobody(tmp_path: Path) -> None:
    sold = cock("C1", status="sold")
    (found,) = doubts(tmp_path, sold, stay("C1"), stay("H2"))
    assert "H2 was with C1, and of him it is not written when he left" in found.problem
    assert found.mend.startswith("write in birds.csv when C1 left (left_on), do not set her eggs")


def test_the_day_on_which_he_left_ends_it(tmp_path: Path) -> None:
    long_ago = cock("C1", status="sold", left_on="2026-06-01")
    assert doubts(tmp_path / "ago", long_ago, stay("C1"), stay("H2")) == []
    lately = cock("C1", status="sold", left_on="2027-01-25")
    (found,) = doubts(tmp_path / "lately", lately, stay("C1"), stay("H2"))
    assert "H2 was with C1 until 2027-01-25" in found.problem
    assert found.mend.startswith("do not set her eggs before 2027-02-15")
