"""``matchmaker tests``, answered in this process, on a small flock and on a shipped one."""

from __future__ import annotations

import csv
import re
import subprocess
from typing import TYPE_CHECKING

import pytest

from matchmaker.report.testing_document import HEADER
from tests.builders import chick, write_flock
from tests.cli.run import MATCHMAKER, Ran, environment, example, run_here
from tests.testing_flocks import DOUBTFUL, FEW_PENS, SCARCE, SEEN

if TYPE_CHECKING:
    from pathlib import Path

PATIENCE = 240
"""Seconds for the shipped flock: one takes about ten, on a machine of one's own."""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("tests") / "flock"
    return write_flock(path, DOUBTFUL, SCARCE, seen=SEEN, pens=FEW_PENS)


def test_the_screen_names_the_best_test_first(folder: Path) -> None:
    ran = run_here("tests", "--in", folder)
    assert (ran.code, ran.err) == (0, "")
    found = re.findall(r"^(A\d), Blue eggshell \(O\): a DNA test adds", ran.out, re.MULTILINE)
    assert found == ["A1", "A3", "A2"]


def test_so_many_tests_are_listed(folder: Path) -> None:
    assert len(run_here("tests", "--in", folder, "--birds", 2, "--json").document["tests"]) == 2


def test_none_is_too_few(folder: Path) -> None:
    assert run_here("tests", "--in", folder, "--birds", 0).code == 2


def test_the_document_names_its_schema_inputs_and_defaults(folder: Path) -> None:
    document = run_here("tests", "--in", folder, "--json").document
    assert document["schema"] == "matchmaker/tests/1"
    assert "birds.csv" in document["inputs"]
    assert document["defaults"]
    assert document["value"] > 0
    assert document["conflict"] is None


def test_the_csv_has_the_same_tests(folder: Path, tmp_path: Path) -> None:
    file = tmp_path / "tests.csv"
    ran = run_here("tests", "--in", folder, "--json", "--csv", file)
    assert ran.err == f"Wrote {file}.\n"
    with file.open(encoding="utf-8-sig", newline="") as stream:
        header, *rows = csv.reader(stream)
    assert tuple(header) == HEADER
    assert [row[0] for row in rows] == [test["bird"] for test in ran.document["tests"]]
    assert run_here("tests", "--in", folder, "--csv", file).code == 6


def test_faults_are_named_as_everywhere(tmp_path: Path) -> None:
    birds = [*DOUBTFUL, chick("X", "hen", "AC", "nobody", "Alder")]
    ran = run_here("tests", "--in", write_flock(tmp_path, birds, SCARCE, seen=SEEN))
    assert (ran.code, ran.out) == (3, "")
    assert "nobody" in ran.err


def test_help_shows_an_example() -> None:
    ran = run_here("tests", "--help")
    assert ran.code == 0
    assert re.search(r"^  Example: matchmaker tests ", ran.out, re.MULTILINE)


def test_the_shipped_flock_has_tests_worth_making(tmp_path: Path) -> None:
    path = example("skarn-farm", tmp_path / "flock")
    done = subprocess.run(
        [MATCHMAKER, "tests", "--in", path, "--birds", "3", "--json"],
        env=environment(),
        stdin=subprocess.DEVNULL,
        capture_output=True,
        timeout=PATIENCE,
        check=False,
    )
    ran = Ran(done.returncode, done.stdout.decode("utf-8"), done.stderr.decode("utf-8"))
    assert ran.code == 0
    assert re.fullmatch(r"Weighing \d+ possible tests, .*\n", ran.err)
    tests = ran.document["tests"]
    gains = [test["dna"]["gain"] for test in tests]
    assert len(tests) == 3
    assert gains == sorted(gains, reverse=True)
    assert gains[0] > 1
    answers = tests[0]["dna"]["answers"]
    assert any(one["moves"] for one in answers)
