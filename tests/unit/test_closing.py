"""The next season's folder: each rule alone, what it refuses, and that nothing is lost.

All birds, dates and rules of the roll-over are the project's own: common practice, no source.
"""

from __future__ import annotations

import datetime as dt
import subprocess
import sys
import tomllib
from typing import TYPE_CHECKING

import pytest

from matchmaker import next_season, verbs
from matchmaker.closing import roll_over
from matchmaker.closing.change import Step
from matchmaker.closing.settings_text import next_settings
from matchmaker.errors import InputError, UsageError, WouldOverwriteError
from matchmaker.report.closing import closing_document, print_closing
from matchmaker.report.screen import console_for
from matchmaker.tables.history import OWN_MARK
from tests.builders import chick, cock, hen, write_flock
from tests.cli.run import contents, read_rows

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.closing.change import NextSeason
    from tests.builders import Row

OVER = dt.date(2027, 9, 1)
YEAR = "[year]\npen_up = 2027-02-01\ncollect_until = 2027-04-18\n"
ALDER = "sussex:0.5|araucana:0.5"
PENS: list[Row] = [{"pen": "Yard", "hens_max": "8"}, {"pen": "Top", "hens_max": "8"}]


def birds() -> list[Row]:
    """Two pens of adults and this season's chicks, each for a rule."""
    young = {"status": "young", "hatched": "2027-04-10"}
    return [
        cock("C1"),
        cock("C2", "Alder", ALDER),
        hen("H1", "Alder", ALDER),
        hen("H2"),
        chick("Y1", "hen", "C1", "H1", "Alder", **young),
        chick("Y2", "cock", "C2", "H2", "", **young),
        chick("Y3", "hen", "C1", "H1", "Alder", **{**young, "hatched": "2027-09-01"}),
        chick("Y4", "", "C1|C2", "H1|H2", "", **young),
        cock("Q1", status="quarantine", release_on="2027-03-01"),
        cock("Q2", status="quarantine", release_on="2027-12-01"),
        hen("D1", status="dead", left_on="2027-03-03"),
    ]


PLAN: list[Row] = [
    {"pen": "Yard", "line": "Alder", "cock": "C1", "hen": "H1"},
    {"pen": "Top", "line": "Alder", "cock": "C2", "hen": "H2"},
    {"pen": "Top", "line": "Birch", "cock": "C2", "hen": "H1"},
]
MOVES: list[Row] = [
    {"bird": "C1", "pen": "Yard", "moved_in": "2027-02-01", "moved_out": ""},
    {"bird": "H1", "pen": "Yard", "moved_in": "2027-02-01", "moved_out": "2027-05-01"},
]
WISHES: list[Row] = [
    {"bird": "H1", "with": "", "wish": "rest", "why": "bare"},
    {"bird": "H1", "with": "C2", "wish": "apart", "why": "he tears her"},
    {"bird": "D1", "with": "C1", "wish": "apart", "why": ""},
    {"bird": "H2", "with": "Top", "wish": "together", "why": ""},
]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The flock of a season that is over."""
    top = 'season = 2027\ntoday = 2027-03-10\nrecurrent = "sussex"\ntarget = {O = 2}\n'
    path = write_flock(
        tmp_path / "fen-2027",
        birds(),
        YEAR,
        top,
        pens=PENS,
        plan=PLAN,
        moves=MOVES,
        wishes=WISHES,
    )
    (path / "notes.txt").write_text("the gate sticks", encoding="utf-8")
    return path


def closed(folder: Path, **asked: object) -> NextSeason:
    """The next season's folder, written."""
    flock = verbs.read(folder)
    return verbs.close_season(flock, day=OVER, **asked)[0]  # type: ignore[arg-type]


def of(season: NextSeason, step: Step) -> list[str]:
    """The subjects of one rule."""
    return [change.subject for change in season.by(step)]


