"""``--undo``: the last write is taken back whole, and nothing of the keeper's own with it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.builders import HOME, HOME_SEEN, write_flock
from tests.cli.run import contents, edit_text, run_here

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A small flock, in a folder whose name has a blank and an umlaut."""
    made = tmp_path / "Höfe und Stall"
    made.mkdir()
    write_flock(made, HOME, seen=HOME_SEEN)
    return made


def tables(folder: Path) -> dict[str, bytes]:
    return {name: text for name, text in contents(folder).items() if not name.endswith(".bak")}


def hatch(folder: Path) -> None:
    """Eggs set, of a plan that is kept first: a new table."""
    if not (folder / "plan.csv").exists():
        assert run_here("plan", "--write", "--in", folder).code == 0
    pen = ("--pen", "Yard", "--set-on", "2027-03-02", "--eggs", "9")
    ran = run_here("hatch", *pen, "--in", folder)
    assert ran.code == 0, ran.err


def test_writes_are_taken_back_one_after_the_other(folder: Path) -> None:
    start = tables(folder)
    written = run_here("plan", "--write", "--in", folder)
    assert f'To take it back: matchmaker plan --undo --in "{folder}"' in written.err
    planned = tables(folder)
    assert set(planned) - set(start) == {"plan.csv"}
    hatch(folder)
    assert "eggs.csv" in tables(folder)

    first = run_here("hatch", "--undo", "--in", folder)
    assert (first.code, tables(folder)) == (0, planned)
    assert first.lines[0].startswith("Taken back: matchmaker hatch on 2")
    assert "eggs.csv is gone, for there was none before." in first.out
    assert "--undo once more takes back: matchmaker plan --write on 2" in first.out

    second = run_here("check", "--undo", "--json", "--in", folder)
    assert (second.code, tables(folder)) == (0, start)
    (file,) = second.document["files"]
    assert (folder / file["kept"]).read_bytes() == planned["plan.csv"]
    assert (file["there"], second.document["next"]) == (False, None)
    assert second.document["taken_back"]["command"] == "plan --write"

    third = run_here("plan", "--undo", "--in", folder)
    assert (third.code, third.out) == (2, "")
    assert "remembers no write to take back" in third.err


def test_what_was_changed_by_hand_since_is_never_taken_back(folder: Path) -> None:
    hatch(folder)
    edit_text(folder / "eggs.csv", "2027-03-02", "2027-03-03")
    before = contents(folder)
    ran = run_here("rebalance", "--undo", "--in", folder)
    assert ran.code == 2
    assert "eggs.csv was changed after matchmaker hatch on 2" in ran.err
    assert "By hand: there was none before" in ran.err
    assert contents(folder) == before


def test_a_kept_copy_that_is_gone_is_missed(folder: Path) -> None:
    hatch(folder)
    hatch_later = ("--pen", "Yard", "--set-on", "2027-03-02", "--fertile", "8")
    assert run_here("hatch", *hatch_later, "--in", folder).code == 0
    (copy,) = folder.glob("eggs.csv.*.bak")
    copy.write_text("something else\n")
    before = contents(folder)
    ran = run_here("hatch", "--undo", "--in", folder)
    assert ran.code == 2
    assert f"{copy.name} is not any more what was kept of eggs.csv" in ran.err
    assert contents(folder) == before


@pytest.mark.parametrize(
    ("command", "beside", "named"),
    [
        ("plan", ("--write",), "--write"),
        ("plan", ("--matings", "3"), "--matings"),
        ("hatch", ("--pen", "Yard", "--from", "a.csv"), "--pen or --from"),
        ("hatch", ("--eggs", "0"), "--eggs"),
        ("rebalance", ("--lost", "SC", "--moves", "0"), "--lost or --moves"),
        ("check", ("--csv", "a.csv"), "--csv"),
    ],
)
def test_what_would_have_no_effect_beside_it_is_refused(
    folder: Path, command: str, beside: tuple[str, ...], named: str
) -> None:
    hatch(folder)
    before = contents(folder)
    ran = run_here(command, "--undo", *beside, "--in", folder)
    assert (ran.code, ran.err) == (2, f"matchmaker: --undo takes no {named} beside it\n")
    assert contents(folder) == before


@pytest.mark.parametrize("command", ["plan", "hatch", "rebalance", "check"])
def test_the_help_of_whatever_writes_leads_to_it(command: str) -> None:
    assert "--undo" in run_here(command, "--help").out


@pytest.mark.parametrize("name", ["none", "a file"])
def test_a_folder_that_is_not_there_has_nothing_to_take_back(tmp_path: Path, name: str) -> None:
    (tmp_path / "a file").write_text("text")
    for words in (("plan", "--undo"), ("check",)):
        ran = run_here(*words, "--in", tmp_path / name)
        assert ran.code == 2
        assert "there is no folder" in ran.err or "is a file" in ran.err
    assert not (tmp_path / "none").exists()
