"""The check command: one list in order, its document, mends measured, and mends written."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from tests.builders import HOME, HOME_SEEN, chick, hen, write_flock
from tests.cli.run import contents, read_rows, run_here
from tests.mending_flocks import KIND, WRITTEN, with_no_defects

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from tests.cli.run import Ran

BIRDS = (
    *HOME,
    chick("K", "hen", "AC", "AH", "Alder"),
    chick("L", "hen", "AC", "AH", "Alder", defects=WRITTEN),
    hen("OLD", defects=WRITTEN, status="dead"),
)
"""L could lay but for what is read as a defect; so could a hen, were she not dead."""

NOBODY = "touches no bird that can be penned this spring"


@pytest.fixture
def folder(tmp_path: Path) -> Iterator[Path]:
    with pytest.MonkeyPatch.context() as patch:
        with_no_defects(patch)
        yield write_flock(tmp_path / "fen", BIRDS, seen=HOME_SEEN)


def whole(ran: Ran) -> str:
    """Return the screen without its line breaks."""
    return " ".join(ran.out.split())


def ours(ran: Ran) -> list[dict[str, Any]]:
    """Return the made-up doubts of the document."""
    return [one for one in ran.document["doubts"] if one["kind"] == KIND]


def test_the_list_says_what_each_touches_and_what_would_be_written(folder: Path) -> None:
    out = whole(run_here("check", "--in", folder))
    cell = f'column defects "{WRITTEN}": this is read as a defect'
    first = (
        f"birds.csv, row 7, {cell} of L touches 1 of 6 breeders: L → empty the cell "
        f'row 7, defects: "{WRITTEN}" → empty (safe)'
    )
    second = f"birds.csv, row 8, {cell} of OLD {NOBODY} → empty the cell"
    at = [out.index(text) for text in (first, second, "2 of these can be mended safely: check")]
    assert at == sorted(at)


def test_the_document_is_in_the_same_order_and_says_why(folder: Path) -> None:
    ran = run_here("check", "--in", folder, "--json")
    first, last = ours(ran)
    assert [(one["row"], one["touches"], one["weight"]) for one in (first, last)] == [
        (7, 1, 1.0),
        (8, 0, 0.0),
    ]
    assert ran.document["breeders"] == ["AC", "AH", "K", "L", "SC", "SH"]
    assert first["touched"] == {"L": 1.0}
    assert first["safe"] is True
    assert first["effect"] is None
    assert first["mends"] == [
        {"table": "birds", "row": 7, "column": "defects", "was": WRITTEN, "becomes": ""}
    ]


def test_the_rows_for_a_spreadsheet_hold_the_same(folder: Path, tmp_path: Path) -> None:
    file = tmp_path / "doubts.csv"
    run_here("check", "--in", folder, "--csv", file)
    row = next(row for row in read_rows(file) if row["kind"] == KIND)
    assert (row["touches"], row["weight"], row["safe"]) == ("1", "1.0", "yes")
    assert row["cells"] == f'birds, row 7, defects: "{WRITTEN}" → empty'


def test_mends_are_measured_when_asked_for(folder: Path) -> None:
    first, last = ours(run_here("check", "--in", folder, "--weigh", "--json"))
    pairs = first["effect"]["pairs"]
    assert first["left_out"] is False
    assert first["effect"]["gain"] > 0  # one hen more
    assert (last["effect"]["gain"], last["effect"]["kept"]) == (0.0, pairs)
    out = whole(run_here("check", "--in", folder, "--weigh"))
    assert f"(safe) {first['effect']['sentence']}" in out
    assert f"(safe) {last['effect']['sentence']}" in out
    assert "wanted chicks more" in first["effect"]["sentence"]
    assert last["effect"]["sentence"].endswith("the plan keeps its pairs and is worth as much")


def test_without_the_time_for_it_that_is_said(folder: Path) -> None:
    ran = run_here("check", "--in", folder, "--weigh", "--time-limit", "0.001", "--json")
    assert ran.code == 0
    assert [one["left_out"] for one in ours(ran)] == [True, True]
    out = whole(run_here("check", "--in", folder, "--weigh", "--time-limit", "0.001"))
    assert out.count("not measured: the time was over") == 2


def test_safe_mends_go_to_a_copy_and_the_folder_stays(folder: Path) -> None:
    before = contents(folder)
    ran = run_here("check", "--in", folder, "--fix")
    assert ran.code == 0
    assert ran.lines[0] == "2 cells written:"
    assert f'birds.csv, rows 7, 8, column defects: "{WRITTEN}" → empty' in ran.out
    assert "With this written: nothing is wrong." in ran.out
    assert "The plan keeps its 3 pairs, gets 1 more and is worth " in whole(ran)
    assert contents(folder) == before
    copy = contents(folder.with_name("fen-mended"))
    assert {name for name in before if copy[name] != before[name]} == {"birds.csv"}
    assert copy["birds.csv"] == before["birds.csv"].replace(WRITTEN.encode(), b"")


def test_a_table_in_old_letters_is_told_to_be_written_in_new_ones(folder: Path) -> None:
    said = "birds.csv is written as UTF-8 now"
    assert said not in run_here("check", "--in", folder, "--fix").err
    table = folder / "birds.csv"
    text = table.read_text(encoding="utf-8").replace("Alder", "Älder")
    table.write_bytes(text.encode("cp1252"))
    ran = run_here("check", "--in", folder, "--fix", "--write")
    assert said in ran.err
    assert "Älder" in table.read_text(encoding="utf-8")


def test_the_copy_is_not_replaced_unasked_and_mends_end(folder: Path) -> None:
    assert run_here("check", "--in", folder, "--fix").code == 0
    again = run_here("check", "--in", folder, "--fix")
    assert again.code == 6
    assert "exists already" in again.err
    assert run_here("check", "--in", folder, "--fix", "--force").code == 0
    copy = folder.with_name("fen-mended")
    out = whole(run_here("check", "--in", copy, "--fix"))
    assert out == "Nothing here can be mended safely without you. As it stands: nothing is wrong."
    assert not copy.with_name("fen-mended-mended").exists()


def test_written_in_place_the_old_file_is_kept(folder: Path) -> None:
    before = (folder / "birds.csv").read_bytes()
    ran = run_here("check", "--in", folder, "--fix", "--write", "--json")
    assert ran.code == 0
    told = ran.document["mended"]
    assert [(one["row"], one["was"], one["becomes"]) for one in told["written"]] == [
        (7, WRITTEN, ""),
        (8, WRITTEN, ""),
    ]
    assert told["folder"] == str(folder)
    assert told["effect"]["gain"] > 0
    (kept,) = folder.glob("birds.csv.*.bak")
    assert kept.read_bytes() == before
    assert ours(run_here("check", "--in", folder, "--json")) == []
    assert run_here("check", "--in", folder, "--undo").code == 0
    assert (folder / "birds.csv").read_bytes() == before


def test_what_is_not_safe_is_left_with_the_reason(tmp_path: Path) -> None:
    folder = write_flock(tmp_path / "fen", BIRDS, seen=HOME_SEEN)
    with pytest.MonkeyPatch.context() as patch:
        with_no_defects(patch, safe=False)
        ran = run_here("check", "--in", folder, "--fix")
    assert "look first, then mend it by hand:" in ran.out
    left = f'birds.csv, row 7, column defects "{WRITTEN}"; it would be: row 7, defects: '
    assert left in whole(ran)
    assert not folder.with_name("fen-mended").exists()


def test_faults_come_before_doubts_in_one_list(folder: Path) -> None:
    (folder / "pens.csv").write_text("pen,hens_max\nOrchard,8\nYard,many\n", encoding="utf-8")
    ran = run_here("check", "--in", folder)
    assert ran.code == 3
    assert ran.lines[0] == "1 fault (must be mended) and 2 doubts (worth a look):"
    out = whole(ran)
    assert out.index("Fault: pens.csv, row 3") < out.index("Doubt: birds.csv, row 7")
    weighed = run_here("check", "--in", folder, "--weigh")
    assert "With all cells written that are shown with →, 1 fault stops the plan." in whole(weighed)
    fixed = run_here("check", "--in", folder, "--fix")
    assert fixed.code == 3
    assert " 1 fault stops the plan." in whole(fixed)


def test_without_any_bird_nothing_is_said_of_birds(tmp_path: Path) -> None:
    write_flock(tmp_path, HOME, seen=HOME_SEEN)
    (tmp_path / "birds.csv").unlink()
    before = contents(tmp_path)
    for options in ([], ["--weigh"], ["--fix"], ["--fix", "--write"]):
        ran = run_here("check", "--in", tmp_path, *options)
        assert ran.code == 3
        assert "1 fault (must be mended)" in ran.out
        assert "touches" not in ran.out
    assert contents(tmp_path) == before


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (["--write"], "--write can only stand with --fix"),
        (["--time-limit", "3"], "--weigh or --fix"),
        (["--fix", "--weigh"], "--fix takes no --weigh"),
        (["--fix", "--csv", "x.csv"], "--fix takes no --csv"),
    ],
)
def test_options_without_effect_are_refused(folder: Path, options: list[str], told: str) -> None:
    ran = run_here("check", "--in", folder, *options)
    assert ran.code == 2
    assert told in ran.err
