"""``rebalance`` in this process: a cock is lost, then his spare; what is printed, written."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from matchmaker.errors import ExitCode
from tests.cli.run import contents, edit_rows, edit_text, example, read_rows, run_here
from tests.unit.tables_helpers import xlsx

if TYPE_CHECKING:
    from pathlib import Path

    from tests.cli.run import Cells, Ran

DAY = "2027-03-20"
SCREEN = 50
"""Lines of a screen."""


@pytest.fixture(scope="module")
def standing(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Holm Fen with its pens made up on 1 February."""
    folder = example("holm-fen", tmp_path_factory.mktemp("standing") / "flock")
    assert run_here("plan", "--in", folder, "--pen-up", "2027-02-01").code == 0
    return folder


@pytest.fixture
def flock(standing: Path, tmp_path: Path) -> Path:
    """A copy of it to write into."""
    target = tmp_path / "flock"
    target.mkdir()
    for path in standing.iterdir():
        (target / path.name).write_bytes(path.read_bytes())
    return target


def lose(folder: Path, *birds: str, on: str = DAY, more: tuple[object, ...] = ()) -> Ran:
    """Run the command for birds that are lost."""
    lost = [word for bird in birds for word in ("--lost", bird)]
    return run_here("rebalance", "--in", folder, *lost, "--on", on, *more)


def stays_of(folder: Path, bird: str) -> Cells:
    """The stays of this season of a bird, as written."""
    return [
        row
        for row in read_rows(folder / "moves.csv")
        if row["bird"] == bird and row["moved_in"] >= "2027-02-01"
    ]


def test_a_cock_is_lost_on_the_20th_of_march(flock: Path) -> None:
    """His pen's hens wait for two weeks, his eggs are set, then the spare comes in."""
    before = contents(flock)
    ran = lose(flock, "S22-016")
    assert ran.code == 0
    assert contents(flock) == before
    assert ran.lines[0] == "20 March 2027: cock S22-016 of pen 5 is lost"
    assert len(ran.lines) <= SCREEN
    assert max(map(len, ran.lines)) <= 80
    words = " ".join(ran.out.split())
    assert "Today: Leave hens A25-003, A26-010, A26-013 and A26-020 of pen 5 without" in words
    assert re.search(r"3 April: Put cock \S+ into pen 5\.", words)
    assert "until 3 April S22-016's: set them; fewer hatch from those laid after 27 March" in words
    assert re.search(r"4 to 9 April do not set: S22-016 or \S+ may be the sire", words)
    assert re.search(r"from 10 April \S+'s: set them", words)
    assert "left_on 2027-03-20" in words
    assert "--write" in ran.err


def test_the_document_says_the_same(flock: Path) -> None:
    found = lose(flock, "S22-016", more=("--json",)).document
    assert found["schema"] == "matchmaker/rebalance/1"
    (move,) = found["moves"]
    assert (move["from"], move["to"], move["in_on"]) == (None, "5", "2027-04-03")
    (eggs,) = found["eggs"]
    assert [(run["from"], run["to"], run["sire"]) for run in eggs["days"]][:2] == [
        ("2027-03-20", "2027-04-03", "S22-016"),
        ("2027-04-04", "2027-04-09", None),
    ]
    assert eggs["days"][2]["from"] == "2027-04-10"
    assert found["old_value"] - found["value"] == pytest.approx(found["lost_value"])
    values = [step["value"] for step in found["steps"]]
    assert values == sorted(values)
    assert found["steps"][0]["moves"] == 0
    assert found["outcome"] == "optimal"
    assert found["bound"] == pytest.approx(found["value"], abs=1e-5)


def test_then_the_spare_dies_too(flock: Path) -> None:
    """What was written is read again: where the spare stands, that he went in on 3 April."""
    spare = lose(flock, "S22-016", more=("--json",)).document["moves"][0]["bird"]
    written = lose(flock, "S22-016", more=("--write",))
    assert "Wrote" in written.err
    assert "kept in moves.csv." in written.err
    assert stays_of(flock, "S22-016")[0]["moved_out"] == DAY
    assert [row["moved_in"] for row in stays_of(flock, spare)] == ["2027-04-03"]
    ran = lose(flock, spare, on="2027-04-10")
    assert ran.lines[0] == f"10 April 2027: cock {spare} of pen 5 is lost"
    assert "Taken out of the pens before, and not used: S22-016" in ran.out
    assert not re.search(r"Put cock S22-016\b", ran.out)


