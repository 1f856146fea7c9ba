from __future__ import annotations

import tomllib

import pytest

from matchmaker.intake.remembered import (
    Remembered,
    RememberedSheet,
    block_keys,
    column_keys,
    missing_from_book,
)
from matchmaker.intake.remembered_text import read_remembered, remembered_text
from matchmaker.tables.findings import Findings
from tests.unit.intake_helpers import sheet
from tests.unit.tables_helpers import places

WHOLE = Remembered(
    sheets={
        ("marsh-end", "Birds 2026"): RememberedSheet(
            table="birds",
            columns={"Ring no.": "birds.bird", "Eye": "aside", "lav": "birds.lav"},
        ),
        ("pens", ""): RememberedSheet(table="pens"),
        ("marsh-end", "Feed"): RememberedSheet(table=""),
    },
    answers={"order:marsh-end": "day-first"},
    written={"birds": "ab12 cd34"},
)


def test_the_text_is_plain_and_reads_back() -> None:
    text = remembered_text(WHOLE)
    assert '"Ring no." = "birds.bird"' in text
    assert '[books.marsh-end."Birds 2026".columns]' in text
    assert text.startswith("# What was decided about your book")
    assert tomllib.loads(text)["books"]["marsh-end"]["Feed"] == {"table": "aside"}
    findings = Findings()
    assert read_remembered(text, findings) == WHOLE
    assert findings == Findings()


def test_nothing_remembered_is_a_text_of_remarks_only() -> None:
    assert tomllib.loads(remembered_text(Remembered())) == {}
    assert read_remembered("", Findings()) == Remembered()


@pytest.mark.parametrize(
    ("text", "row", "column", "value", "hint"),
    [
        ('[books.a.b]\ntable = "brids"\n', 2, "books.a.b.table", "brids", "birds"),
        ("[books.a.b]\ntable = 3\n", 2, "books.a.b.table", "3", "delete"),
        (
            '[books.a.b.columns]\nRing = "birds.bird"\nX = "pens.eye"\n',
            3,
            "books.a.b.columns.X",
            "pens.eye",
            "delete",
        ),
        ("[books.a.b]\ncolums = 3\n", 2, "books.a.b.colums", "colums", "columns"),
        ('[dates]\na = "day-first"\n', 1, "dates", "dates", "books"),
        ("[answers]\nq = 3\n", 2, "answers.q", "3", "delete"),
        ("answers = 3\n", 1, "answers", "3", "delete"),
        (
            '[books.a.b.columns]\nRing = "birds.srie"\n',
            2,
            "books.a.b.columns.Ring",
            "birds.srie",
            "sire",
        ),
        ("[books]\na = 1\n", 2, "books.a", "1", "delete"),
    ],
)
def test_an_entry_that_is_not_understood_is_named_with_its_line(
    text: str, row: int, column: str, value: str, hint: str
) -> None:
    findings = Findings()
    read_remembered(text, findings)
    (found,) = findings.faults
    assert places((found,)) == [("bad-intake-entry", "intake.toml", row, column, value)]
    assert hint in found.mend


def test_a_broken_entry_spoils_no_other() -> None:
    text = '[books.a.b]\ntable = "brids"\n[books.a.b.columns]\nRing = "birds.bird"\n'
    kept = read_remembered(text, Findings()).sheets["a", "b"]
    assert (kept.table, kept.columns) == (None, {"Ring": "birds.bird"})


@pytest.mark.parametrize("text", ["[books", "a = 1\na = 2\n", "x = 99999999999999999999999", "\0"])
def test_a_broken_file_is_one_fault_or_none(text: str) -> None:
    findings = Findings()
    read_remembered(text, findings)
    assert len(findings.faults) == 1
    assert findings.faults[0].mend


def test_columns_of_one_name_and_of_none_have_names_of_their_own() -> None:
    (block,) = sheet("x", "Ring;Sex;;Weight;Weight", "A1;m;x;2;3", "A2;f;x;2;3")
    assert column_keys(block) == ("Ring", "Sex", "(column C)", "Weight", "Weight #2")


def test_a_second_table_of_a_sheet_has_a_key_of_its_own() -> None:
    blocks = sheet("x", "Ring;Sex;Born", "A1;m;2024", "", "", "Pen;Room for hens;Notes", "1;6;")
    assert block_keys(blocks) == (("flock", "x"), ("flock", "x #2"))


def test_what_the_book_does_not_have_any_more_is_said() -> None:
    blocks = sheet("Birds", "Ring;Sex;Strain", "A1;m;Old", "A2;f;New")
    kept = RememberedSheet(table="birds", columns={"Ring": "birds.bird", "Stain": "birds.line"})
    remembered = Remembered(
        sheets={("flock", "Birds"): kept, ("flock", "Bird log"): RememberedSheet(table="moves")}
    )
    column, log = missing_from_book(remembered, blocks)
    assert places((column,)) == [("remembered-missing", "flock.xlsx", 1, None, "Stain")]
    assert "may be called Strain now" in column.mend
    assert (log.file, log.value) == ("intake.toml", "Bird log")
    assert "Birds" in log.mend
    assert missing_from_book(Remembered(), blocks) == ()
