"""Formulas are kept from running, and every text reads back as it was."""

from __future__ import annotations

import csv
import io
import tempfile
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from matchmaker.tables.amend import Amendment
from matchmaker.tables.formulas import guarded, unguarded
from matchmaker.tables.read import read_folder
from matchmaker.tables.write import csv_text
from tests.one_table import amend_table
from tests.unit import tables_helpers

STARTS = st.text(alphabet="'=+-@\t\r\n\uff1d\uff0b\uff0d\uff20 1.,eE", max_size=4)
TEXTS = st.builds("{}{}".format, STARTS, st.text(max_size=5))
RUNS = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")


def is_number(text: str) -> bool:
    try:
        float(text.replace(",", "."))
    except ValueError:
        return False
    return True


@given(TEXTS)
def test_every_text_reads_back(text: str) -> None:
    assert unguarded(guarded(text)) == text


@given(TEXTS)
def test_whatever_is_written_does_not_run(text: str) -> None:
    written = guarded(text)
    digits = text[1:].replace(",", "").replace(".", "")
    harmless = len(text) < 2 or is_number(text) or digits.isdecimal()
    assert not written.startswith(RUNS) or harmless


@given(st.lists(st.lists(TEXTS, min_size=2, max_size=2), max_size=4))
def test_a_table_reads_back(rows: list[list[str]]) -> None:
    text = csv_text(["a", "b"], rows)
    found = list(csv.reader(io.StringIO(text, newline="")))[1:]
    assert [[unguarded(cell) for cell in row] for row in found] == rows


@settings(max_examples=15, deadline=None)
@given(TEXTS.filter(lambda text: "\0" not in text and text.strip() == text and text != ""))
def test_what_is_amended_reads_back(text: str) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = tables_helpers.folder(Path(name), wishes="bird,with,wish,why\nC1,H1,apart,calm\n")
        change = Amendment(
            cells={(2, "why"): text},
            added=[{"bird": "C2", "with": "H1", "wish": "apart", "why": text}],
        )
        amend_table(folder, "wishes", change, read_folder(folder))
        assert [wish.why for wish in read_folder(folder).wishes] == [text, text]