def test_every_rule_does_what_it_says_and_no_more(folder: Path) -> None:
    before = contents(folder)
    season = closed(folder)
    assert contents(folder) == before, "the season that ends is not touched"
    assert season.into == folder.with_name("fen-2028")
    was = {row["bird"]: row for row in read_rows(folder / "birds.csv")}
    now = {row["bird"]: row for row in read_rows(season.into / "birds.csv")}
    assert list(was) == list(now)
    expected = {
        "Y1": {"status": "breeder"},
        "Y2": {"status": "breeder", "line": "Alder"},
        "Y4": {"status": "breeder"},
        "Q1": {"status": "breeder", "release_on": ""},
    }
    assert {band: {**was[band], **expected.get(band, {})} for band in was} == now
    assert of(season, Step.STILL_YOUNG) == ["Y3"], "153 days on 1 February, 180 are asked"
    assert of(season, Step.NO_LINE) == ["Y4"], "its parents have rows for two lines"
    assert of(season, Step.NO_SEX) == ["Y4"]
    stays = read_rows(season.into / "moves.csv")
    assert [stay["moved_out"] for stay in stays] == ["2027-09-01", "2027-05-01"]
    wishes = [row["wish"] for row in read_rows(season.into / "wishes.csv")]
    assert wishes == ["apart"]
    assert of(season, Step.WISH_OF_GONE) == ["D1"]
    assert not (season.into / "plan.csv").exists()
    assert (season.into / "plan-2027.csv").read_bytes() == before["plan.csv"]
    assert (season.into / "notes.txt").read_bytes() == before["notes.txt"]
    assert (season.into / "pens.csv").read_bytes() == before["pens.csv"]


def test_the_settings_move_on_by_a_year(folder: Path) -> None:
    season = closed(folder)
    settings = tomllib.loads((season.into / "matchmaker.toml").read_text(encoding="utf-8"))
    assert settings["season"] == 2028
    assert "today" not in settings
    assert settings["year"] == {
        "pen_up": dt.date(2028, 2, 1),
        "collect_until": dt.date(2028, 4, 18),
    }


def test_the_next_season_can_be_planned_and_closed_in_its_turn(folder: Path) -> None:
    season = closed(folder)
    plan = verbs.plan(season.into)
    used = {pair.hen for pen in plan.pens for pair in pen.pairs}
    assert used
    day = dt.date(2028, 9, 1)
    again = verbs.close_season(verbs.read(season.into), day=day)[0]
    assert again.into.name == "fen-2029"


def graded(folder: Path, *rows: str) -> Path:
    """A file of verdicts."""
    path = folder / "graded.csv"
    path.write_text("bird,verdict,why\n" + "".join(f"{row}\n" for row in rows), encoding="utf-8")
    return path


def test_the_keepers_verdicts_are_followed(folder: Path) -> None:
    file = graded(folder, "Y1,Let go,small", "Y2,wait,", "H2,let go,old", "Y4,keep,")
    season = closed(folder, graded=file)
    now = {row["bird"]: row for row in read_rows(season.into / "birds.csv")}
    assert (now["Y1"]["status"], now["Y1"]["left_on"]) == ("culled", "2027-09-01")
    assert now["H2"]["status"] == "culled"
    assert (now["Y2"]["status"], now["Y4"]["status"]) == ("young", "breeder")
    assert of(season, Step.WISH_OF_GONE) == ["D1", "H2"]


def test_who_waits_is_no_breeder_whatever_its_status(tmp_path: Path) -> None:
    young = {"hatched": "2027-04-10"}
    rows = [
        cock("C1"),
        hen("H1"),
        chick("E1", "hen", "C1", "H1", "Alder", **young),  # no status: read as a breeder
        hen("Q1", status="quarantine", release_on="2027-03-01", hatched="2026-04-10"),
        hen("Q2", status="quarantine", release_on="2027-08-20", hatched="2027-08-20"),
    ]
    folder = write_flock(tmp_path / "fen-2027", rows, YEAR, pens=PENS)
    season = closed(folder, graded=graded(folder, "E1,wait,", "Q1,wait,"))
    now = {row["bird"]: row for row in read_rows(season.into / "birds.csv")}
    assert {band: now[band]["status"] for band in ("E1", "Q1", "Q2")} == {
        "E1": "young",
        "Q1": "quarantine",
        "Q2": "young",  # out of quarantine, and too young for the next pens
    }
    assert of(season, Step.WAITS) == ["E1", "Q1"]


def test_a_stay_of_a_bird_that_is_gone_ends_with_it(folder: Path) -> None:
    moves = [*MOVES, {"bird": "D1", "pen": "Yard", "moved_in": "2027-02-01", "moved_out": ""}]
    moves += [{"bird": "D1", "pen": "Top", "moved_in": "2027-03-20", "moved_out": ""}]
    path = write_flock(folder.with_name("gone"), birds(), YEAR, pens=PENS, moves=moves)
    stays = read_rows(closed(path).into / "moves.csv")
    ends = [stay["moved_out"] for stay in stays if stay["bird"] == "D1"]
    assert ends == ["2027-03-03", "2027-09-01"], "it cannot leave a pen before it came in"


