from __future__ import annotations

import dataclasses
import datetime as dt
import io
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
import xlsxwriter

from matchmaker.tables import extent, raw
from matchmaker.tables.read import read_contents, read_folder
from tests.unit.tables_helpers import BIRDS, folder, ods, places, read, xlsx

if TYPE_CHECKING:
    from matchmaker.tables.records import BirdRecord

ROWS = [line.split(",") for line in BIRDS.splitlines()]


@pytest.fixture
def plain_birds(tmp_path: Path) -> tuple[BirdRecord, ...]:
    (tmp_path / "plain").mkdir()
    tables = read(tmp_path / "plain")
    assert tables.faults == tables.doubts == ()
    assert len(tables.birds) == 4
    return tables.birds


def test_files_in_memory_are_read_as_those_of_a_folder(tmp_path: Path) -> None:
    found = read(tmp_path, moves="bird,pen\nC9,Yard\n", brids="bird\nC1\n")
    contents = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    assert (len(found.faults), len(found.doubts)) == (1, 1)
    assert read_contents(contents) == dataclasses.replace(found, folder=Path())
    del contents["matchmaker.toml"]
    assert "no-configuration" in {one.kind for one in read_contents(contents).faults}


@pytest.mark.parametrize(
    "content",
    [
        BIRDS.encode("utf-8-sig"),
        BIRDS.encode("utf-16"),
        BIRDS.replace(",", ";").encode(),
        BIRDS.replace(",", "\t").encode(),
        BIRDS.replace("\n", "\r\n").encode(),
        BIRDS.replace("\n", "\r").encode(),
        b"sep=;\r\n" + BIRDS.replace(",", ";").replace("\n", "\r\n").encode(),
        BIRDS.replace(",", " , ").encode(),
        BIRDS.replace("C1", '"C1"').encode(),
    ],
    ids=["bom", "utf-16", "semicolon", "tab", "crlf", "cr", "sep", "spaces", "quoted"],
)
def test_the_same_birds_in_every_form_of_text(
    tmp_path: Path, plain_birds: tuple[BirdRecord, ...], content: bytes
) -> None:
    tables = read(tmp_path, birds=content)
    assert tables.faults == tables.doubts == ()
    assert tables.birds == plain_birds


@pytest.mark.parametrize("name", ["birds.xlsx", "birds.ods"])
def test_the_same_birds_in_every_book(
    tmp_path: Path, plain_birds: tuple[BirdRecord, ...], name: str
) -> None:
    (folder(tmp_path) / "birds.csv").unlink()
    rows: list[list[object]] = [list(row) for row in ROWS]
    content = xlsx({"Sheet1": rows}) if name == "birds.xlsx" else ods(ROWS)
    (tmp_path / name).write_bytes(content)
    tables = read_folder(tmp_path)
    assert tables.faults == tables.doubts == ()
    assert tables.birds == plain_birds
    assert tables.files["birds"] == name


def test_cells_of_a_book_are_not_guessed_at(tmp_path: Path) -> None:
    rows: list[list[object]] = [
        ["bird", "sex", "hatched", "sire", "dam", "lay_per_week"],
        [1001.0, "f", dt.date(2025, 3, 17), "", "", 4.5],
        ["0017", "f", 2025, "", "", 4],
    ]
    (folder(tmp_path) / "birds.csv").unlink()
    (tmp_path / "birds.xlsx").write_bytes(xlsx({"hens": rows}))
    first, second = read_folder(tmp_path).birds
    assert (first.bird, first.hatched, first.lay_per_week) == ("1001", dt.date(2025, 3, 17), 4.5)
    assert (second.bird, second.hatched_is_year, second.lay_per_week) == ("0017", True, 4.0)


def test_yes_and_no_of_a_book(tmp_path: Path) -> None:
    rows: list[list[object]] = [["pen", "hens_max", "dam_known", "open"], ["A", 8, True, False]]
    (folder(tmp_path) / "pens.csv").unlink()
    (tmp_path / "pens.xlsx").write_bytes(xlsx({"pens": rows}))
    (pen,) = read_folder(tmp_path).pens
    assert (pen.hens_max, pen.dam_known, pen.open) == (8, True, False)


