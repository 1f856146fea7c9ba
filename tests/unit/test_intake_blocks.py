from __future__ import annotations

import io
import zipfile
from typing import TYPE_CHECKING

import pytest
import xlsxwriter

from matchmaker.intake.blocks import cut, read_blocks
from matchmaker.intake.grid import make_grid
from matchmaker.intake.model import Block, Merged
from matchmaker.tables import extent, raw
from matchmaker.tables.findings import Findings
from tests.unit.tables_helpers import ods, places, xlsx

if TYPE_CHECKING:
    from pathlib import Path

BIRDS = ["Ring,Sex,Hatched", "C01,m,2024", "C02,f,2025", "C03,f,2025"]


def blocks_of(
    *lines: str, merged: tuple[tuple[tuple[int, int], tuple[int, int]], ...] = ()
) -> tuple[Block, ...]:
    """Cut a sheet written as lines of cells with commas between; "" is a blank row."""
    rows = [(number, line.split(",")) for number, line in enumerate(lines, 1)]
    return cut(make_grid("book.xlsx", "Flock", rows, merged))


def block_of(*lines: str) -> Block:
    (block,) = blocks_of(*lines)
    return block


def numbers(block: Block) -> list[int]:
    return [row.row for row in block.rows]


def told_outside(block: Block) -> list[tuple[int, str, str]]:
    return [(one.row, one.text, one.why) for one in block.outside]


def test_a_plain_table_is_one_block() -> None:
    block = block_of(*BIRDS)
    assert (block.file, block.sheet, block.header_row) == ("book.xlsx", "Flock", 1)
    assert block.headers == ("Ring", "Sex", "Hatched")
    assert numbers(block) == [2, 3, 4]
    assert block.rows[0].cells == ("C01", "m", "2024")
    assert block.outside == ()


def test_title_rows_above_and_blank_rows_between_keep_the_true_numbers() -> None:
    block = block_of("Marsh End 2026", "kept by Ann", "", *BIRDS[:2], "", "", *BIRDS[2:])
    assert block.header_row == 4
    assert numbers(block) == [5, 8, 9]
    assert told_outside(block) == [
        (1, "Marsh End 2026", "it stands above the header"),
        (2, "kept by Ann", "it stands above the header"),
    ]


def test_a_title_row_of_two_cells_is_no_header() -> None:
    block = block_of("Our birds,kept by Ann", *BIRDS)
    assert block.header_row == 2
    assert [row for row, *_ in told_outside(block)] == [1]


def test_totals_notes_and_headings_are_outside_and_a_band_alone_is_a_row() -> None:
    block = block_of(
        "Ring,Sex,Hatched,Weight",
        "hatched 2024,,,",
        "C01,m,2024,2.1",
        "C02,,,",
        "Total,,,2.1",
        "",
        "* moulted late,,,",
        "ask Bill about the grey hen,,,",
        "in the book,2,,",
    )
    assert numbers(block) == [3, 4]
    why = {row: reason.split()[2] for row, _, reason in told_outside(block)}
    assert why == {2: "a", 5: "a", 7: "a", 8: "a", 9: "a"}
    assert "total" in {row: reason for row, _, reason in told_outside(block)}[5]


def test_a_total_is_seen_wherever_its_word_stands() -> None:
    block = block_of("Pen,Cock,Set,Eggs", "1,C01,1/3/25,12", "2,C02,1/3/25,10", "24,,Total:,22")
    assert numbers(block) == [2, 3]
    block = block_of("Ring,Temper,Weight,Comb", "101,calm,2.1,3", "102,mean,1.9,4")
    assert numbers(block) == [2, 3]


def test_a_bird_whose_name_begins_like_a_total_is_kept() -> None:
    block = block_of("Bird,Sex,Hatched", "Countess,f,2024", "Sum1,m,2024", "Mean Machine,m,2025")
    assert numbers(block) == [2, 3, 4]


