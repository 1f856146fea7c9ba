"""A few thousand of the inputs of ``python -m tests.fuzz``, and those that once broke something."""

from __future__ import annotations

import random
import time
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from matchmaker.tables import header, rows
from tests.fuzz.books import book
from tests.fuzz.inputs import Target
from tests.fuzz.targets import TARGETS, kept_inputs
from tests.fuzz.trial import Broken, smallest, tried
from tests.fuzz.wild import packed

if TYPE_CHECKING:
    from matchmaker.tables.header import Sheet
    from matchmaker.tables.raw import RawRow

TRIED = {"cell": 1500, "text": 150, "grid": 200, "sheet": 80, "book": 120, "settings": 300}
TRIED |= {"words": 200, "day": 300, "given": 60, "document": 60, "amend": 40, "tables": 30}
TRIED |= {"folder": 4, "taking": 8, "remembered": 60, "proposal": 1, "writes": 15}
KEPT = kept_inputs()


@pytest.mark.parametrize("name", sorted(TRIED))
def test_no_input_breaks_a_reader(name: str) -> None:
    target, rng = TARGETS[name], random.Random(27)  # noqa: S311  the same inputs each time
    stock = [target.make(rng) for _ in range(10)]
    for _ in range(TRIED[name]):
        content = target.mutate(rng, rng.choice(stock), stock)
        outcome = tried(target, content, slack=10)
        assert not isinstance(outcome, Broken), (content, outcome.story)
        stock[rng.randrange(10)] = content if rng.random() < 0.5 else target.make(rng)


@pytest.mark.parametrize("file", KEPT, ids=lambda file: Path(file).stem)
def test_what_once_broke_a_reader_does_so_no_more(file: Path) -> None:
    outcome = tried(TARGETS[KEPT[file]], file.read_bytes(), slack=2)
    assert not isinstance(outcome, Broken), outcome.story


GRID = {
    "table": "birds",
    "dialect": {"separator": ",", "quoting": 0, "end": "\n", "coding": "utf-8"},
    "rows": [["bird", "sex", "line"], ["C1", "cock", "Alder"], ["H1", "hen", "Birch"]],
}


def test_a_lost_row_would_be_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = header.read_header

    def losing(*arguments: object) -> Sheet | None:
        sheet = whole(*arguments)  # type: ignore[arg-type]
        return sheet and _shorter(sheet)

    monkeypatch.setattr("tests.fuzz.targets_tables.read_header", losing)
    outcome = tried(TARGETS["grid"], packed(GRID))
    assert isinstance(outcome, Broken)
    assert "row 3 is neither kept nor named" in outcome.story


def _shorter(sheet: Sheet) -> Sheet:
    import dataclasses

    return dataclasses.replace(sheet, rows=sheet.rows[:-1])


def test_a_lost_cell_would_be_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = rows._cell

    def losing(row: RawRow, index: int | None) -> str:
        return "" if index == 2 else whole(row, index)

    monkeypatch.setattr(rows, "_cell", losing)
    outcome = tried(TARGETS["grid"], packed(GRID))
    assert isinstance(outcome, Broken)
    assert "'Alder' of row 2 under 'line' is lost" in outcome.story


def _target(run: object) -> Target:
    whole = TARGETS["cell"]
    return Target(
        name="x",
        share=1,
        make=whole.make,
        mutate=whole.mutate,
        run=run,  # type: ignore[arg-type]
        smaller=whole.smaller,
        seconds=0.1,
    )


def test_a_reader_that_hangs_is_stopped_and_told() -> None:
    def hang(_content: bytes) -> object:
        end = time.monotonic() + 20
        while time.monotonic() < end:
            pass
        return frozenset(), None

    outcome = tried(_target(hang), b"")
    assert isinstance(outcome, Broken)
    assert outcome.what.startswith("TooSlowError")


def test_an_input_that_breaks_something_is_made_small() -> None:
    def run(content: bytes) -> object:
        if b"7" in content:
            raise KeyError
        return frozenset(), None

    target = _target(run)
    content = b"1234567890" * 20
    broken = tried(target, content)
    assert isinstance(broken, Broken)
    assert smallest(target, content, broken) == b"7"


@pytest.mark.parametrize("suffix", [".xlsx", ".ods", ".xls"])
def test_the_books_made_here_are_read(suffix: str) -> None:
    from matchmaker.tables.columns import TABLES
    from matchmaker.tables.findings import Findings
    from matchmaker.tables.raw import read_raw

    made = book(suffix, {"birds": [["bird", "weight"], [], ["Åsa", "2.5"]]})
    raw = read_raw(f"birds{suffix}", made, TABLES["birds"], Findings())
    assert raw is not None
    assert [(row.row, row.cells) for row in raw.rows] == [
        (1, ("bird", "weight")),
        (3, ("Åsa", "2.5")),
    ]