@pytest.mark.parametrize("name", ["2028", "old/deep/2028"])
def test_the_next_folder_does_not_go_into_this_one(folder: Path, name: str) -> None:
    (folder / "old" / "deep").mkdir(parents=True)
    before = sorted(folder.rglob("*"))
    with pytest.raises(UsageError, match="and that folder stays as it is"):
        closed(folder, into=folder / name)
    assert sorted(folder.rglob("*")) == before


def test_without_writing_no_folder_on_the_way_is_left(folder: Path) -> None:
    far = folder.parent / "far" / "off" / "fen-2028"
    closed(folder, into=far, write=False)
    assert not far.parent.parent.exists()
    closed(folder, into=far)
    assert far.is_dir()


def test_verdicts_that_say_nothing_are_refused_with_row_and_column(folder: Path) -> None:
    file = graded(folder, "Y1,perhaps,", "Y9,keep,", "Y2,keep,", "Y2,wait,")
    with pytest.raises(InputError) as refused:
        closed(folder, graded=file)
    told = [(fault.kind, fault.row, fault.column) for fault in refused.value.faults]
    assert told == [
        ("no-verdict", 2, "verdict"),
        ("unknown-bird", 3, "bird"),
        ("twice", 5, "bird"),
    ]
    assert not folder.with_name("fen-2028").exists()


@pytest.mark.parametrize(
    ("name", "told"), [("none.csv", "there is no file"), ("notes.txt", "is not a table")]
)
def test_a_file_that_is_no_table_of_verdicts_is_refused(folder: Path, name: str, told: str) -> None:
    with pytest.raises(UsageError, match=told):
        closed(folder, graded=folder / name)


def test_a_season_is_not_closed_before_its_last_hatch(folder: Path) -> None:
    flock = verbs.read(folder)
    last = dt.date(2027, 4, 18) + dt.timedelta(days=28)
    with pytest.raises(UsageError, match=r"not over on 2027-05-15.*hatch by 2027-05-16"):
        verbs.close_season(flock, day=last - dt.timedelta(days=1))
    assert verbs.close_season(flock, day=last)[0].closed_on == last


def test_a_folder_that_holds_something_is_not_written_to(folder: Path) -> None:
    there = folder.with_name("fen-2028")
    there.mkdir()
    closed(folder)  # an empty one may be filled
    before = contents(there)
    with pytest.raises(WouldOverwriteError, match="name another folder with --into"):
        closed(folder)
    assert contents(there) == before
    assert closed(folder, into=folder.with_name("other")).into.is_dir()
    with pytest.raises(UsageError, match="name one beside it with --into"):
        closed(folder, into=folder / "next")


def test_copies_of_what_was_replaced_stay_behind(folder: Path) -> None:
    (folder / "birds.csv.20270101-060000.bak").write_text("bird\n")
    season = closed(folder)
    assert not list(season.into.glob("*.bak"))
    assert list(folder.glob("*.bak"))


def test_the_history_of_writes_stays_behind_too(folder: Path) -> None:
    (folder / f"{OWN_MARK}.lock").touch()
    season = closed(folder)
    assert not list(season.into.glob(f"{OWN_MARK}*"))


def test_what_a_stopped_closing_left_is_deleted_and_nothing_else(folder: Path) -> None:
    ended = subprocess.Popen([sys.executable, "-c", ""])
    ended.wait()
    left = f".fen-2028.{ended.pid}.tmp"
    others = [".fen-2028.1.tmp", ".fen-2028.old.tmp", f".fen-2029.{ended.pid}.tmp"]
    for name in (left, *others):
        (folder.parent / name).mkdir()
        (folder.parent / name / "birds.csv").touch()
    closed(folder)
    found = {path.name for path in folder.parent.iterdir()}
    assert found == {"fen-2027", "fen-2028", *others}


def test_without_writing_there_is_no_new_folder(folder: Path) -> None:
    before = sorted(path.name for path in folder.parent.iterdir())
    closed(folder, write=False)
    assert sorted(path.name for path in folder.parent.iterdir()) == before


