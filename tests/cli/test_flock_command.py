"""``matchmaker flock`` in this process: the whole flock, one bird in depth, and its files."""

from __future__ import annotations

import csv
import re
from typing import TYPE_CHECKING

import pytest

from tests.cli.run import Ran, example, run_here

if TYPE_CHECKING:
    from pathlib import Path

COCK = "C12"
"""A cock of the example: he cannot lay, so only his kin and his daughters tell what he carries."""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return example("holm-fen", tmp_path_factory.mktemp("flock") / "flock")


@pytest.fixture(scope="module")
def cock(folder: Path) -> Ran:
    return run_here("flock", COCK, "--in", folder)


@pytest.fixture(scope="module")
def whole(folder: Path) -> Ran:
    return run_here("flock", "--in", folder)


def plain(ran: Ran) -> str:
    return re.sub(r"\s+", " ", ran.out)


def test_the_flock_is_shown_with_its_parts(whole: Ran) -> None:
    assert whole.code == 0
    assert whole.lines[0].startswith("Bird ")
    headings = ["Lines", "Founders", "Inbreeding and effective size", "What is doubtful"]
    assert [line for line in whole.lines if line in headings] == headings
    assert re.search(r"Genes of (over )?\d+\.\d of \d+ founders are left", plain(whole))


def test_the_flock_fits_eighty_columns(whole: Ran, cock: Ran) -> None:
    assert max(map(len, whole.lines)) <= 80
    assert max(map(len, cock.lines)) <= 80


def test_a_cock_that_cannot_show_blue_has_his_probability(cock: Ran) -> None:
    assert cock.code == 0
    assert re.search(r"Blue eggshell \(O\): 0 copies (> )?\d+ %, 1 copy (< )?\d+ %", cock.out)


def test_each_piece_of_evidence_says_what_it_moved(cock: Ran) -> None:
    table = cock.out.partition("Blue eggshell")[2].partition("Pea comb")[0]
    assert "parents and the founders' breeds alone" in table
    assert re.search(r"chicks of S25-006 × C12: 3 not blue \(seen\.csv row \d+\) +\d+ %", table)


def test_the_daughters_that_would_settle_it_are_counted(cock: Ran) -> None:
    assert re.search(
        r"\d+ more daughters? by a hen with no copy, none showing blue eggshell, would show with "
        r"95 % that he does not carry blue eggshell \(\d+ for 99 %\)",
        plain(cock),
    )
    assert "One daughter that shows it proves that he does carry it." in plain(cock)


def test_the_account_ends_at_the_probability_of_the_table(folder: Path) -> None:
    (one,) = run_here("flock", COCK, "--in", folder, "--json").document["birds"]
    steps = one["loci"]["O"]["account"]["steps"]
    assert {copies: steps[-1]["after"][copies] for copies in "012"} == pytest.approx(
        one["genotypes"]["O"]
    )
    assert [step["before"] for step in steps[1:]] == [step["after"] for step in steps[:-1]]
    assert steps[0]["before"] == one["loci"]["O"]["account"]["start"]


def test_the_document_of_the_flock_has_its_parts(folder: Path) -> None:
    document = run_here("flock", "--in", folder, "--json").document
    assert document.keys() >= {"birds", "lines", "founders", "rates", "doubts"}
    assert document["founders"]["genomes_left"] <= len(document["founders"]["founders"])
    assert {line["line"] for line in document["lines"]} == {
        one["line"] for one in document["birds"]
    }


def test_the_rows_carry_the_spread_of_the_share(folder: Path, tmp_path: Path) -> None:
    file = tmp_path / "flock.csv"
    assert run_here("flock", "--in", folder, "--csv", file).code == 0
    with file.open(encoding="utf-8", newline="") as stream:
        rows = {row["bird"]: row for row in csv.DictReader(stream)}
    assert 0.01 < float(rows[COCK]["share_spread"]) < 0.1
    assert 0 <= float(rows[COCK]["carries_O"]) <= 1


def test_a_band_that_is_near_is_suggested(folder: Path) -> None:
    ran = run_here("flock", "C112", "--in", folder)
    assert ran.code == 2
    assert "Did you mean C12?" in ran.err
