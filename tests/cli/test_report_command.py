"""``matchmaker report``: what it writes and where, what it takes in, what it refuses."""

from __future__ import annotations

import hashlib
import json
import os
import signal
import subprocess
import sys
import webbrowser
from typing import TYPE_CHECKING, Any

import pytest

import matchmaker.cli.report as command
from matchmaker import verbs
from matchmaker.looking import Horizon
from tests.builders import HOME, HOME_SEEN, cock, hen, write_flock
from tests.cli.run import LIMIT, MATCHMAKER, contents, environment, run_here
from tests.outlooks import ahead

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from matchmaker.ahead.outlook import Ahead
    from matchmaker.looking import Hands

BIRDS = (*HOME, hen("SI"), cock("SD"))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return write_flock(tmp_path / "flock", BIRDS, seen=HOME_SEEN)


@pytest.fixture(scope="module")
def documents(tmp_path_factory: pytest.TempPathFactory) -> dict[str, dict[str, Any]]:
    """Documents of the flock as their commands print them, by kind."""
    of = write_flock(tmp_path_factory.mktemp("documents") / "flock", BIRDS, seen=HOME_SEEN)
    ran = run_here("plan", "--in", of, "--frontier", "--json")
    assert ran.code == 0, ran.err
    played = run_here("ahead", "--in", of, *("--seasons", 1, "--replicates", 2), "--json")
    assert played.code == 0, played.err
    return {"frontier": ran.document, "ahead": played.document}


@pytest.fixture
def put(documents: dict[str, dict[str, Any]], tmp_path: Path) -> Callable[..., Path]:
    """Write a document into a file, changed as is said."""

    def write(kind: str, name: str = "", **changes: object) -> Path:
        file = tmp_path / (name or f"{kind}.json")
        file.write_text(json.dumps(documents[kind] | changes), encoding="utf-8")
        return file

    return write


@pytest.fixture
def shown(monkeypatch: pytest.MonkeyPatch) -> list[Any]:
    """What the page is made of besides the season, each time."""
    calls: list[Any] = []

    def page_html(_report: object, further: object) -> str:
        calls.append(further)
        return '<!doctype html><meta name="generator" content="matchmaker 0"><figure></figure>'

    monkeypatch.setattr(command, "page_html", page_html)
    return calls