def test_the_sheet_named_as_the_table_comes_first(tmp_path: Path) -> None:
    decoy: list[list[object]] = [["pen", "hens_max"], ["Old", 3]]
    meant: list[list[object]] = [["pen", "hens_max"], ["New", 5]]
    (folder(tmp_path) / "pens.csv").unlink()
    (tmp_path / "pens.xlsx").write_bytes(xlsx({"2019": decoy, "Pens": meant}))
    assert [pen.pen for pen in read_folder(tmp_path).pens] == ["New"]


def test_a_sheet_with_known_headers_is_found(tmp_path: Path) -> None:
    meant: list[list[object]] = [["pen", "hens_max"], ["New", 5]]
    (folder(tmp_path) / "pens.csv").unlink()
    (tmp_path / "pens.xlsx").write_bytes(xlsx({"cover": [["Our flock"]], "data": meant}))
    assert [pen.pen for pen in read_folder(tmp_path).pens] == ["New"]


def test_a_hidden_sheet_is_named_and_not_read(tmp_path: Path) -> None:
    hidden: list[list[object]] = [["pen", "hens_max"], ["Old", 3]]
    meant: list[list[object]] = [["pen", "hens_max"], ["New", 5]]
    (folder(tmp_path) / "pens.csv").unlink()
    (tmp_path / "pens.xlsx").write_bytes(xlsx({"old": hidden, "new": meant}, hidden="old"))
    tables = read_folder(tmp_path)
    assert [pen.pen for pen in tables.pens] == ["New"]
    assert places(tables.doubts) == [("hidden-sheet", "pens.xlsx", None, None, "old")]


def test_blank_rows_are_passed_over_and_counted(tmp_path: Path) -> None:
    tables = read(tmp_path, pens="pen,hens_max\n\nA,8\n,\nB,6\n")
    assert [(pen.pen, pen.row) for pen in tables.pens] == [("A", 3), ("B", 5)]


def test_blank_rows_of_a_book_are_counted(tmp_path: Path) -> None:
    rows: list[list[object]] = [[], [], ["pen", "hens_max"], [], ["A", 8]]
    (folder(tmp_path) / "pens.csv").unlink()
    (tmp_path / "pens.xlsx").write_bytes(xlsx({"pens": rows}))
    assert [(pen.pen, pen.row) for pen in read_folder(tmp_path).pens] == [("A", 5)]


def test_a_title_above_the_header_is_told(tmp_path: Path) -> None:
    tables = read(tmp_path, pens="Our pens\n\npen,hens_max\nA,8\n")
    assert [(pen.pen, pen.row) for pen in tables.pens] == [("A", 4)]
    assert places(tables.doubts) == [("header-row", "pens.csv", 3, None, "")]


def test_a_quoted_line_break_makes_no_new_row(tmp_path: Path) -> None:
    table = 'bird,with,wish,why\nC1,H1,apart,"fights\nwith her"\nC2,H1,apart,\n'
    first, second = read(tmp_path, wishes=table).wishes
    assert (first.row, first.why, second.row) == (2, "fights\nwith her", 3)


def test_old_letters_are_read_with_a_doubt(tmp_path: Path) -> None:
    tables = read(tmp_path, pens="pen,hens_max\nGården,8\n".encode("cp1252"))
    assert tables.pens[0].pen == "Gården"
    assert places(tables.doubts) == [("old-encoding", "pens.csv", None, None, "")]
    assert "line 2" in tables.doubts[0].problem


@pytest.mark.parametrize(
    "content",
    [b"pen,hens_max\nA\0,8\n", b"\x81\x8d\xff pen", b"\xff\xfep", "pen,hens".encode("utf-16-le")],
    ids=["nul", "no-letters", "half-letter", "unmarked"],
)
def test_text_that_is_none_is_one_fault(tmp_path: Path, content: bytes) -> None:
    tables = read(tmp_path, pens=content)
    assert places(tables.faults) == [("unreadable-file", "pens.csv", None, None, "")]