def test_the_header_once_more_is_no_row() -> None:
    block = block_of(*BIRDS, BIRDS[0], "C04,m,2026")
    assert numbers(block) == [2, 3, 4, 6]
    assert told_outside(block) == [(5, "Ring Sex Hatched", "it is the header once more")]


def test_a_second_table_below_with_its_title() -> None:
    birds, pens = blocks_of(*BIRDS, "", "Our pens", "Pen,Room for hens", "1,6", "Barn,4")
    assert numbers(birds) == [2, 3, 4]
    assert birds.outside == ()
    assert (pens.header_row, pens.headers, numbers(pens)) == (7, ("Pen", "Room for hens"), [8, 9])
    assert told_outside(pens) == [(6, "Our pens", "it stands above the header")]


def test_tables_side_by_side() -> None:
    birds, pens = blocks_of(
        "Birds,,,,Pens,",
        "Ring,Sex,Hatched,,Pen,Room for hens",
        "C01,m,2024,,1,6",
        "C02,f,2025,,Barn,4",
        "C03,f,2025,,,",
        "C04,f,2025,,,",
        "C05,f,2025,,,",
    )
    assert (birds.first_column, birds.headers) == (0, ("Ring", "Sex", "Hatched"))
    assert numbers(birds) == [3, 4, 5, 6, 7]
    assert (pens.first_column, pens.headers, numbers(pens)) == (4, ("Pen", "Room for hens"), [3, 4])
    assert pens.rows[1].cells == ("Barn", "4")


def test_tables_side_by_side_whose_headers_stand_in_different_rows() -> None:
    birds, pens = blocks_of(
        "Ring,Sex,Hatched,,,",
        "C01,m,2024,,Houses,",
        "C02,f,2025,,Pen,Room for hens",
        "C03,f,2025,,1,6",
        "C04,f,2025,,Barn,4",
        "C05,f,2025,,,",
        "C06,f,2025,,,",
    )
    assert (birds.header_row, numbers(birds)) == (1, [2, 3, 4, 5, 6, 7])
    assert (pens.header_row, numbers(pens)) == (3, [4, 5])
    assert told_outside(pens) == [(2, "Houses", "it stands above the header")]


def test_a_blank_column_within_a_table_parts_nothing() -> None:
    block = block_of("Ring,Sex,,Hatched,Notes", "C01,m,,2024,", "C02,f,,2025,lame", "C03,f,,2025,")
    assert block.headers == ("Ring", "Sex", "", "Hatched", "Notes")


def test_a_blank_column_in_the_middle_of_birds_parts_nothing_though_all_rows_are_filled() -> None:
    block = block_of(
        "Ring,Sex,Notes,,Weight,Out of the egg,Hen,Notes",
        "C01,m,,,2.1,2024,,",
        "C02,f,,,1.9,2025,,shy",
        "C03,f,,,,2025,C02,",
        "C04,f,,,,,,",
    )
    assert len(block.headers) == 8


def test_parents_beyond_a_blank_column_are_no_table_of_their_own() -> None:
    block = block_of(
        "Ring,Sex,,Cock,Hen",
        "C01,m,,,",
        "C02,f,,,",
        "C03,f,,,",
        "C04,m,,C01,C02",
        "C05,f,,C01,C02",
    )
    assert block.headers == ("Ring", "Sex", "", "Cock", "Hen")


def test_columns_without_header_and_headers_twice_are_kept_apart() -> None:
    block = block_of("Ring,Sex,,Weight,Weight", "C01,m,x,2.1,2.4", "C02,f,,1.9,2.0")
    assert block.headers == ("Ring", "Sex", "", "Weight", "Weight")
    assert block.rows[0].cells == ("C01", "m", "x", "2.1", "2.4")


def test_a_header_wholly_in_the_keepers_words_is_told_by_its_shape() -> None:
    block = block_of("Meine Tiere", "", "Kennung,Art,Tag", "K1,x,3/4/2025", "K2,y,5/4/2025")
    assert block.header_row == 3
    assert numbers(block) == [4, 5]


