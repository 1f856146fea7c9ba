"""``matchmaker route`` as a real process."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.cli.run import EXAMPLES_FOLDER, read_rows, run, run_here

if TYPE_CHECKING:
    from pathlib import Path

FOLDER = str(EXAMPLES_FOLDER / "tarn-croft")


def test_document_and_rows(tmp_path: Path) -> None:
    file = tmp_path / "route.csv"
    ran = run("route", "--in", FOLDER, "--backcrosses", "3", "--json", "--csv", str(file))
    assert ran.code == 0, ran.err
    assert ran.document["backcrosses"] == 3
    assert ran.document["route"]["seasons"] == 5
    rows = read_rows(file)
    assert rows[0]["season"] == "1"
    again = run_here("route", "--in", FOLDER, "--csv", str(file))
    assert again.code == 6


def test_an_unknown_scheme_is_wrong_usage() -> None:
    ran = run_here("route", "--in", FOLDER, "--scheme", "cock")
    assert ran.code == 2
    assert "there is no scheme 'cock'" in ran.err
    assert "cocks" in ran.err
