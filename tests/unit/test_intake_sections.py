from __future__ import annotations

import pytest

from matchmaker.intake.asides import HEADING, HEADS
from matchmaker.intake.remembered import Remembered, RememberedSheet, block_keys
from matchmaker.intake.said import naming
from tests.unit.intake_helpers import guesses, sheet, taken

LIST = sheet(
    "Flock",
    "Ring;Hatched;Weight;Notes",
    "A0;2023;2,5;",
    "Cocks;;;",
    "A1;2024;3,1;",
    "A2;2024;2,9;",
    "hatched 2025;;;",
    "A3;2025;2,9;",
    "Hens;;;",
    "A4;2024;2,1;",
    "",
    "all weighed in August by Ann;;;",
)


def test_rows_under_headings_for_sex_are_parts_of_their_own() -> None:
    assert [[row.row for row in block.rows] for block in LIST] == [[2], [4, 5, 7], [9]]
    assert {block.header_row for block in LIST} == {1}
    outside = [(one.row, one.why) for block in LIST for one in block.outside]
    assert [row for row, _ in outside] == [3, 6, 8, 11]
    assert dict(outside)[3] == dict(outside)[8] == HEADS
    assert dict(outside)[6] == HEADING


def test_a_heading_says_what_its_rows_are_and_all_parts_are_read_alike() -> None:
    before, cocks, hens = guesses(LIST)
    assert before.said == ()
    assert cocks.said == (("birds", "sex", "cock"),)
    assert hens.said == (("birds", "sex", "hen"),)
    assert before.columns == cocks.columns == hens.columns
    assert taken(hens)["Weight"] == "scores.weight"
    assert (before.table, hens.table) == ("birds", "birds")


def test_headings_for_pens_and_the_name_of_the_sheet_both_say_something() -> None:
    blocks = sheet(
        "Hens 2025", "Ring;Hatched", "Pen 3;", "A1;2024", "A2;2024", "Pen Top;", "A3;2024"
    )
    third, top = guesses(blocks)
    assert third.said == (("moves", "pen", "3"), ("birds", "sex", "hen"))
    assert top.said == (("moves", "pen", "Top"), ("birds", "sex", "hen"))


def test_a_heading_that_a_column_says_already_cuts_nothing() -> None:
    (block,) = sheet("x", "Ring;Sex;Hatched", "Cocks;;", "A1;m;2024", "Hens;;", "A2;f;2024")
    assert [row.row for row in block.rows] == [3, 5]
    assert [one.why for one in block.outside] == [HEADING, HEADING]


def test_a_heading_without_rows_is_told_and_lost_nowhere() -> None:
    blocks = sheet("x", "Ring;Hatched", "Cocks;", "Hens;", "A1;2024", "A2;2024", "Pullets;")
    assert [[row.row for row in block.rows] for block in blocks] == [[4, 5]]
    assert sorted(one.row for one in blocks[0].outside) == [2, 3, 6]
    assert guesses(blocks)[0].said == (("birds", "sex", "hen"),)


def test_each_part_is_remembered_by_a_key_of_its_own() -> None:
    keys = block_keys(LIST)
    assert keys == (("flock", "Flock"), ("flock", "Flock #2"), ("flock", "Flock #3"))
    kept = RememberedSheet(table="birds", columns={"Weight": "aside"})
    found = guesses(LIST, remembered=Remembered(sheets={keys[1]: kept}))
    assert [taken(one)["Weight"] for one in found] == ["scores.weight", "aside", "scores.weight"]


@pytest.mark.parametrize("name", ["Pen log", "Penelope", "House list", "Pens", "Flock", "2025", ""])
def test_names_that_say_no_sex_and_no_pen(name: str) -> None:
    assert naming(name) is None