@pytest.mark.parametrize(
    ("lines", "merged", "headers"),
    [
        (
            ("Ring,Sex,Weight,,Notes", ",,spring,autumn,", "C01,m,2.1,2.4,", "C02,f,1.9,2,"),
            (((0, 2), (0, 3)),),
            ("Ring", "Sex", "Weight - spring", "Weight - autumn", "Notes"),
        ),
        (
            (",,Weight,,", "Ring,Sex,spring,autumn,Notes", "C01,m,2.1,2.4,", "C02,f,1.9,2,"),
            (),
            ("Ring", "Sex", "Weight - spring", "Weight - autumn", "Notes"),
        ),
        (
            ("Bird,,Weight,", "Ring,Sex,12 wk,20 wk", "C01,m,2.1,2.4", "C02,f,1.9,2"),
            (((0, 0), (0, 1)), ((0, 2), (0, 3))),
            ("Bird - Ring", "Bird - Sex", "Weight - 12 wk", "Weight - 20 wk"),
        ),
    ],
    ids=["names above", "names below", "both grouped"],
)
def test_headers_in_two_rows_are_joined(
    lines: tuple[str, ...],
    merged: tuple[tuple[tuple[int, int], tuple[int, int]], ...],
    headers: tuple[str, ...],
) -> None:
    (block,) = blocks_of(*lines, merged=merged)
    assert (block.header_row, block.headers, numbers(block)) == (2, headers, [3, 4])
    assert [(row, why) for row, _, why in told_outside(block)] == [
        (1, "it is joined with the header below it")
    ]


def test_a_row_of_units_below_the_header_belongs_to_it() -> None:
    block = block_of("Ring,Sex,Weight,Comb", ",,kg,(points)", "C01,m,2.1,3", "C02,f,1.9,4")
    assert block.headers == ("Ring", "Sex", "Weight (kg)", "Comb (points)")
    assert (block.header_row, numbers(block)) == (2, [3, 4])


def test_a_merged_title_over_the_whole_table_is_not_joined() -> None:
    (block,) = blocks_of("Our flock,,", *BIRDS, merged=(((0, 0), (0, 2)),))
    assert block.headers == ("Ring", "Sex", "Hatched")


def test_cells_merged_down_a_column_are_told() -> None:
    (block,) = blocks_of(
        "The log,,",
        "Pen,Ring,In",
        "1,C01,1/2/2025",
        ",C02,1/2/2025",
        "2,C03,1/2/2025",
        merged=(((0, 0), (0, 2)), ((2, 0), (3, 0))),
    )
    assert block.merged == (Merged(first=3, last=4, at=0),)


def test_rows_that_nobody_headed_are_a_block_without_headers() -> None:
    block = block_of("C01,m,2024-03-01", "C02,f,2024-03-02", "C03,f,2024-03-02")
    assert (block.header_row, block.headers, numbers(block)) == (0, ("", "", ""), [1, 2, 3])


def test_a_sheet_of_mere_text_is_all_outside() -> None:
    block = block_of("Things to do", "mend the roof", "buy grit and feed")
    assert (block.headers, block.rows) == ((), ())
    assert [row for row, *_ in told_outside(block)] == [1, 2, 3]


def test_a_list_of_one_column() -> None:
    block = block_of("Ring", "C01", "C02")
    assert (block.headers, numbers(block)) == (("Ring",), [2, 3])


def test_a_header_without_rows() -> None:
    block = block_of("Ring,Sex,Hatched")
    assert (block.header_row, block.headers, block.rows) == (1, ("Ring", "Sex", "Hatched"), ())


def test_a_row_of_words_among_birds_is_no_new_header() -> None:
    block = block_of(
        "Ring,Sex,Status,Notes", "C01,cock,dead,", "", "Bertha,hen,young,shy", "C02,f,,"
    )
    assert numbers(block) == [2, 4, 5]


