"""Ten faults of ten kinds, planted in one folder, each named with its place."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import pytest

from tests.cli.run import Cells, Ran, edit_rows, edit_text, example, read_rows, run_here

if TYPE_CHECKING:
    from pathlib import Path

KINDS: Final = {
    "unknown-parent": ("birds.csv", 100, "dam", "S99-999"),
    "parent-sex": ("birds.csv", 101, "sire", "A24-004"),
    "impossible-date": ("birds.csv", 110, "hatched", "2024-13-40"),
    "bad-sex": ("birds.csv", 120, "sex", "maybe"),
    "duplicate-bird": ("birds.csv", 252, "bird", "S23-008"),
    "out-of-range": ("pens.csv", 3, "hens_max", "-4"),
    "bad-number": ("scores.csv", 50, "type", "goodish"),
    "unknown-bird": ("wishes.csv", 3, "bird", "A26-999"),
    "bad-how": ("seen.csv", 20, "how", "guesswork"),
    "unknown-setting": ("matchmaker.toml", 63, "limits.kinship_maxx", "0.125"),
}
"""By kind: file, row as a spreadsheet shows it (the header is row 1), column and value."""


def _birds(rows: Cells) -> None:
    rows[98]["dam"] = "S99-999"
    rows[99]["sire"] = "A24-004"
    rows[108]["hatched"] = "2024-13-40"
    rows[118]["sex"] = "maybe"
    rows.append({**rows[30], "notes": "written twice"})


def _plant(folder: Path) -> None:
    edit_rows(folder / "birds.csv", _birds)
    edit_rows(folder / "pens.csv", lambda rows: rows[1].update(hens_max="-4"))
    edit_rows(folder / "scores.csv", lambda rows: rows[48].update(type="goodish"))
    edit_rows(folder / "wishes.csv", lambda rows: rows[1].update(bird="A26-999"))
    edit_rows(folder / "seen.csv", lambda rows: rows[18].update(how="guesswork"))
    edit_text(folder / "matchmaker.toml", "kinship_max = 0.125", "kinship_maxx = 0.125")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = example("holm-fen", tmp_path_factory.mktemp("faults") / "flock")
    _plant(made)
    return made


@pytest.fixture(scope="module")
def as_json(folder: Path) -> Ran:
    return run_here("check", "--in", folder, "--json")


@pytest.fixture(scope="module")
def on_screen(folder: Path) -> Ran:
    return run_here("check", "--in", folder)


def test_the_document_holds_all_ten_with_their_places(as_json: Ran) -> None:
    found = {
        one["kind"]: (one["file"], one["row"], one["column"], one["value"])
        for one in as_json.document["faults"]
    }
    assert found == KINDS
    assert len(as_json.document["faults"]) == len(KINDS)


def test_every_fault_says_what_is_wrong_and_what_to_do(as_json: Ran) -> None:
    assert all(one["problem"] and one["mend"] for one in as_json.document["faults"])


@pytest.mark.parametrize("kind", KINDS)
def test_the_screen_names_file_row_and_column(on_screen: Ran, kind: str) -> None:
    file, row, column, value = KINDS[kind]
    whole = " ".join(on_screen.out.split())
    where = "key" if file.endswith(".toml") else "column"
    assert f'{file}, row {row}, {where} {column} "{value}": ' in whole


def test_the_screen_counts_them(on_screen: Ran) -> None:
    assert on_screen.lines[0] == "10 faults (must be mended) and 1 doubt (worth a look):"


def test_faults_are_an_exit_code(on_screen: Ran, as_json: Ran) -> None:
    assert (on_screen.code, as_json.code) == (3, 3)


def test_the_csv_file_holds_the_same_faults(folder: Path, tmp_path: Path) -> None:
    file = tmp_path / "faults.csv"
    assert run_here("check", "--in", folder, "--csv", file).code == 3
    rows = [row for row in read_rows(file) if row["severity"] == "fault"]
    found = {row["kind"]: (row["file"], int(row["row"]), row["column"]) for row in rows}
    assert found == {kind: place[:3] for kind, place in KINDS.items()}


@pytest.mark.parametrize("command", ["flock", "pairs", "plan"])
def test_every_command_is_stopped_by_them(folder: Path, command: str) -> None:
    ran = run_here(command, "--in", folder, "--json")
    assert ran.code == 3
    assert ran.document["schema"] == f"matchmaker/{command}/1"
    assert {one["kind"] for one in ran.document["faults"]} == set(KINDS)
    assert "10 faults (must be mended first):" in ran.err


def test_an_unknown_locus_is_named_where_the_settings_can_be_read(tmp_path: Path) -> None:
    folder = example("holm-fen", tmp_path / "flock")
    edit_rows(folder / "seen.csv", lambda rows: rows[18].update(locus="Qq"))
    (fault,) = run_here("check", "--in", folder, "--json").document["faults"]
    assert (fault["kind"], fault["row"], fault["column"]) == ("unknown-locus", 20, "locus")
