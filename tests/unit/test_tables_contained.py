"""What fuzzing found in the readers: numbers without end, books that panic, columns left out."""

from __future__ import annotations

import os
import struct
from typing import TYPE_CHECKING

import pytest

from matchmaker.hatch.bands import BandError, read_bands
from matchmaker.hatch.seen_text import SeenError, read_seen
from matchmaker.tables import tried_apart
from matchmaker.tables.configuration import read_configuration
from matchmaker.tables.contained import contained
from matchmaker.tables.extent import BookProblem
from matchmaker.tables.parents import read_parent
from matchmaker.tables.read import read_folder
from tests.fuzz.books import xls
from tests.unit.tables_helpers import folder, places, read, xlsx

if TYPE_CHECKING:
    from pathlib import Path

PANICS = xls({"birds": [["bird", "sex"], ["C1", "cock"]]})[:-4101]
"""An old book cut off inside its list of streams, over which the reader of books panics."""

FAR_OUT = xls({"pens": [["pen", "hens_max"], ["A", "eight"]]}).replace(
    struct.pack("<HHH", 1, 1, 0), struct.pack("<HHH", 65535, 65535, 0)
)
"""An old book with a cell in the last row and column that its form has numbers for."""


def test_a_book_that_panics_is_refused_in_words(
    tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    (folder(tmp_path) / "birds.csv").unlink()
    (tmp_path / "birds.xls").write_bytes(PANICS)
    tables = read_folder(tmp_path)
    assert places(tables.faults)[:1] == [("unreadable-file", "birds.xls", None, None, "")]
    assert "it is damaged" in tables.faults[0].problem
    assert capfd.readouterr().err == ""


def test_a_book_that_speaks_of_too_many_cells_is_refused(tmp_path: Path) -> None:
    """Such a book once ended the process: room for 4,294,967,296 cells was asked for."""
    (folder(tmp_path) / "pens.csv").unlink()
    (tmp_path / "pens.xls").write_bytes(FAR_OUT)
    tables = read_folder(tmp_path)
    assert places(tables.faults)[:1] == [("unreadable-file", "pens.xls", None, None, "")]
    assert "more cells than there is room for" in tables.faults[0].problem


def test_a_book_that_takes_for_ever_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tried_apart, "SECONDS_MAX", 0.001)
    with pytest.raises(BookProblem, match="takes longer"):
        tried_apart.refuse_fatal(xls({"a": [["b"]]}))


def test_standard_error_speaks_again_after_a_book(capfd: pytest.CaptureFixture[str]) -> None:
    with contained(b""):
        os.write(2, b"inside")
    os.write(2, b"after")
    assert capfd.readouterr().err == "after"


@pytest.mark.parametrize("stop", [KeyboardInterrupt, SystemExit, ZeroDivisionError])
def test_what_is_no_matter_of_the_book_is_passed_on(stop: type[BaseException]) -> None:
    with pytest.raises(stop), contained(b""):
        raise stop


def test_a_book_of_no_known_kind_is_a_problem_in_words() -> None:
    with pytest.raises(BookProblem, match="OverflowError"), contained(b""):
        raise OverflowError


def test_a_filled_sheet_that_is_not_read_is_named(tmp_path: Path) -> None:
    sheets: dict[str, list[list[object]]] = {
        "pens": [["pen", "hens_max"], ["A", 8]],
        "2025": [["pen", "hens_max"], ["B", 6]],
        "empty": [],
    }
    (folder(tmp_path) / "pens.csv").unlink()
    (tmp_path / "pens.xlsx").write_bytes(xlsx(sheets))
    tables = read_folder(tmp_path)
    assert [pen.pen for pen in tables.pens] == ["A"]
    assert places(tables.doubts) == [("sheet-not-read", "pens.xlsx", None, None, "2025")]


def test_a_column_with_cells_and_no_header_is_named(tmp_path: Path) -> None:
    tables = read(tmp_path, pens="pen,,hens_max,\nA,,8,\nB,by the gate,6,\nC,old,4,\n")
    assert places(tables.doubts) == [("column-without-header", "pens.csv", 1, None, "B")]
    assert "2 cells, the first in row 3" in tables.doubts[0].problem


@pytest.mark.parametrize("digits", [400, 5000])
def test_a_share_over_a_number_without_end_is_refused(digits: int) -> None:
    issue = read_parent(f"C1:1/{'9' * digits}|C2:1/2").issue
    assert issue is not None
    assert issue.kind == "bad-parent"


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        (f"season = {'9' * 5000}", "thousands of digits"),
        (f"season = 0x{'9' * 9000}", "the number is too large"),
        (f"{'a.' * 3000}a = 1", "far too many parts"),
    ],
)
def test_settings_beyond_measure_are_refused(text: str, problem: str) -> None:
    faults = read_configuration(text.encode()).faults
    assert any(problem in fault.problem for fault in faults)


@pytest.mark.parametrize("text", ["A1..A" + "9" * 60, "A1..A" + "9" * 5000, "A-1-" * 5000])
def test_bands_beyond_measure_are_refused(text: str) -> None:
    with pytest.raises(BandError, match=r"digits|letters"):
        read_bands(text)


def test_a_count_beyond_measure_is_refused() -> None:
    with pytest.raises(SeenError, match="letters"):
        read_seen("P:pea=" + "9" * 5000)


def test_classes_on_lines_of_one_cell_are_told_apart(tmp_path: Path) -> None:
    seen = 'date,hen,cock,locus,what\n2026-06-01,H1,C1,P,"9 pea\n4 single"\n'
    (record,) = read(tmp_path, seen=seen).seen
    assert record.what == (("pea", 9), ("single", 4))


def test_a_sign_nobody_sees_within_a_share_is_a_blank_like_others() -> None:
    assert read_parent("C1:1/\x1f2|C2:1/2").value == read_parent("C1|C2").value