def test_two_losses_of_one_day_come_to_the_same_as_both_at_once(flock: Path) -> None:
    both = lose(flock, "S22-016", "C26-005", more=("--json",)).document
    lose(flock, "S22-016", more=("--write",))
    after = lose(flock, "C26-005", more=("--json",)).document
    assert after["best_value"] == pytest.approx(both["best_value"], abs=1e-5)
    assert after["old_value"] == pytest.approx(both["old_value"], abs=1e-5)
    assert after["steps"][0]["value"] == pytest.approx(both["steps"][0]["value"], abs=1e-5)


def test_writing_twice_is_writing_once(flock: Path) -> None:
    lose(flock, "C26-005", more=("--write",))
    once = (flock / "moves.csv").read_text(encoding="utf-8")
    lose(flock, "C26-005", more=("--write",))
    rows = [sorted(text.splitlines()) for text in (once, (flock / "moves.csv").read_text("utf-8"))]
    assert rows[0] == rows[1]
    assert "at-once" not in run_here("check", "--in", flock, "--json").out


def test_a_bird_that_the_books_call_dead_is_lost_without_being_named(flock: Path) -> None:
    def buried(rows: Cells) -> Cells:
        for row in rows:
            if row["bird"] == "S22-016":
                row.update(status="dead", left_on="2027-03-18")
        return rows

    named = lose(flock, "S22-016", on="2027-03-18", more=("--json",)).document
    edit_rows(flock / "birds.csv", buried)
    found = lose(flock, more=("--json",)).document
    assert found["lost"] == [{"bird": "S22-016", "pen": "5", "last_day": "2027-03-18"}]
    assert found["eggs"][0]["days"][0]["to"] == named["eggs"][0]["days"][0]["to"] == "2027-04-01"


def test_a_pen_is_closed(flock: Path) -> None:
    ran = run_here("rebalance", "--in", flock, "--close-pen", "3", "--on", DAY)
    assert ran.code == 0
    assert "pen 3 is closed" in ran.lines[0]
    assert re.search(r"Take cock S26-017 out of pen 3|Put cock S26-017 from pen 3", ran.out)
    found = run_here("rebalance", "--in", flock, "--close-pen", "3", "--on", DAY, "--json").document
    assert "3" not in {pen["pen"] for pen in found["pens"]}


def test_nobody_need_be_moved(flock: Path) -> None:
    ran = lose(flock, "C26-005", more=("--moves", "0", "--json"))
    assert ran.document["moves"] == []
    assert "2" not in {pen["pen"] for pen in ran.document["pens"]}


def test_the_wait_is_the_keepers_choice(flock: Path) -> None:
    for wait, sure in ((14, "2027-04-03"), (28, "2027-04-17")):
        more = ("--clean-out", wait, "--moves", 1, "--json")
        days = lose(flock, "S22-016", more=more).document["eggs"][0]["days"]
        assert days[-1]["from"] == sure


def test_eggs_of_two_cocks_are_set_if_that_is_wanted(flock: Path) -> None:
    plain = lose(flock, "C26-005", more=("--json",)).document
    mixed = lose(flock, "C26-005", more=("--set-mixed", "--json")).document
    assert mixed["best_value"] >= plain["best_value"] - 1e-5
    ran = lose(flock, "S22-016", more=("--set-mixed", "--moves", "1"))
    assert re.search(r"set apart, their sire is S22-016 or \S+", " ".join(ran.out.split()))


def test_eggs_in_the_incubator_are_told(flock: Path) -> None:
    eggs = flock / "eggs.csv"
    with eggs.open("a", encoding="utf-8") as stream:
        stream.write("5,,S22-016,2027-03-09,2027-03-15,2027-03-16,18,,,,,\n")
    ran = lose(flock, "S22-016")
    words = " ".join(ran.out.split())
    assert "In the incubator: 18 eggs of pen 5 set on 16 March: S22-016's." in words


