"""The two ugly books: made by their script, true below their habits, remembered cell by cell."""

from __future__ import annotations

import runpy
from typing import TYPE_CHECKING

import pytest

from tests.cli.run import edit_rows, run_here
from tests.keepers_books import BOOKS, FOLDER, differences, notebook, write_clean, write_expected

if TYPE_CHECKING:
    from pathlib import Path

    from tests.keepers_books import KeptBook

pytestmark = pytest.mark.parametrize("book", BOOKS, ids=lambda book: book.name)
OUTCOMES = {"taken", "asked", "uncertain", "doubted", "unseen", "aside"}


def test_the_books_are_what_the_script_makes(book: KeptBook, made: Path) -> None:
    kept = book.given if book.given.is_dir() else book.given.parent
    names = {path.name for path in kept.iterdir() if path.suffix not in {"", ".py", ".md"}}
    assert names == {path.name for path in (made / kept.relative_to(FOLDER)).glob("*.*")}
    for name in names:
        made_anew = made / kept.relative_to(FOLDER) / name
        assert made_anew.read_bytes() == (kept / name).read_bytes(), name


def test_the_flock_below_the_habits_is_sound(book: KeptBook, tmp_path: Path) -> None:
    """Nothing in it contradicts what parents can pass on, or when birds can have chicks.

    Days of the weights beside the birds nobody wrote; some hens live on unnoticed.
    """
    checked = run_here("check", "--in", write_clean(book, tmp_path / "flock"), "--json").document
    assert checked["faults"] == []
    assert {one["kind"] for one in checked["doubts"]} <= {"score-without-date", "long-unseen"}


def test_what_is_expected_of_a_reader_is_no_difference(book: KeptBook, tmp_path: Path) -> None:
    folder = write_expected(book, tmp_path / "flock")
    assert differences(book, folder) == []


@pytest.mark.parametrize("table", ["birds", "pens", "moves", "eggs", "scores"])
def test_a_row_less_or_a_cell_changed_is_told(book: KeptBook, table: str, tmp_path: Path) -> None:
    folder = write_expected(book, tmp_path / "flock")
    last = {"birds": "sex", "pens": "hens_max", "moves": "pen", "eggs": "eggs", "scores": "weight"}

    def change(rows: list[dict[str, str]]) -> None:
        at = next(at for at, row in enumerate(rows) if row[last[table]])
        rows[at][last[table]] = "97"

    edit_rows(folder / f"{table}.csv", change)
    assert len(differences(book, folder)) == 1
    edit_rows(folder / f"{table}.csv", lambda rows: rows.pop())
    assert differences(book, folder)


def test_every_habit_left_its_mark(book: KeptBook) -> None:
    kept = notebook(book.name)
    marked = {one.mess for one in kept.spoilt}
    messes = {mess.__name__ for mess in kept.applied}
    assert messes - marked == set()
    assert {one.outcome for one in kept.spoilt} <= OUTCOMES
    assert all(one.may_be for one in kept.spoilt if one.outcome != "aside")
    assert all(one.habit.endswith((".", '".')) for one in kept.spoilt)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Both books made anew by the script as it is run."""
    folder = tmp_path_factory.mktemp("books")
    script = runpy.run_path(str(FOLDER / "make.py"))
    script["main"]([str(folder)])
    return folder