class TestFile:
    """Where the page is written, and what stands there before."""

    def test_it_stands_in_the_flocks_folder(self, folder: Path) -> None:
        before = contents(folder)
        ran = run_here("report", "--in", folder)
        assert ran.code == 0, ran.err
        assert ran.out == ""
        page = (folder / "report.html").read_text(encoding="utf-8")
        assert page.startswith("<!doctype html>")
        assert '<meta name="generator" content="matchmaker ' in page
        after = contents(folder)
        assert after.pop("report.html")
        assert after == before, "the tables stay as they are"

    def test_what_is_said(self, folder: Path, shown: list[Any]) -> None:
        said = " ".join(run_here("report", "--in", folder).err.split())
        file = folder / "report.html"
        assert f"Wrote {file}: 2 pen sheets, 9 pairs to look up, 1 kB." in said
        assert f"To keep them: matchmaker plan --in {folder} --write" in said
        assert "Next: print the page, one sheet a pen" in said
        assert "(--frontier) and the coming seasons (--ahead 6)" in said
        assert len(shown) == 1

    def test_pens_that_are_written_need_no_writing(self, folder: Path, shown: list[Any]) -> None:
        assert run_here("plan", "--in", folder, "--write").code == 0
        ran = run_here("report", "--in", folder)
        assert "--write" not in ran.err
        assert len(shown) == 1

    def test_a_page_of_ours_is_replaced(self, folder: Path) -> None:
        assert run_here("report", "--in", folder).code == 0
        first = (folder / "report.html").read_bytes()
        assert run_here("report", "--in", folder).code == 0
        assert (folder / "report.html").read_bytes() == first, "and the same flock has the same"
        assert not list(folder.glob("*.bak"))

    def test_any_other_file_is_not(self, folder: Path, shown: list[Any]) -> None:
        file = folder / "report.html"
        file.write_text("<p>my own notes about matchmaker</p>", encoding="utf-8")
        ran = run_here("report", "--in", folder)
        assert ran.code == 6
        assert f"{file} exists already" in ran.err
        assert "--force" in ran.err
        assert file.read_text(encoding="utf-8").startswith("<p>my own notes")
        assert shown == [], "refused before the work"
        assert run_here("report", "--in", folder, "--force").code == 0
        assert b"matchmaker" in file.read_bytes()

    def test_elsewhere(self, folder: Path, tmp_path: Path, shown: list[Any]) -> None:
        file = tmp_path / "door.htm"
        for option in ("-o", "--out"):
            assert run_here("report", "--in", folder, option, file).code == 0
        assert file.exists()
        assert not (folder / "report.html").exists()
        assert len(shown) == 2

    @pytest.mark.parametrize(
        ("name", "words"),
        [
            ("page.csv", "let it end in .html"),
            ("plan.csv", "let it end in .html"),
            ("page", "let it end in .html"),
            ("nowhere/page.html", "there is no folder"),
            (".", "it is a folder; name a file in it"),
        ],
    )
    def test_where_nothing_can_be_written(
        self, folder: Path, shown: list[Any], name: str, words: str
    ) -> None:
        before = contents(folder)
        ran = run_here("report", "--in", folder, "-o", folder / name, "--force")
        assert ran.code == 2
        assert words in ran.err
        assert (contents(folder), shown, ran.out) == (before, [], "")

    def test_a_folder_that_is_none(self, tmp_path: Path) -> None:
        ran = run_here("report", "--in", tmp_path / "nowhere")
        assert ran.code == 2
        assert "nowhere" in ran.err

    def test_faults_of_the_tables_come_first(self, folder: Path) -> None:
        (folder / "birds.csv").write_text("band,sex\nA,rooster?\n", encoding="utf-8")
        ran = run_here("report", "--in", folder)
        assert ran.code == 3
        assert not (folder / "report.html").exists()

    def test_where_no_plan_is_possible_ways_out_are_told(self, tmp_path: Path) -> None:
        settings = "[limits]\nage_min_days = 2000\n"
        flock = write_flock(tmp_path / "flock", BIRDS, settings, seen=HOME_SEEN)
        ran, planned = run_here("report", "--in", flock), run_here("plan", "--in", flock)
        assert (ran.code, ran.out) == (4, "")
        assert ran.err == planned.err
        told = run_here("report", "--in", flock, "--json")
        assert told.code == 4
        assert told.document["conflict"]
        assert not (flock / "report.html").exists()


def test_the_document(folder: Path) -> None:
    ran = run_here("report", "--in", folder, "--json")
    assert ran.code == 0, ran.err
    found, file = ran.document, folder / "report.html"
    assert found["schema"] == "matchmaker/report/1"
    assert found["file"] == str(file)
    assert found["bytes"] == file.stat().st_size
    assert found["sha256"] == hashlib.sha256(file.read_bytes()).hexdigest()
    assert found["inputs"].keys() == {"birds.csv", "matchmaker.toml", "pens.csv", "seen.csv"}
    assert (found["pens"], found["pairs"], found["pens_from"]) == (2, 9, "best")
    assert found["left_out"] == ["frontier", "ahead"]
    assert found["losses_left_out"] == []


def test_pictures_are_counted(folder: Path, shown: list[Any]) -> None:
    assert run_here("report", "--in", folder, "--json").document["pictures"] == 1
    assert len(shown) == 1


