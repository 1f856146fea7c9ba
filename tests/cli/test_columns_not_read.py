"""Columns of the keeper's own, and cells that a book shows as empty, are named by check."""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING

import pytest

from matchmaker.tables.read import read_folder
from tests.cli.run import run_here
from tests.fuzz.books import unzipped, zipped
from tests.unit.tables_helpers import folder, places, xlsx

if TYPE_CHECKING:
    from pathlib import Path


def test_check_names_the_columns_that_nobody_reads(tmp_path: Path) -> None:
    folder(tmp_path, pens="pen,hens_max,gate,notes\nA,8,west,dry\n")
    told = run_here("check", "--in", tmp_path)
    words = " ".join(told.out.split())
    assert "Columns that are kept but not read: pens.csv (gate, notes)." in words
    document = run_here("check", "--in", tmp_path, "--json").document
    assert document["columns_not_read"] == {"pens.csv": ["gate", "notes"]}


def test_check_says_nothing_where_every_column_is_read(tmp_path: Path) -> None:
    told = run_here("check", "--in", folder(tmp_path))
    assert "not read" not in told.out


def test_an_error_in_a_cell_of_a_book_is_named(tmp_path: Path) -> None:
    """The reader of books gives such a cell as empty: it once went without a word."""
    made = xlsx({"pens": [["pen", "hens_max", "line"], ["A", 8, "x"]]})
    parts = unzipped(made)
    sheet = parts["xl/worksheets/sheet1.xml"]
    cut = sheet.index(b'<c r="C2"')
    parts["xl/worksheets/sheet1.xml"] = (
        sheet[:cut] + b'<c r="C2" t="e"><v>#N/A</v></c>' + sheet[sheet.index(b"</row>", cut) :]
    )
    (folder(tmp_path) / "pens.csv").unlink()
    (tmp_path / "pens.xlsx").write_bytes(zipped(parts))
    assert places(read_folder(tmp_path).doubts) == [
        ("cell-reads-empty", "pens.xlsx", 2, None, "#N/A")
    ]


@pytest.mark.parametrize(
    ("name", "mend"),
    [
        ("seen.txt", "save it as seen.csv or seen.xlsx"),
        ("seen (1).csv", "did you mean seen.csv?"),
        ("Copy of moves.xlsx", "did you mean moves.xlsx?"),
        ("pens 2025.csv", ""),
        ("reasons.txt", ""),
    ],
)
def test_a_file_that_is_meant_as_a_table_is_named(tmp_path: Path, name: str, mend: str) -> None:
    (folder(tmp_path) / name).write_text("bird\n")
    found = [one.mend for one in read_folder(tmp_path).doubts if one.file == name]
    assert found == ([mend] if mend else [])


@pytest.mark.skipif(sys.platform != "linux", reason="other systems refuse names that are no text")
def test_a_name_that_is_no_text_is_shown_as_far_as_it_goes(tmp_path: Path) -> None:
    """Such a name once ended in a traceback where a document was asked for."""
    name = os.fsdecode(b"birds\xff.csv")
    (folder(tmp_path) / name).write_text("bird\n")
    ran = run_here("check", "--in", tmp_path, "--json")
    assert [one["file"] for one in ran.document["doubts"]][:1] == ["birds\ufffd.csv"]
