"""``plan --pen-up``: the plan and the stays that it means, written into the folder."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.builders import HOME, HOME_SEEN, TOP, Row, cock, hen, write_flock
from tests.cli.run import contents, edit_text, read_rows, run_here
from tests.unit.tables_helpers import xlsx

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

FLOCK = (*HOME, cock("SD"), hen("SI"), hen("SR"))
REST = [{"bird": "SR", "with": "", "wish": "rest", "why": ""}]
DAY = "2027-02-08"


def _folder(path: Path, *, top: str = TOP, **tables: Sequence[Row]) -> Path:
    return write_flock(path / "flock", FLOCK, "", top, seen=HOME_SEEN, wishes=REST, **tables)


def _stay(band: str, pen: str, since: str, until: str = "") -> Row:
    return {"bird": band, "pen": pen, "moved_in": since, "moved_out": until}


def test_the_plan_and_its_stays_are_written(tmp_path: Path) -> None:
    folder = _folder(tmp_path)
    ran = run_here("plan", "--in", folder, "--pen-up", DAY, "--json")
    assert ran.code == 0
    expected = [
        _stay(band, pen["pen"], DAY)
        for pen in ran.document["pens"]
        for band in (pen["cock"], *(one["hen"] for one in pen["hens"]))
    ]
    assert read_rows(folder / "moves.csv") == expected
    assert {(row["cock"], row["hen"]) for row in read_rows(folder / "plan.csv")} == {
        (pen["cock"], one["hen"]) for pen in ran.document["pens"] for one in pen["hens"]
    }
    assert "Nothing was written" not in ran.err


def test_a_second_time_changes_nothing(tmp_path: Path) -> None:
    folder = _folder(tmp_path, moves=[_stay("SR", "Yard", "2026-10-01")])
    first = run_here("plan", "--in", folder, "--pen-up", DAY)
    assert first.code == 0
    assert len(list(folder.glob("moves.csv.*.bak"))) == 1
    before = contents(folder)
    again = run_here("plan", "--in", folder, "--pen-up", DAY)
    assert (again.code, contents(folder)) == (0, before)
    assert again.err.count("says so already") == 2
    assert run_here("check", "--in", folder).out.count("at-once") == 0


def test_who_is_not_in_the_plan_is_named(tmp_path: Path) -> None:
    folder = _folder(tmp_path, moves=[_stay("SR", "Orchard", "2026-10-01")])
    ran = run_here("plan", "--in", folder, "--pen-up", DAY)
    assert "Not in the plan, SR (from Orchard) has to leave on 8 February 2027." in ran.err
    assert read_rows(folder / "moves.csv")[0]["moved_out"] == DAY


def test_another_day_than_the_settings_say_is_told(tmp_path: Path) -> None:
    folder = _folder(tmp_path)
    ran = run_here("plan", "--in", folder, "--pen-up", DAY)
    assert "to be made up on 8 February 2027" in ran.out
    assert "does not say when, which means 1 February 2027" in ran.err
    assert "\npen_up = 2027-02-08\n" in ran.err
    edit_text(folder / "matchmaker.toml", TOP, TOP + f"[year]\npen_up = {DAY}\n")
    assert "pen_up =" not in run_here("plan", "--in", folder, "--pen-up", DAY).err


def test_the_day_may_be_written_as_in_the_tables(tmp_path: Path) -> None:
    folder = _folder(tmp_path, top=TOP + 'dates = "day-first"\n')
    ran = run_here("plan", "--in", folder, "--pen-up", "8.2.2027")
    assert ran.code == 0
    assert {row["moved_in"] for row in read_rows(folder / "moves.csv")} == {"08/02/2027"}
    assert run_here("check", "--in", folder).code == 0


@pytest.mark.parametrize(
    ("day", "said"),
    [
        ("soon", "soon is not a date; write the date as year-month-day"),
        ("2027-02-30", "there is no day 2027-02-30"),
        ("8.2.2027", "may be 2027-02-08 or 2027-08-02"),
        ("", "is not a date"),
        ("2072-02-08", "not for the season 2027"),
    ],
)
def test_a_bad_day_is_said_in_words(tmp_path: Path, day: str, said: str) -> None:
    folder = _folder(tmp_path)
    before = contents(folder)
    ran = run_here("plan", "--in", folder, "--pen-up", day)
    assert (ran.code, ran.out, contents(folder)) == (2, "", before)
    assert said in ran.err


def test_a_day_after_the_last_egg_is_refused(tmp_path: Path) -> None:
    folder = _folder(tmp_path, top=TOP + "[year]\ncollect_until = 2027-04-01\n")
    ran = run_here("plan", "--in", folder, "--pen-up", "2027-03-26")
    assert (ran.code, ran.out) == (2, "")
    assert "by matchmaker.toml (line 5) they are collected until 2027-04-01" in ran.err


@pytest.mark.parametrize("table", ["moves", "plan"])
def test_nothing_is_written_beside_a_workbook(tmp_path: Path, table: str) -> None:
    folder = _folder(tmp_path)
    rows = {
        "moves": [["bird", "pen"], ["SR", "Yard"]],
        "plan": [["pen", "cock", "hen"], ["Yard", "SC", "SH"]],
    }
    (folder / f"{table}.xlsx").write_bytes(xlsx({table: [list(row) for row in rows[table]]}))
    before = contents(folder)
    ran = run_here("plan", "--in", folder, "--pen-up", DAY, "--csv", folder / "sheet.csv")
    assert (ran.code, ran.out, contents(folder)) == (2, "", before)
    assert f"save the sheet as {table}.csv and delete {table}.xlsx" in ran.err


def test_nothing_is_written_where_the_moves_say_otherwise(tmp_path: Path) -> None:
    folder = _folder(tmp_path, moves=[_stay("SR", "Orchard", "2027-02-20")])
    before = contents(folder)
    ran = run_here("plan", "--in", folder, "--pen-up", DAY)
    assert (ran.code, ran.out, contents(folder)) == (2, "", before)
    assert "moves.csv, row 2: SR came into pen Orchard on 2027-02-20" in ran.err


@pytest.mark.parametrize(
    "options", [("--frontier",), ("--alternatives", "2"), ("--one-more",), ("--score", "plan.csv")]
)
def test_options_that_make_no_plan_to_keep_are_refused(
    tmp_path: Path, options: tuple[str, ...]
) -> None:
    folder = _folder(tmp_path)
    before = contents(folder)
    ran = run_here("plan", "--in", folder, "--pen-up", DAY, *options)
    assert (ran.code, ran.out, contents(folder)) == (2, "", before)
    assert f"{options[0]} takes no --pen-up beside it" in ran.err


def test_faults_of_the_folder_come_first(tmp_path: Path) -> None:
    folder = _folder(tmp_path)
    (folder / "matchmaker.toml").unlink()
    ran = run_here("plan", "--in", folder, "--pen-up", DAY)
    assert ran.code == 3
    assert "the folder has no matchmaker.toml" in " ".join(ran.err.split())