class TestWith:
    """Documents that were made before."""

    def test_both_are_taken_in(
        self,
        folder: Path,
        put: Callable[..., Path],
        shown: list[Any],
        documents: dict[str, dict[str, Any]],
    ) -> None:
        files = [put("ahead"), put("frontier")]
        ran = run_here("report", "--in", folder, "--with", files[0], "--with", files[1], "--json")
        assert ran.code == 0, ran.err
        (further,) = shown
        assert (further.frontier, further.ahead) == (documents["frontier"], documents["ahead"])
        assert ran.document["left_out"] == []
        assert "Not in it" not in ran.err

    def test_one_leaves_the_other_out(
        self, folder: Path, put: Callable[..., Path], shown: list[Any]
    ) -> None:
        ran = run_here("report", "--in", folder, "--with", put("frontier"))
        assert ran.code == 0, ran.err
        assert "the coming seasons (--ahead 6)" in ran.err
        assert "--frontier" not in ran.err
        assert shown[0].ahead is None

    def test_one_made_from_other_tables_is_refused(
        self, folder: Path, put: Callable[..., Path], shown: list[Any]
    ) -> None:
        file = put("frontier")
        (folder / "pens.csv").write_text(
            (folder / "pens.csv").read_text(encoding="utf-8") + "\n", encoding="utf-8"
        )
        (folder / "seen.csv").unlink()
        (folder / "plan.csv").write_text("pen,line,cock,hen\n", encoding="utf-8")
        ran = run_here("report", "--in", folder, "--with", file)
        assert ran.code == 2
        said = " ".join(ran.err.split())
        assert f"{file} was made from other tables" in said
        assert "pens.csv has changed, plan.csv is new, seen.csv is gone" in said
        assert "matchmaker plan --frontier --json > FILE" in said
        assert (shown, (folder / "report.html").exists()) == ([], False)

    @pytest.mark.parametrize(
        ("text", "words"),
        [
            ("", "holds no JSON document"),
            ('{"schema": "matchmaker/frontier/1", ', "holds no JSON document"),
            ("[" * 100_000, "holds no JSON document"),
            ('{"schema": NaN}', "holds no JSON document"),
            ("[1, 2]", "holds no document of matchmaker"),
            ("{}", "names no schema"),
            ('{"schema": 7}', "names no schema"),
            ('{"schema": "matchmaker/plan/1"}', "is of matchmaker/plan/1"),
            ('{"schema": "matchmaker/frontier/2"}', "is of matchmaker/frontier/2"),
            (
                '{"schema": "matchmaker/frontier/1"}',
                "is not as matchmaker wrote it (inputs, pairs and plans)",
            ),
        ],
    )
    def test_what_is_no_such_document_is_refused(
        self, folder: Path, tmp_path: Path, shown: list[Any], text: str, words: str
    ) -> None:
        file = tmp_path / "given.json"
        file.write_text(text, encoding="utf-8")
        ran = run_here("report", "--in", folder, "--with", file)
        assert ran.code == 2
        assert f"{file} {words}" in " ".join(ran.err.split())
        assert "matchmaker" in ran.err.split(words)[-1], "how one is made"
        assert shown == []

    def test_bytes_that_are_no_text(self, folder: Path, tmp_path: Path) -> None:
        file = tmp_path / "given.json"
        file.write_bytes(b"\xff\xfe\x00{")
        ran = run_here("report", "--in", folder, "--with", file)
        assert (ran.code, "holds no JSON document" in ran.err) == (2, True)

    @pytest.mark.parametrize(
        ("kind", "changes", "words"),
        [
            ("frontier", {"plans": [{"plan": 1}]}, "(plans)"),
            ("frontier", {"plans": ["best"]}, "(plans)"),
            ("frontier", {"plans": {}}, "(plans)"),
            ("ahead", {"springs": [{}], "seasons": "six"}, "(seasons and springs)"),
            ("ahead", {"policies": [{"policy": "plan"}]}, "(policies)"),
        ],
    )
    def test_what_was_changed_by_hand_is_refused(
        self,
        folder: Path,
        put: Callable[..., Path],
        kind: str,
        changes: dict[str, object],
        words: str,
    ) -> None:
        ran = run_here("report", "--in", folder, "--with", put(kind, **changes))
        assert ran.code == 2
        assert f"is not as matchmaker wrote it {words}: make it again" in ran.err

    def test_two_of_one_kind_are_refused(self, folder: Path, put: Callable[..., Path]) -> None:
        files = [put("ahead", name) for name in ("one.json", "two.json")]
        ran = run_here("report", "--in", folder, "--with", files[0], "--with", files[1])
        assert ran.code == 2
        assert f"{files[0]} and {files[1]} are both of matchmaker ahead --json" in ran.err

    def test_no_file_or_no_readable_one(self, folder: Path, tmp_path: Path) -> None:
        missing = run_here("report", "--in", folder, "--with", tmp_path / "none.json")
        assert (missing.code, "there is no file" in missing.err) == (2, True)
        ran = run_here("report", "--in", folder, "--with", tmp_path)
        assert (ran.code, "is not a file" in ran.err) == (2, True)

    def test_worked_out_anew_besides_is_refused(
        self, folder: Path, put: Callable[..., Path], shown: list[Any]
    ) -> None:
        for kind, anew in (("frontier", ["--frontier"]), ("ahead", ["--ahead", 2])):
            ran = run_here("report", "--in", folder, "--with", put(kind), *anew)
            assert ran.code == 2
            assert f"--{kind} works out anew what a file of --with holds already" in ran.err
        assert shown == []