TEXT = "Ring;Gewicht;Sex\nC01;2,1;m\nC02;1,9;f\n"


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("a.csv", TEXT.encode()),
        ("a.txt", TEXT.replace(";", "\t").encode("utf-16")),
        ("a.tsv", TEXT.replace(";", "\t").encode("utf-8-sig")),
        ("a.csv", TEXT.replace(";", "|").encode()),
        ("a.csv", b"sep=;\r\n" + TEXT.replace("\n", "\r\n").encode("cp1252")),
        ("a.csv", b"sep=^\n" + TEXT.replace(";", "^").encode()),
    ],
    ids=["semicolon", "tabs in utf-16", "tabs", "bar", "sep=;", "sep=^"],
)
def test_text_of_every_kind(tmp_path: Path, name: str, content: bytes) -> None:
    (tmp_path / name).write_bytes(content)
    findings = Findings()
    (block,) = read_blocks(tmp_path / name, (), findings)
    assert (block.file, block.sheet) == (name, "")
    assert block.headers == ("Ring", "Gewicht", "Sex")
    assert block.rows[0].cells == ("C01", "2,1", "m")
    assert findings == Findings()


def test_guards_against_formulas_are_taken_off_as_in_every_table(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_text("Ring,Sex,Notes\nC01,m,'=calm\nC02,f,'tis she\n")
    (block,) = read_blocks(tmp_path / "a.csv", (), Findings())
    assert [row.cells[2] for row in block.rows] == ["=calm", "'tis she"]


def test_old_letters_are_a_doubt(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_bytes("Ring;Stall\nC01;Grüne Hütte\n".encode("cp1252"))
    findings = Findings()
    (block,) = read_blocks(tmp_path / "a.csv", (), findings)
    assert block.rows[0].cells == ("C01", "Grüne Hütte")
    assert [found.kind for found in findings.doubts] == ["old-encoding"]


def test_every_visible_sheet_is_read_and_hidden_ones_are_named(tmp_path: Path) -> None:
    rows: list[list[object]] = [["Ring", "Sex"], ["C01", "m"]]
    content = xlsx({"Cocks": rows, "Old": rows, "Hens": rows}, hidden="Old")
    (tmp_path / "b.xlsx").write_bytes(content)
    findings = Findings()
    found = read_blocks(tmp_path / "b.xlsx", (), findings)
    assert [block.sheet for block in found] == ["Cocks", "Hens"]
    assert places(tuple(findings.doubts)) == [("hidden-sheet", "b.xlsx", None, None, "Old")]


def test_merged_cells_of_a_workbook(tmp_path: Path) -> None:
    with xlsxwriter.Workbook(tmp_path / "b.xlsx") as book:
        sheet = book.add_worksheet("Log")
        sheet.merge_range("A1:C1", "Who was where")
        sheet.write_row("A2", ["Pen", "Ring", "In"])
        sheet.merge_range("A3:A4", "Barn")
        sheet.write_row("B3", ["C01", "1/2/2025"])
        sheet.write_row("B4", ["C02", "1/2/2025"])
    findings = Findings()
    (block,) = read_blocks(tmp_path / "b.xlsx", (), findings)
    assert block.merged == (Merged(first=3, last=4, at=0),)
    assert block.rows[1].cells == ("", "C02", "1/2/2025")


def test_errors_and_formulas_never_worked_out_are_named_not_lost(tmp_path: Path) -> None:
    with xlsxwriter.Workbook(tmp_path / "b.xlsx") as book:
        sheet = book.add_worksheet("Weights & co")
        sheet.write_row("A1", ["Ring", "Weight", "Sum"])
        sheet.write_row("A2", ["C01", "", ""])
        sheet.write_formula("B2", "=NA()", value="#N/A")
        sheet.write_row("A3", ["C02", 2.1, ""])
        sheet.write_formula("C3", "=B3*2", value="")
        sheet.write_row("A4", ["C03", "", ""])
        sheet.write_formula("B4", "=NA()", value="#N/A")
        sheet.write_formula("C4", "=B3*2", value=4.2)
    findings = Findings()
    (block,) = read_blocks(tmp_path / "b.xlsx", (), findings)
    assert numbers(block) == [2, 3, 4]
    error, formula = sorted(findings.doubts, key=lambda found: found.row or 0)
    assert (error.kind, error.row, error.value) == ("cell-reads-empty", 2, "#N/A")
    assert "the cells B2, B4 of the sheet Weights & co hold the error #N/A" in error.problem
    assert (formula.kind, formula.row) == ("cell-reads-empty", 3)
    assert "the cell C3" in formula.problem


def test_merged_cells_of_an_ods_book(tmp_path: Path) -> None:
    content = ods([["Pen", "Ring", "In"], ["Barn", "C01", "1/2/2025"], ["", "C02", "1/2/2025"]])
    with zipfile.ZipFile(io.BytesIO(content)) as packed:
        parts = {name: packed.read(name).decode() for name in packed.namelist()}
    cell = '<table:table-cell office:value-type="string">'
    spanned = cell.replace(" ", ' table:number-rows-spanned="2" ', 1)
    parts["content.xml"] = parts["content.xml"].replace(
        f"{cell}<text:p>Barn", f"{spanned}<text:p>Barn"
    )
    with zipfile.ZipFile(tmp_path / "b.ods", "w") as packed:
        for name, text in parts.items():
            packed.writestr(name, text)
    (block,) = read_blocks(tmp_path / "b.ods", (), Findings())
    assert block.merged == (Merged(first=2, last=3, at=0),)


def test_an_ods_book(tmp_path: Path) -> None:
    (tmp_path / "b.ods").write_bytes(ods([line.split(",") for line in BIRDS]))
    findings = Findings()
    (block,) = read_blocks(tmp_path / "b.ods", (), findings)
    assert (block.sheet, numbers(block)) == ("Sheet1", [2, 3, 4])


@pytest.mark.parametrize(
    ("name", "content", "kind"),
    [
        ("a.pdf", b"%PDF", "unreadable-file"),
        ("a.xlsx", b"no book", "unreadable-file"),
        ("a.csv", b"a,b\n\0\0", "unreadable-file"),
        ("a.csv", b'Ring,Sex\nC01,m\n"C02"x,f\n', "broken-row"),
    ],
    ids=["no table", "no book", "no text", "quotes"],
)
def test_what_cannot_be_read_is_a_fault(
    tmp_path: Path, name: str, content: bytes, kind: str
) -> None:
    (tmp_path / name).write_bytes(content)
    findings = Findings()
    read_blocks(tmp_path / name, (), findings)
    assert [found.kind for found in findings.faults] == [kind]
    assert all(found.mend for found in findings.faults)


def test_a_file_too_large_is_a_fault(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(raw, "SIZE_MAX", 10)
    (tmp_path / "a.csv").write_text("Ring,Sex\nC01,m\n")
    findings = Findings()
    assert read_blocks(tmp_path / "a.csv", (), findings) == ()
    assert len(findings.faults) == 1


def test_a_cell_far_out_is_a_fault(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(extent, "CELLS_MAX", 10)
    (tmp_path / "a.csv").write_text("Ring,Sex\nC01,m\n,,,,x\n")
    findings = Findings()
    assert read_blocks(tmp_path / "a.csv", (), findings) == ()
    assert "row 3 or column 5" in findings.faults[0].problem


def test_a_file_without_anything_is_a_doubt(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_text("\n,,\n")
    findings = Findings()
    assert read_blocks(tmp_path / "a.csv", (), findings) == ()
    assert [found.kind for found in findings.doubts] == ["empty-file"]