def test_a_quotation_mark_out_of_place_ends_the_table(tmp_path: Path) -> None:
    tables = read(tmp_path, pens='pen,hens_max\nA,8\n"B,6\nC,4\n')
    assert [pen.pen for pen in tables.pens] == ["A"]
    assert places(tables.faults) == [("broken-row", "pens.csv", 3, None, "")]


def test_a_cell_without_end_is_a_fault(tmp_path: Path) -> None:
    tables = read(tmp_path, pens=f"pen,hens_max\nA,8\n{'x' * 200_000},6\n")
    assert places(tables.faults) == [("broken-row", "pens.csv", 3, None, "")]
    assert "too long" in tables.faults[0].problem


def test_a_folder_in_place_of_a_table_is_a_fault(tmp_path: Path) -> None:
    (folder(tmp_path) / "pens.csv").unlink()
    (tmp_path / "pens.csv").mkdir()
    assert places(read_folder(tmp_path).faults) == [("unreadable-file", "pens.csv", None, None, "")]


def test_a_file_too_large_is_a_fault(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(raw, "SIZE_MAX", 500)
    tables = read(tmp_path, pens="pen,hens_max\n" + "A,8\n" * 200)
    assert places(tables.faults) == [("unreadable-file", "pens.csv", None, None, "")]
    assert "larger" in tables.faults[0].problem


@pytest.mark.parametrize("name", ["pens.xlsx", "pens.xls", "pens.ods"])
@pytest.mark.parametrize("content", [b"", b"PK\x03\x04 not a book", b"plain text", b"\xd0\xcf\x11"])
def test_a_broken_book_is_a_fault(tmp_path: Path, name: str, content: bytes) -> None:
    (folder(tmp_path) / "pens.csv").unlink()
    (tmp_path / name).write_bytes(content)
    assert places(read_folder(tmp_path).faults) == [("unreadable-file", name, None, None, "")]


def test_a_damaged_book_is_a_fault(tmp_path: Path) -> None:
    book = bytearray(xlsx({"pens": [["pen", "hens_max"], ["A", 8]]}))
    book[100:-1000] = bytes(len(book) - 1100)
    (folder(tmp_path) / "pens.csv").unlink()
    (tmp_path / "pens.xlsx").write_bytes(book)
    assert [fault.kind for fault in read_folder(tmp_path).faults] == ["unreadable-file"]


def test_a_cell_far_out_is_a_fault_and_fills_no_memory(tmp_path: Path) -> None:
    rows: list[list[object]] = [["pen", "hens_max"], ["A", 8]]
    rows += [[] for _ in range(300_000)]
    rows += [[*[None] * 30, "x"]]
    (folder(tmp_path) / "pens.csv").unlink()
    (tmp_path / "pens.xlsx").write_bytes(xlsx({"pens": rows}))
    (fault,) = read_folder(tmp_path).faults
    assert (fault.kind, fault.file) == ("unreadable-file", "pens.xlsx")
    assert "row 300003" in fault.problem


def test_two_files_for_one_table_are_a_fault(tmp_path: Path) -> None:
    (folder(tmp_path) / "pens.ods").write_bytes(ods([["pen", "hens_max"], ["B", "3"]]))
    tables = read_folder(tmp_path)
    assert places(tables.faults) == [("two-files", "pens.ods", None, None, "pens.ods")]
    assert tables.files["pens"] == "pens.csv"


def test_a_file_nearly_named_as_a_table_is_told(tmp_path: Path) -> None:
    (folder(tmp_path) / "wishs.csv").write_text("bird,wish\n")
    (doubt,) = read_folder(tmp_path).doubts
    assert (doubt.kind, doubt.file, doubt.mend) == (
        "file-not-read",
        "wishs.csv",
        "did you mean wishes.csv?",
    )


def test_files_in_folders_below_are_not_read(tmp_path: Path) -> None:
    (folder(tmp_path) / "old").mkdir()
    (tmp_path / "old" / "wishes.csv").write_text("bird,wish\nNOBODY,rest\n")
    tables = read_folder(tmp_path)
    assert tables.wishes == ()
    assert sorted(tables.inputs) == ["birds.csv", "matchmaker.toml", "pens.csv"]


def test_a_book_with_no_known_header_is_read_from_its_first_visible_sheet(tmp_path: Path) -> None:
    (folder(tmp_path) / "pens.csv").unlink()
    (tmp_path / "pens.xlsx").write_bytes(xlsx({"one": [["cover"]], "two": [["more"]]}))
    assert places(read_folder(tmp_path).faults) == [("no-header", "pens.xlsx", 1, None, "cover")]


def test_a_day_with_its_hour_is_that_day(tmp_path: Path) -> None:
    rows: list[list[object]] = [
        ["bird", "pen", "moved_in"],
        ["C1", "Yard", dt.datetime(2026, 3, 17, 8, 30)],  # noqa: DTZ001  books know no time zones
        ["C2", "Yard", dt.datetime(2026, 3, 18)],  # noqa: DTZ001
    ]
    (folder(tmp_path) / "moves.xlsx").write_bytes(xlsx({"moves": rows}))
    moves = read_folder(tmp_path).moves
    assert [move.moved_in for move in moves] == [dt.date(2026, 3, 17), dt.date(2026, 3, 18)]


def test_a_file_that_may_not_be_read_is_a_fault(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    may = Path.read_bytes

    def refuse(path: Path) -> bytes:
        if path.name in closed:
            raise PermissionError(13, "Permission denied", str(path))
        return may(path)

    folder(tmp_path)
    monkeypatch.setattr(Path, "read_bytes", refuse)
    closed = {"birds.csv", "pens.csv"}
    found = {fault.file: fault.problem for fault in read_folder(tmp_path).faults}
    assert found["pens.csv"] == "the file may not be read"
    assert sorted(found) == ["birds.csv", "pens.csv"]
    closed.add("matchmaker.toml")
    assert [fault.file for fault in read_folder(tmp_path).faults] == ["matchmaker.toml"]


def test_a_book_that_unpacks_too_far_is_a_fault(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(extent, "UNPACKED_MAX", 1000)
    (folder(tmp_path) / "pens.csv").unlink()
    (tmp_path / "pens.xlsx").write_bytes(xlsx({"pens": [["pen", "hens_max"], ["A", 8]]}))
    (fault,) = read_folder(tmp_path).faults
    assert (fault.kind, fault.file) == ("unreadable-file", "pens.xlsx")
    assert "unpacks" in fault.problem


def test_merged_cells_down_a_column_are_doubted(tmp_path: Path) -> None:
    stream = io.BytesIO()
    with xlsxwriter.Workbook(stream, {"in_memory": True}) as book:
        sheet = book.add_worksheet("pens")
        sheet.merge_range(0, 0, 0, 1, "Our pens")
        sheet.write_row(1, 0, ["pen", "hens_max"])
        sheet.merge_range(2, 0, 3, 0, "A")
        sheet.write_column(2, 1, [8, 6])
    (folder(tmp_path) / "pens.csv").unlink()
    (tmp_path / "pens.xlsx").write_bytes(stream.getvalue())
    tables = read_folder(tmp_path)
    assert places(tables.doubts) == [
        ("header-row", "pens.xlsx", 2, None, ""),
        ("merged-cells", "pens.xlsx", 3, None, ""),
    ]
    assert places(tables.faults) == [("blank-cell", "pens.xlsx", 4, "pen", "")]


@pytest.mark.parametrize("mark", ["~$birds.csv", ".~lock.birds.csv#"])
def test_a_table_open_in_a_spreadsheet_is_doubted(tmp_path: Path, mark: str) -> None:
    (folder(tmp_path) / mark).write_text("somebody")
    assert places(read_folder(tmp_path).doubts) == [("open-elsewhere", "birds.csv", None, None, "")]
