from __future__ import annotations

import csv
import io
import os
import stat
from typing import TYPE_CHECKING

import pytest

from matchmaker.errors import UsageError, WouldOverwriteError
from matchmaker.tables.disk import free_name
from matchmaker.tables.write import (
    csv_text,
    refuse_target,
    write_csv,
    write_text_atomically,
)
from tests.one_table import write_table
from tests.unit.tables_helpers import read

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.tables import write


def names(path: Path) -> list[str]:
    return sorted(file.name for file in path.iterdir())


def test_a_new_file_is_written_as_it_is(tmp_path: Path) -> None:
    write_text_atomically(tmp_path / "a.csv", "Gården\n")
    assert (tmp_path / "a.csv").read_bytes() == "Gården\n".encode()
    assert names(tmp_path) == ["a.csv"]


def test_nothing_is_replaced_unasked(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_text("old")
    with pytest.raises(WouldOverwriteError, match="exists already"):
        write_text_atomically(tmp_path / "a.csv", "new")
    assert (tmp_path / "a.csv").read_text() == "old"


@pytest.mark.parametrize(
    ("stamp", "copies"),
    [("", ["a.1.bak", "a.2.bak"]), ("now", ["a.now.bak", "a.now-1.bak"])],
)
def test_no_copy_replaces_another(tmp_path: Path, stamp: str, copies: list[str]) -> None:
    for name in copies:
        assert free_name(tmp_path / "a", stamp) == tmp_path / name
        (tmp_path / name).write_text("1")


def test_a_stop_before_the_last_step_leaves_the_old_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_file: int) -> None:
        raise OSError(28, "No space left on device")

    (tmp_path / "a").write_text("old")
    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(UsageError, match="No space left"):
        write_text_atomically(tmp_path / "a", "new", overwrite=True)
    assert ((tmp_path / "a").read_text(), names(tmp_path)) == ("old", ["a"])


def test_a_missing_folder_is_told(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="cannot be written"):
        write_text_atomically(tmp_path / "none" / "a", "text")


def test_a_link_stays_a_link(tmp_path: Path) -> None:
    (tmp_path / "a").write_text("old")
    (tmp_path / "link").symlink_to(tmp_path / "a")
    write_text_atomically(tmp_path / "link", "new", overwrite=True)
    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "a").read_text() == "new"


def test_a_replaced_file_keeps_its_permissions(tmp_path: Path) -> None:
    (tmp_path / "a").write_text("old")
    (tmp_path / "a").chmod(0o640)
    write_text_atomically(tmp_path / "a", "new", overwrite=True)
    assert stat.S_IMODE((tmp_path / "a").stat().st_mode) == 0o640


@pytest.mark.parametrize(
    ("cell", "written"),
    [
        ("=1+1", "'=1+1"),
        ("+H1", "'+H1"),
        ("-H1", "'-H1"),
        ("@x", "'@x"),
        pytest.param("-1.5", "-1.5", id="text of a number"),
        pytest.param(-1.5, "-1.5", id="number"),
        (None, ""),
        ("a,b", '"a,b"'),
        ('5" shank', '"5"" shank"'),
        ("two\nlines", '"two\nlines"'),
        ("one\rline", '"one\rline"'),
    ],
)
def test_cells_of_exports(cell: write.Cell, written: str) -> None:
    assert csv_text(["h", "k"], [[cell, 1]]) == f"h,k\n{written},1\n"


def test_an_export_reads_as_written(tmp_path: Path) -> None:
    rows = [["H1", 'says "no", twice'], ["<b>", "a\nb"]]
    write_csv(tmp_path / "x.csv", ["hen", "why"], rows)
    text = (tmp_path / "x.csv").read_text(encoding="utf-8")
    assert list(csv.reader(io.StringIO(text, newline=""))) == [["hen", "why"], *rows]


def test_a_table_written_reads_back(tmp_path: Path) -> None:
    plan = "pen,line,cock,hen,why\nYard,Alder,C1,H1,=calm\nYard,Alder,C1,H2,-\n"
    before = read(tmp_path, plan=plan)
    write_table(tmp_path / "plan.csv", "plan", before.plan)
    write_table(tmp_path / "birds.csv", "birds", before.birds)
    assert (tmp_path / "plan.csv").read_text() == plan.replace("=calm", "'=calm")
    after = read(
        tmp_path,
        plan=(tmp_path / "plan.csv").read_bytes(),
        birds=(tmp_path / "birds.csv").read_bytes(),
    )
    assert (after.birds, after.plan) == (before.birds, before.plan)


@pytest.mark.parametrize("name", ["birds.csv", "Plan.csv", "matchmaker.toml"])
def test_an_export_never_takes_the_place_of_a_table_of_the_flock(tmp_path: Path, name: str) -> None:
    (tmp_path / "matchmaker.toml").write_text("season = 2027\n", encoding="utf-8")
    (tmp_path / name).write_text("as it was\n", encoding="utf-8")
    with pytest.raises(UsageError, match="a table of the flock itself"):
        write_csv(tmp_path / name, ["hen"], [["H1"]], overwrite=True)
    with pytest.raises(UsageError, match="a table of the flock itself"):
        write_text_atomically(tmp_path / name, "{}", overwrite=True)
    with pytest.raises(UsageError, match="name another file"):
        refuse_target(tmp_path / name, overwrite=True)
    assert (tmp_path / name).read_text(encoding="utf-8") == "as it was\n"


def test_a_page_may_have_the_name_of_a_table(tmp_path: Path) -> None:
    for name in ("matchmaker.toml", "plan.html"):
        (tmp_path / name).write_text("old\n", encoding="utf-8")
    refuse_target(tmp_path / "plan.html", overwrite=True)
    write_text_atomically(tmp_path / "plan.html", "new\n", overwrite=True)
    assert (tmp_path / "plan.html").read_text(encoding="utf-8") == "new\n"


def test_elsewhere_an_export_may_have_the_name_of_a_table(tmp_path: Path) -> None:
    (tmp_path / "birds.csv").write_text("old\n", encoding="utf-8")
    write_csv(tmp_path / "birds.csv", ["hen"], [["H1"]], overwrite=True)
    assert (tmp_path / "birds.csv").read_text(encoding="utf-8") == "hen\nH1\n"