class TestAnew:
    """Longer work that is asked for with the page."""

    def test_the_frontier(
        self, folder: Path, shown: list[Any], documents: dict[str, dict[str, Any]]
    ) -> None:
        assert run_here("report", "--in", folder, "--frontier", "--time-limit", 60).code == 0
        (further,) = shown
        assert further.frontier["plans"] == documents["frontier"]["plans"]

    def test_the_coming_seasons(
        self, folder: Path, shown: list[Any], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        calls: list[tuple[Horizon, Hands]] = []

        def look_ahead(_table: object, horizon: Horizon, *, hands: Hands, **_: Any) -> Ahead:
            calls.append((horizon, hands))
            assert hands.told is not None
            hands.told(1, 2)
            return ahead(replicates=horizon.replicates)

        monkeypatch.setattr(verbs, "look_ahead", look_ahead)
        ran = run_here("report", "--in", folder, "--ahead", 3)
        assert ran.code == 0, ran.err
        assert "3 seasons are played through 50 times" in ran.err
        more = ("--replicates", 7, "--seed", 4, "--workers", 1)
        run_here("report", "--in", folder, "--ahead", 2, *more)
        (first, hands), (second, one) = calls
        assert first == Horizon(seasons=3, replicates=50, seed=1)
        assert second == Horizon(seasons=2, replicates=7, seed=4)
        assert (hands.workers, one.workers) == (None, 1)
        assert [further.ahead["replicates"] for further in shown] == [50, 7]

    def test_options_of_what_is_not_asked_for_are_refused(
        self, folder: Path, shown: list[Any]
    ) -> None:
        ran = run_here("report", "--in", folder, "--seed", 0, "--workers", 2)
        assert ran.code == 2
        assert "--seed and --workers can only stand with --ahead" in ran.err
        ran = run_here("report", "--in", folder, "--replicates", 5, "--frontier")
        assert (ran.code, "--replicates can only stand with" in ran.err) == (2, True)
        assert shown == []

    @pytest.mark.parametrize(
        ("option", "value"),
        [("--ahead", 0), ("--ahead", 21), ("--time-limit", 0), ("--replicates", 1)],
    )
    def test_numbers_out_of_bounds_are_refused(self, folder: Path, option: str, value: int) -> None:
        ran = run_here("report", "--in", folder, option, value)
        assert (ran.code, option in ran.err) == (2, True)


class TestOpen:
    """The page in a browser, where there is one."""

    def test_it_is_opened(
        self, folder: Path, shown: list[Any], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        opened: list[str] = []

        def opens(url: str) -> bool:
            opened.append(url)
            return True

        monkeypatch.setattr(webbrowser, "open", opens)
        ran = run_here("report", "--in", folder, "--open")
        assert ran.code == 0
        assert opened == [(folder / "report.html").resolve().as_uri()]
        assert "No browser" not in ran.err
        assert len(shown) == 1

    @pytest.mark.parametrize("error", [None, webbrowser.Error("none"), OSError("none")])
    def test_without_one_it_is_said_where_it_is(
        self,
        folder: Path,
        shown: list[Any],
        monkeypatch: pytest.MonkeyPatch,
        error: Exception | None,
    ) -> None:
        def no_browser(_url: str) -> bool:
            if error is not None:
                raise error
            return False

        monkeypatch.setattr(webbrowser, "open", no_browser)
        ran = run_here("report", "--in", folder, "--open")
        assert ran.code == 0
        assert f"the page is at {(folder / 'report.html').resolve().as_uri()}" in ran.err
        assert len(shown) == 1


class TestEndedEarly:
    """Ctrl-C, time that runs out, and a disk that takes nothing."""

    def test_what_is_not_worked_out_is_said(
        self, folder: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """The watch is stopped, as Ctrl-C does, once the plan is there."""
        from matchmaker import reporting
        from matchmaker.plan.season.season_plan import plan_season as planned

        def then_stopped(*arguments: Any, watch: Any) -> Any:
            plan = planned(*arguments, watch=watch)
            watch.stop()
            return plan

        monkeypatch.setattr(reporting, "plan_season", then_stopped)
        ran = run_here("report", "--in", folder, "--json")
        assert ran.code == 0, ran.err
        assert ran.document["losses_left_out"] == ["SC", "SD"]
        assert "Not worked out, for want of time: the loss of SC and SD." in ran.err
        assert (folder / "report.html").exists()

    def test_without_any_plan_in_time_nothing_is_written(
        self, folder: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        from matchmaker.errors import SolverStoppedError

        def stopped(*_arguments: object, **_more: object) -> None:
            raise SolverStoppedError("time ran out before a plan was found")

        monkeypatch.setattr(verbs, "report", stopped)
        ran = run_here("report", "--in", folder, "--time-limit", 1)
        assert (ran.code, "time ran out" in ran.err) == (5, True)
        assert not (folder / "report.html").exists()

    def test_a_page_that_cannot_be_written_leaves_the_old_one(
        self, folder: Path, shown: list[Any], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        assert run_here("report", "--in", folder).code == 0
        before = contents(folder)

        def full(_descriptor: int) -> None:
            raise OSError(28, "No space left on device")

        monkeypatch.setattr(os, "fsync", full)
        ran = run_here("report", "--in", folder)
        assert ran.code == 2
        assert "cannot be written: No space left on device" in ran.err
        assert contents(folder) == before
        assert len(shown) == 2


SLOW = f"""
import time
import matchmaker.cli.report
from matchmaker import reporting, verbs
from matchmaker.cli.entry import run
def pair_costs(plan, *, dives, watch):
    print("begun", flush=True)
    begun = time.perf_counter()
    while not watch.over and time.perf_counter() - begun < {LIMIT}:
        time.sleep(0.01)
    return {{}}
reporting.pair_costs = pair_costs
page_html = matchmaker.cli.report.page_html
def waits(report, further):
    assert len(report.costs) == 0
    return page_html(report, further)
matchmaker.cli.report.page_html = waits
run()
"""


class TestProcess:
    """What only a process of its own shows."""

    def test_nothing_but_the_document_is_on_standard_output(self, folder: Path) -> None:
        done = subprocess.run(
            [MATCHMAKER, "report", "--in", folder, "--json"],
            env=environment(),
            capture_output=True,
            timeout=LIMIT,
            check=False,
        )
        assert done.returncode == 0, done.stderr
        assert json.loads(done.stdout)["schema"] == "matchmaker/report/1"

    def test_the_first_ctrl_c_ends_the_work_and_the_page_is_written(self, folder: Path) -> None:
        with subprocess.Popen(
            [sys.executable, "-c", SLOW, "report", "--in", folder],
            env=environment(),
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
        ) as process:
            assert process.stdout is not None
            assert process.stdout.readline() == b"begun\n"
            process.send_signal(signal.SIGINT)
            _, err = process.communicate(timeout=LIMIT)
        assert process.returncode == 0, err
        assert b"Stopping: the best plan found so far follows." in err
        assert (folder / "report.html").exists()
