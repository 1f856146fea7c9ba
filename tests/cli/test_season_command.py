"""``season`` as a process: answers soon, writes its files whole, replaces none unasked."""

from __future__ import annotations

import csv
import io
import os
from typing import TYPE_CHECKING

from matchmaker.errors import ExitCode
from tests.cli.run import contents, example, run, run_here

if TYPE_CHECKING:
    from pathlib import Path


def processor_seconds() -> float:
    """What child processes that have ended took of the processor."""
    spent = os.times()
    return spent.children_user + spent.children_system


def test_holm_fen_in_one_go(tmp_path: Path) -> None:
    """The whole season as a document, with both files beside it; the folder stays as it is."""
    folder = example("holm-fen", tmp_path / "flock")
    before = contents(folder)
    calendar, rows = tmp_path / "spring.ics", tmp_path / "eggs.csv"
    begun = processor_seconds()
    ran = run("season", "--in", folder, "--json", "--calendar", calendar, "--csv", rows)
    assert processor_seconds() - begun < 8  # 2 on an idle machine
    assert ran.code == 0
    assert contents(folder) == before
    found = ran.document
    assert found["schema"] == "matchmaker/season/1"
    assert found["pens_from"] == "best"
    assert "A25-008 (row 4) is sold" in found["pens_sentence"]
    raw = calendar.read_bytes()
    assert raw.count(b"BEGIN:VEVENT") == len(found["dates"])
    assert raw.count(b"\n") == raw.count(b"\r\n")
    table = list(csv.DictReader(io.StringIO(rows.read_text(encoding="utf-8"))))
    assert sum(int(row["eggs"]) for row in table) == sum(
        line["eggs_to_set"] for line in found["lines"]
    )
    assert f"Wrote {calendar}: {len(found['dates'])} dates." in ran.err


def test_files_are_replaced_only_by_force(tmp_path: Path) -> None:
    folder = example("tarn-croft", tmp_path / "flock")
    calendar = tmp_path / "spring.ics"
    calendar.write_text("mine", encoding="utf-8")
    ran = run_here("season", "--in", folder, "--calendar", calendar)
    assert ran.code == ExitCode.WOULD_OVERWRITE
    assert str(calendar) in ran.err
    assert calendar.read_text(encoding="utf-8") == "mine"
    ran = run_here(
        "season", "--in", folder, "--calendar", calendar, "--force", "--certainty", "0.5"
    )
    assert ran.code == 0
    assert calendar.read_bytes().startswith(b"BEGIN:VCALENDAR\r\n")
    assert "Cocoa falls short" not in ran.out
    assert max(map(len, ran.lines)) <= 80


def test_a_certainty_that_is_none_is_refused(tmp_path: Path) -> None:
    ran = run_here("season", "--in", tmp_path, "--certainty", "95")
    assert ran.code == ExitCode.USAGE
    assert "'--certainty': 0.999 is the most it can be" in ran.err
