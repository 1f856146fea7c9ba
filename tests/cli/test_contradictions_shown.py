"""Two chicks whose bands were exchanged in a shipped flock are found, and the exchange is named."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING, Final

import pytest

from tests.cli.run import Cells, Ran, example, run_here, write_rows

if TYPE_CHECKING:
    from pathlib import Path

STAYS_WITH_THE_BAND: Final = ("sex", "status", "left_on", "defects", "lav", "notes")
"""What is written of a chick after hatching; its parents, day and line were written then."""

SWAPPED: Final = ("B26-002", "J26-001")
"""A lavender pullet of two carriers, and a black one whose dam is a pure Langshan."""

HATCHED: Final = "17/03/2026"


def _exchange(rows: Cells, bands: tuple[str, str]) -> None:
    one, two = (next(row for row in rows if row["bird"] == band) for band in bands)
    assert one["hatched"] == two["hatched"] == HATCHED
    for column in STAYS_WITH_THE_BAND:
        one[column], two[column] = two[column], one[column]


def _rows(path: Path) -> Cells:
    text = path.read_text(encoding="utf-8-sig")
    return list(csv.DictReader(io.StringIO(text), delimiter=";"))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = example("skarn-farm", tmp_path_factory.mktemp("bands") / "flock")
    rows = _rows(made / "birds.csv")
    _exchange(rows, SWAPPED)
    write_rows(made / "birds.csv", rows)
    return made


@pytest.fixture(scope="module")
def as_json(folder: Path) -> Ran:
    return run_here("check", "--in", folder, "--json")


def test_the_impossible_chick_is_named_with_its_row(folder: Path, as_json: Ran) -> None:
    rows = _rows_of_commas(folder / "birds.csv")
    row = 2 + next(at for at, one in enumerate(rows) if one["bird"] == "J26-001")
    (fault,) = as_json.document["faults"]
    assert as_json.code == 3
    assert (fault["kind"], fault["file"], fault["row"]) == ("contradiction", "birds.csv", row)
    assert fault["problem"].endswith(f"birds.csv row {row} (J26-001): lavender")


def _rows_of_commas(path: Path) -> Cells:
    return list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8"))))


def test_the_exchange_is_the_first_explanation(as_json: Ran) -> None:
    (fault,) = as_json.document["faults"]
    heading, first, *others = fault["mend"].splitlines()
    assert (
        heading == "any one of these would explain it, the likelier first; check them in the pen:"
    )
    assert first.startswith("- bands of J26-001 and ")
    assert first.endswith(" exchanged")
    assert "B26-002" in first
    assert others


def test_only_chicks_of_that_day_that_may_be_lavender_are_named(folder: Path, as_json: Ran) -> None:
    """Those of two carriers: the other chicks of the day have a pure Langshan for a parent."""
    (fault,) = as_json.document["faults"]
    first = fault["mend"].splitlines()[1]
    named = {word.strip(",") for word in first.split() if word[0] in "BJRL"} - {"J26-001"}
    rows = _rows_of_commas(folder / "birds.csv")
    bred = {
        row["bird"]
        for row in rows
        if row["hatched"] == HATCHED and row["line"] == "Bracken" and row["lav"] == "black"
    }
    assert named == bred


def test_on_the_screen_each_explanation_has_its_line(folder: Path) -> None:
    lines = [line.strip() for line in run_here("check", "--in", folder, COLUMNS="120").lines]
    start = lines.index(
        "→ any one of these would explain it, the likelier first; check them in the pen:"
    )
    assert lines[start + 1].startswith("- bands of J26-001 and one of B26-001, B26-002, ")
    assert "- dam of J26-001 is not L23-003" in lines


def test_the_example_itself_has_no_contradiction(tmp_path: Path) -> None:
    assert run_here("check", "--in", example("skarn-farm", tmp_path / "flock"), "--json").code == 0