def test_a_new_folder_with_faults_is_not_kept(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(roll_over, "next_settings", lambda text: (text + "what = 1\n", ()))
    with pytest.raises(InputError):
        closed(folder)
    assert sorted(path.name for path in folder.parent.iterdir()) == ["fen-2027"]


def test_a_disk_that_refuses_leaves_nothing_behind(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object, **__: object) -> None:
        raise OSError(28, "no space left")

    monkeypatch.setattr(roll_over, "write_durably", full)
    with pytest.raises(UsageError, match="cannot be written"):
        closed(folder)
    assert sorted(path.name for path in folder.parent.iterdir()) == ["fen-2027"]


def test_the_name_cannot_be_taken_while_it_is_written(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    there = folder.with_name("fen-2028")
    real = verbs.check

    def meanwhile(path: Path) -> verbs.Check:
        there.mkdir()
        (there / "birds.csv").write_text("theirs", encoding="utf-8")
        return real(path)

    monkeypatch.setattr(next_season, "check", meanwhile)
    with pytest.raises(UsageError, match="cannot be written"):
        closed(folder)
    assert contents(there) == {"birds.csv": b"theirs"}


def test_turns_of_pens_and_a_second_plan_move_on(tmp_path: Path) -> None:
    pens: list[Row] = [
        {"pen": "Yard", "hens_max": "8", "from": "2027-02-01", "until": "2027-03-15"},
        {"pen": "Yard", "hens_max": "8", "from": "2027-03-16", "until": ""},
    ]
    folder = write_flock(tmp_path / "flock", birds(), YEAR, pens=pens, plan=PLAN[:1])
    (folder / "plan-2027.csv").write_text("an older one", encoding="utf-8")
    season = closed(folder)
    assert season.into.name == "flock-2028"
    turns = [(row["from"], row["until"]) for row in read_rows(season.into / "pens.csv")]
    assert turns == [("2028-02-01", "2028-03-15"), ("2028-03-16", "")]
    assert (season.into / "plan-2027.csv").read_text(encoding="utf-8") == "an older one"
    assert (season.into / "plan-2027-2.csv").is_file()


def test_keys_on_one_line_are_not_guessed_at() -> None:
    with pytest.raises(UsageError, match=r"year\.pen_up on a line of its own"):
        next_settings("season = 2027\nyear = {pen_up = 2027-02-01}\n")


def test_dates_as_text_and_a_rotation_by_hand() -> None:
    text = (
        "season = 2027 # this\r\n[year]\r\ncollect_from = '2028-02-29' # leap\r\n"
        '[rotation]\r\norder = ["A", "B"]\r\nopen = true\r\n'
    )
    done, changes = next_settings(text)
    assert tomllib.loads(done) == {
        "season": 2028,
        "year": {"collect_from": "2029-02-28"},
        "rotation": {"order": ["A", "B"]},
    }
    assert "# this\r\n" in done
    assert "# leap\r\n" in done
    assert [change.step for change in changes] == [Step.SEASON, Step.YEAR_ON, Step.ROTATION]


def test_the_screen_names_each_rule_and_the_document_each_change(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    flock = verbs.read(folder)
    file = graded(folder, "Y1,let go,", "Y2,wait,")
    season, found = verbs.close_season(flock, day=OVER, graded=file, write=False)
    print_closing(console_for(), season, found, written=False)
    out = " ".join(capsys.readouterr().out.split())
    for told in (
        "Season 2027, if it were closed on 1 September 2027 Nothing is written.",
        "Days moved a year on: year.pen_up 2028-02-01, year.collect_until 2028-04-18.",
        "old enough for the next pens (1): Y4.",
        "status culled, with the day (1): Y1.",
        "your verdict is to wait (1): Y2.",
        "Out of quarantine, its end being past: status breeder, or young under the age limit (1):",
        "Line Alder, as the plan says for their parents (1): Y2.",
        "Wishes for one spring, taken out: H1 rest; H2 together Top.",
        "plan.csv is kept as plan-2027.csv",
    ):
        assert told in out
    document = closing_document(season, flock, found, written=False)
    assert document["schema"] == "matchmaker/closing/1"
    assert len(document["changes"]) == len(season.changes)
    assert {"rule", "file", "row", "subject", "old", "new"} <= set(document["changes"][0])


def test_many_birds_are_cut_on_the_screen_alone(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = birds() + [
        chick(f"Z{at:02}", "hen", "C1", "H1", "Alder", status="young", hatched="2027-04-10")
        for at in range(70)
    ]
    path = write_flock(folder.with_name("big"), rows, YEAR, pens=PENS)
    season, found = verbs.close_season(verbs.read(path), day=OVER, write=False)
    print_closing(console_for(), season, found, written=True)
    assert "and 13 more" in " ".join(capsys.readouterr().out.split())