def test_without_stays_the_written_plan_is_taken(tmp_path: Path) -> None:
    folder = example("holm-fen", tmp_path / "flock")
    assert run_here("plan", "--in", folder, "--write").code == 0
    ran = lose(folder, "S22-016")
    assert "so the written plan is taken (plan.csv), as made up on 1 February" in " ".join(
        ran.out.split()
    )
    assert lose(folder, "S22-016", more=("--write",)).code == 0
    first = [row for row in read_rows(folder / "moves.csv") if row["moved_in"] == "2027-02-01"]
    assert {"bird": "S22-016", "pen": "5", "moved_in": "2027-02-01", "moved_out": DAY} in first


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--lost", "S22-O16"), "no bird S22-O16 is in the tables"),
        (("--close-pen", "33"), "there is no pen 33 in pens.csv; there are 1, 2, 3"),
        (("--lost", "S22-016", "--on", "yesterday"), "the day to put with --on"),
        (("--lost", "S22-016", "--on", "2027-01-15"), "yet: they are made up on 2027-02-01"),
        (("--lost", "S22-016", "--on", "2027-08-01"), "no more eggs are kept after 2027-04"),
        (("--lost", "S22-016", "--add", "S22-016"), "S22-016 is both lost and added"),
        (("--add", "S22-007"), "S22-007 cannot be added: birds.csv says"),
    ],
)
def test_what_cannot_be_is_refused_in_words(
    standing: Path, words: tuple[str, ...], told: str
) -> None:
    more = () if "--on" in words else ("--on", DAY)
    ran = run_here("rebalance", "--in", standing, *words, *more)
    assert ran.code == ExitCode.USAGE
    assert told in " ".join(ran.err.split())
    assert ran.out == ""


def test_a_pen_with_two_cocks_is_a_fault_with_its_place(flock: Path) -> None:
    with (flock / "moves.csv").open("a", encoding="utf-8") as stream:
        stream.write("S26-002,5,2027-03-01,\n")
    ran = lose(flock, "C26-005")
    assert ran.code == ExitCode.FAULTS
    words = " ".join(ran.err.split())
    assert "moves.csv, row 82" in words
    assert "S22-016" in words
    assert "S26-002 stand in pen 5 together" in words


def test_a_bird_in_two_pens_is_a_fault_with_its_place(flock: Path) -> None:
    with (flock / "moves.csv").open("a", encoding="utf-8") as stream:
        stream.write("A25-003,6,2027-03-01,\n")
    ran = lose(flock, "C26-005")
    assert ran.code == ExitCode.FAULTS
    assert "A25-003 stands in pen 5 (row" in " ".join(ran.err.split())


def test_moves_in_a_workbook_are_refused_before_any_work(flock: Path) -> None:
    rows = read_rows(flock / "moves.csv")
    (flock / "moves.csv").unlink()
    cells: list[list[object]] = [[*rows[0]]]
    cells += [[*row.values()] for row in rows]
    (flock / "moves.xlsx").write_bytes(xlsx({"moves": cells}))
    ran = lose(flock, "S22-016", more=("--write",))
    assert ran.code == ExitCode.USAGE
    assert "moves.xlsx is a workbook, which is not written to" in " ".join(ran.err.split())


def test_minimums_that_can_no_longer_be_kept_are_named(flock: Path) -> None:
    edit_text(flock / "matchmaker.toml", "cocks_min = 1\n\n[lines.Sussex]", "cocks_min = 3\n")
    edit_text(flock / "matchmaker.toml", 'step = "hold"', '[lines.Sussex]\nstep = "hold"')
    ran = lose(flock, "C26-005", "C12", "S26-017")
    assert ran.code == 0
    assert "Not kept: line Cedar has" in " ".join(ran.out.split())


def test_the_plan_tells_what_a_loss_would_mean(standing: Path) -> None:
    ran = run_here("plan", "--in", standing)
    words = " ".join(ran.out.split())
    assert "If S22-016 dies: his hens' eggs stay his for 14 days, then put in" in words
    assert "Keep 4 at least: half as many as the 8 in the pens" in words
    found = run_here("plan", "--in", standing, "--json").document
    assert {one["cock"] for one in found["losses"]} == {pen["cock"] for pen in found["pens"]}
    assert all(0 <= one["loss_at_least"] <= one["loss"] for one in found["losses"])
    lines = {line for one in found["losses"] for line in one["lines"]}
    assert {one["line"] for one in found["spares"]} <= lines
    used = {pen["cock"] for pen in found["pens"]}
    assert not used & {one["cock"] for one in found["spares"]}


def test_a_robust_plan_says_what_it_costs(standing: Path) -> None:
    ran = run_here("plan", "--in", standing, "--robust", "--json")
    found = ran.document["robust"]
    assert found["expected"] >= found["expected_of_best"]
    assert found["at_most_more"] >= 0
    assert "if one cock may be lost" in ran.err
