"""Some kills of real programs; ``python -m tests.kill`` does hundreds."""

from __future__ import annotations

import random
from typing import TYPE_CHECKING

import pytest

from tests.kill import CALLS, Tally, Work, found_wrong, kill, kill_at_calls, small_works, tables

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture
def works(tmp_path: Path) -> list[Work]:
    return small_works(tmp_path)


def test_nothing_is_lost(works: list[Work], tmp_path: Path) -> None:
    tally = Tally()
    for work in works:
        kill_at_calls(work, tmp_path / "killed", tally, [CALLS - 24, CALLS - 10])
    kill(works[0], tmp_path / "killed", tally, random.Random(1), densely=True)  # noqa: S311
    assert tally.lost == []
    assert sum(n for outcome, n in tally.outcomes.items() if "killed in" in outcome) >= 2


def test_a_loss_would_be_seen(works: list[Work]) -> None:
    work = works[0]
    assert found_wrong(work, work.start) == ""
    birds = work.start / "birds.csv"
    whole = birds.read_bytes()
    birds.write_bytes(work.new["birds.csv"])
    assert found_wrong(work, work.start) == "neither all old nor all new: ['birds.csv']"
    birds.write_bytes(whole)
    (work.start / "birds.csv.killed.bak").write_bytes(whole[:100])
    assert tables(work.start) == work.old
