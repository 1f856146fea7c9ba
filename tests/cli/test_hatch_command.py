"""``hatch`` as a process: a set, its chicks, what is printed, written and refused."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.errors import ExitCode
from tests.cli.run import contents, example, read_rows, run, run_here
from tests.unit.hatch_flocks import flock

if TYPE_CHECKING:
    from pathlib import Path


def test_a_set_and_its_chicks_on_the_largest_example(tmp_path: Path) -> None:
    folder = example("holm-fen", tmp_path / "flock")
    before = contents(folder)
    words = ["--pen", "1", "--dam", "A25-007", "--sire", "S24-004", "--set-on", "2027-03-02"]
    words += ["--collected", "2027-02-23..2027-03-01", "--eggs", "12", "--hatched", "9"]
    words += ["--bands", "A27-001..A27-006", "--seen", "P:single=5,pea=4", "--in", str(folder)]
    tried = run_here("hatch", *words, "--dry-run")
    assert tried.code == 0, tried.err
    assert "To be written" in tried.out
    assert "Nothing was written" in tried.err
    assert contents(folder) == before
    done = run("hatch", *words, "--json", "--csv", tmp_path / "learned.csv")
    assert done.code == 0, done.err
    assert done.document["written"][0]["file"] == "eggs.csv"
    assert done.document["sets"][0]["dam"] == "A25-007"
    assert len(read_rows(folder / "birds.csv")) == 250 + 6
    assert (tmp_path / "learned.csv").read_text().startswith("bird,locus,before_0")


def test_a_form_and_refusals(tmp_path: Path) -> None:
    folder = flock(tmp_path / "flock")
    (folder / "spring.csv").write_text("pen,set_on,eggs\nOrchard,2027-03-02,20\n")
    assert run_here("hatch", "--from", "spring.csv", "--in", folder).code == 0
    assert [row["eggs"] for row in read_rows(folder / "eggs.csv")] == ["20"]
    ran = run_here("hatch", "--from", "spring.csv", "--pen", "Yard", "--in", folder)
    assert (ran.code, ran.err) == (ExitCode.USAGE, "matchmaker: --from takes no --pen beside it\n")
    again = run_here("hatch", "--from", "spring.csv", "--in", folder)
    assert "the tables say so already" in again.err


def test_an_impossible_chick(tmp_path: Path) -> None:
    moves = [
        {"bird": bird, "pen": "Orchard", "moved_in": "2027-02-01", "moved_out": ""}
        for bird in ("SC", "S1")
    ]
    folder = flock(tmp_path / "flock", moves)
    before = contents(folder)
    words = ["--pen", "Orchard", "--set-on", "2027-03-02", "--eggs", "9", "--hatched", "9"]
    ran = run_here("hatch", *words, "--seen", "P:pea=1,single=8", "--in", folder, "--json")
    assert ran.code == ExitCode.FAULTS
    assert "by the tables these parents cannot have such a chick" in ran.err
    assert "leave out --seen until you have looked again" in ran.err
    assert ran.document["faults"][0]["kind"] == "contradiction"
    assert contents(folder) == before
