"""``matchmaker grade`` as a real process, on shipped flocks; and its days, asked in-process."""

from __future__ import annotations

import csv
import datetime as dt
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from matchmaker import verbs
from matchmaker.cli.output import day_or_today
from matchmaker.errors import UsageError
from matchmaker.report.grade_document import HEADER, grading_document
from tests.cli.run import contents, example, run

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.flock.flock import Flock


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return example("tarn-croft", tmp_path_factory.mktemp("grade") / "tarn-croft")


@pytest.fixture(scope="module")
def flock(folder: Path) -> Flock:
    return verbs.read(folder)


def test_the_screen_and_the_rows_and_nothing_else_is_written(folder: Path, tmp_path: Path) -> None:
    before, sheet = contents(folder), tmp_path / "coop.csv"
    ran = run("grade", "--in", folder, "--on", "2027-01-26", "--csv", sheet)
    assert ran.code == 0
    assert ran.out.startswith(
        "Young birds on 26 January 2027, for the pens to be made up on 15 Feb"
    )
    assert max(map(len, ran.lines)) <= 80
    assert "Nothing is written to your tables" in ran.err
    assert contents(folder) == before
    with sheet.open(encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    assert tuple(rows[0]) == HEADER
    assert {row["verdict"] for row in rows} == {"keep", "let go"}


def test_the_fen(tmp_path: Path) -> None:
    table = verbs.pairs(example("holm-fen", tmp_path / "holm-fen"))
    document = grading_document(verbs.grade(table, dt.date(2027, 1, 26), patience=0))
    assert (document["schema"], document["day"]) == ("matchmaker/grade/1", "2027-01-26")
    found = {one["bird"]: one for one in document["birds"]}
    assert found["A26-019"]["reason"] == "a defect that culls: crooked toes"
    assert found["C26-001"]["reason"].startswith("the only Cedar hen fit to breed; by your wish")
    assert found["C26-002"]["verdict"] == "let go"
    assert found["A26-027"]["verdict"] == "wait"
    comb, egg, *_ = found["C26-005"]["not_seen_yet"]
    assert (comb["kind"], comb["names"], comb["tells"]) == ("look-now", ["P"], "O")
    assert (egg["kind"], egg["names"]) == ("test", ["O"])


def test_a_day_that_is_none_is_refused(flock: Flock) -> None:
    with pytest.raises(UsageError, match="the day to put with --on"):
        day_or_today(flock, "yesterday", "put with --on")


def test_the_day_is_todays_unless_it_is_given(flock: Flock) -> None:
    assert str(day_or_today(flock, "2027-03-01", "")) == "2027-03-01"
    clock = dt.datetime.now(tz=dt.UTC).astimezone().date()
    newest = flock.tables.newest_date
    assert newest is not None
    assert day_or_today(flock, "", "") == max(clock, newest)
    settings = flock.settings.model_copy(update={"today": dt.date(2027, 1, 5)})
    assert str(day_or_today(replace(flock, settings=settings), "", "")) == "2027-01-05"
