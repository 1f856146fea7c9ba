"""``plan --look-ahead``: what it asks for, shows and writes, what it refuses, how it ends."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from matchmaker import verbs
from matchmaker.cli.choices import PlanChoice
from matchmaker.cli.further import horizon_of
from matchmaker.report.pens import proof_line
from tests.builders import HOME, HOME_SEEN, write_flock
from tests.cli.run import read_rows, run_here
from tests.races import by_outcome, luck
from tests.screens import plain

if TYPE_CHECKING:
    from matchmaker.looking_further import ByOutcome
    from matchmaker.plan.season.season_plan import SeasonPlan
    from matchmaker.plan.solvers.watch import Watch

FURTHER = (1.0, 0.2, 1.5)
NEVER_FURTHER = (1.0, 0.2, 0.1)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_flock(tmp_path_factory.mktemp("look") / "flock", HOME, seen=HOME_SEEN)


class Asked:
    """What the library is asked for; its answer is a race with these means."""

    def __init__(self) -> None:
        self.means = FURTHER
        self.calls: list[tuple[verbs.Horizon, dict[str, Any]]] = []

    def __call__(self, best: SeasonPlan, horizon: verbs.Horizon, **more: Any) -> ByOutcome:
        self.calls.append((horizon, more))
        more["hands"].told(1, 60)
        return by_outcome(best, luck(self.means, 60))


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> Asked:
    found = Asked()
    monkeypatch.setattr(verbs, "plan_by_outcome", found)
    return found


def test_it_asks_as_it_was_asked_and_shows_the_evidence_before_the_plan(
    folder: Path, asked: Asked
) -> None:
    ran = run_here("plan", "--in", folder, "--look-ahead", 4)
    assert ran.code == 0, ran.err
    assert ran.out.index("Plan 3 leads further than plan 1") < ran.out.index("Pens for 2027")
    assert max(map(len, ran.lines)) <= 80
    assert "the coming seasons are played through under each" in plain(ran.err)
    ((horizon, more),) = asked.calls
    assert horizon == verbs.Horizon(seasons=4, replicates=200, seed=1)
    assert (more["fresh"], more["hands"].workers, more["hands"].executor) == (False, None, None)
    assert more["watch"].until is None
    given = ("--replicates", 9, "--seed", 0, "--workers", 2, "--fresh", "--time-limit", 50)
    run_here("plan", "--in", folder, "--look-ahead", 2, *given)
    horizon, more = asked.calls[1]
    assert horizon == verbs.Horizon(seasons=2, replicates=9, seed=0)
    assert (more["fresh"], more["hands"].workers) == (True, 2)
    assert more["watch"].until is not None


def test_a_value_passed_over_is_not_said_to_keep_pairs(folder: Path) -> None:
    plan = verbs.plan(folder)
    less = replace(plan, solution=replace(plan.solution, value=plan.solution.value - 0.1))
    assert "0.100 of the best value is given up to keep pairs that stand." in proof_line(less)
    assert proof_line(less, "for where this plan leads").endswith("up for where this plan leads.")


def test_what_it_says_to_keep_the_plan(folder: Path, asked: Asked) -> None:
    """The best plan needs no simulation to be made again, another one needs the same."""
    asking = ("plan", "--in", folder, "--look-ahead", 4, "--replicates", 60, "--seed", 0)
    assert "--look-ahead 4 --replicates 60 --seed 0 --write" in plain(run_here(*asking).err)
    asked.means = NEVER_FURTHER
    said = plain(run_here(*asking).err)
    assert f"To keep this plan: matchmaker plan --in {folder} --write" in said


def test_the_document_holds_the_evidence(folder: Path, asked: Asked) -> None:
    document = run_here("plan", "--in", folder, "--look-ahead", 4, "--json").document
    assert document["schema"] == "matchmaker/plan/1"
    assert len(asked.calls) == 1
    assert document["pens"]
    chosen = [one for one in document["look_ahead"]["candidates"] if one["chosen"]]
    assert [(one["plan"], one["kind"]) for one in chosen] == [(3, "less-related")]
    assert "look_ahead" not in run_here("plan", "--in", folder, "--json").document


def test_with_write_the_chosen_plan_is_written(folder: Path, asked: Asked, tmp_path: Path) -> None:
    copy = Path(shutil.copytree(folder, tmp_path / "copy"))
    sheet = tmp_path / "pens.csv"
    ran = run_here("plan", "--in", copy, "--look-ahead", 4, "--write", "--csv", sheet)
    assert ran.code == 0, ran.err
    assert len(asked.calls) == 1
    written = {(row["hen"], row["cock"]) for row in read_rows(copy / "plan.csv")}
    assert written == {(row["hen"], row["cock"]) for row in read_rows(sheet)} != set()
    day = run_here("plan", "--in", copy, "--look-ahead", 4, "--pen-up", "2027-02-20")
    assert day.code == 0, day.err
    assert {row["moved_in"] for row in read_rows(copy / "moves.csv")} == {"2027-02-20"}


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--seed", "0"), "--seed can only stand with --look-ahead"),
        (("--replicates", "9", "--workers", "1"), "can only stand with --look-ahead: add it"),
        (("--cluster", "tcp://here:1"), "--cluster can only stand with --look-ahead"),
        (("--frontier", "--look-ahead", "3"), "--frontier takes no --look-ahead beside it"),
        (("--look-ahead", "3", "--robust"), "takes no --look-ahead beside it"),
        (("--look-ahead", "3", "--alternatives", "2"), "takes no --look-ahead beside it"),
        (("--look-ahead", "3", "--at", "2"), "takes no --look-ahead beside it"),
        (("--look-ahead", "0"), "'--look-ahead': 1 is the least"),
        (("--look-ahead", "21"), "'--look-ahead': 20 is the most"),
        (("--look-ahead", "3", "--replicates", "1"), "'--replicates': 2 is the least"),
        (("--look-ahead", "3", "--workers", "0"), "'--workers': 1 is the least"),
        (("--look-ahead", "3", "--cluster", "here", "--workers", "1"), "--cluster takes no"),
        (("--look-ahead", "3", "--csv", "nowhere/file.csv"), "there is no folder"),
        (("--look-ahead", "3", "--problem", "."), "it is a folder; name a file in it"),
    ],
)
def test_wrong_usage_is_told_before_the_work(
    folder: Path, asked: Asked, arguments: tuple[str, ...], words: str, tmp_path: Path
) -> None:
    ran = run_here("plan", "--in", folder, *arguments, cwd=tmp_path)
    assert (ran.code, ran.out, asked.calls) == (2, "", [])
    assert words in plain(ran.err)


def test_a_file_that_exists_is_refused_before_the_work(
    folder: Path, asked: Asked, tmp_path: Path
) -> None:
    sheet = tmp_path / "pens.csv"
    sheet.write_text("mine\n", encoding="utf-8")
    ran = run_here("plan", "--in", folder, "--look-ahead", 3, "--csv", sheet)
    assert (ran.code, asked.calls) == (6, [])
    assert sheet.read_text(encoding="utf-8") == "mine\n"
    assert run_here("plan", "--in", folder, "--look-ahead", 3, "--csv", sheet, "--force").code == 0


def test_an_interrupt_stops_the_watch_that_the_work_looks_at(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ctrl-C is waited for in a thread of its own, which calls what is to be stopped."""
    from matchmaker.cli import interrupt

    watches: list[Watch] = []

    def interrupted(best: SeasonPlan, _horizon: object, **more: Any) -> ByOutcome:
        interrupt._gentle[-1]()
        watches.append(more["watch"])
        return by_outcome(best, luck(FURTHER, 60), until=5)

    monkeypatch.setattr(verbs, "plan_by_outcome", interrupted)
    ran = run_here("plan", "--in", folder, "--look-ahead", 3)
    assert [watch.stopped for watch in watches] == [True]
    assert ran.code == 0
    assert "of where they lead nothing can be said" in plain(ran.out)


def test_a_real_look_ahead_of_a_small_flock(folder: Path) -> None:
    """A flock with one plan only: nothing is simulated, and that is said."""
    ran = run_here("plan", "--in", folder, "--look-ahead", 1, "--replicates", 2, "--workers", 1)
    assert ran.code == 0, ran.err
    assert "there is nothing to compare" in plain(ran.out)
    assert "Pens for 2027" in ran.out


def test_as_usual_where_nothing_is_said() -> None:
    assert horizon_of(PlanChoice(look_ahead=3)) == verbs.Horizon(seasons=3)
