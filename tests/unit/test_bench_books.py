"""The long books of the benchmark of checking: sound as made, and with slips that are found."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.checking import tables_of
from matchmaker.flock.flock import check_flock
from tests.bench.long_books import LINES, LIVING, long_books, with_faults, write_long_books

if TYPE_CHECKING:
    from pathlib import Path

ROWS = long_books(600, years=2, seen=1)


def test_the_books_are_sound_and_their_youngest_alive(tmp_path: Path) -> None:
    tables = tables_of(write_long_books(tmp_path / "flock", ROWS))
    assert check_flock(tables) == ((), ())
    assert len(tables.birds) == len(tables.scores) == len(ROWS) > 550
    living = [bird for bird in tables.birds if bird.status.alive_here]
    assert len(LINES) * LIVING[0] < len(living) <= len(LINES) * sum(LIVING)
    assert {bird.seen.get("O") for bird in tables.birds} == {None, "blue"}


def test_most_slips_are_found_where_they_were_made(tmp_path: Path) -> None:
    """Not all can be: two figures exchanged may be the band of another hen."""
    spoilt = with_faults(ROWS, every=50)
    wrong = {at for at, rows in enumerate(zip(ROWS, spoilt, strict=True), 2) if rows[0] != rows[1]}
    faults, doubts = check_flock(tables_of(write_long_books(tmp_path / "flock", spoilt)))
    told = {one.row for one in (*faults, *doubts) if one.file == "birds.xlsx"}
    assert len(wrong) >= 10
    assert len(wrong & told) >= 0.6 * len(wrong)
