"""Two ugly books taken in by the README's words: no cell lost, every mess named, a first plan."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import pytest

from tests.cli.run import edit_text, read_rows, run_here
from tests.keepers_books import BOOKS, MARSH_END, NOT_TAKEN, TAKEN_AS, differences, notebook

if TYPE_CHECKING:
    from pathlib import Path

    from tests.cli.run import Ran
    from tests.keepers_books import KeptBook


@dataclass(frozen=True, slots=True)
class TakenIn:
    """A book, the folder made from it with all that was proposed, and what the command said."""

    book: KeptBook
    folder: Path
    said: Ran


@pytest.fixture(scope="module", params=BOOKS, ids=lambda book: book.name)
def taken_in(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> TakenIn:
    book: KeptBook = request.param
    folder = tmp_path_factory.mktemp(book.name) / "my-flock"
    return TakenIn(book, folder, run_here("new", folder, "--from", book.given, "--accept"))


def test_the_folder_holds_what_a_careful_reader_takes(taken_in: TakenIn) -> None:
    assert taken_in.said.code == 0, taken_in.said.err
    assert differences(taken_in.book, taken_in.folder) == []


def test_a_first_plan_comes_out(taken_in: TakenIn) -> None:
    assert run_here("check", "--in", taken_in.folder).code == 0
    plan = run_here("plan", "--in", taken_in.folder, "--json")
    assert plan.code == 0
    assert plan.document["outcome"] == "optimal"
    assert len(plan.document["pens"]) > 2


def test_what_no_table_took_is_listed_with_its_place(taken_in: TakenIn) -> None:
    listed = {
        (row["file"], row["sheet"], int(row["row"]))
        for row in read_rows(taken_in.folder / NOT_TAKEN)
    }
    for one in notebook(taken_in.book.name).spoilt:
        place = (one.sheet.file, one.sheet.page, one.sheet.number(one.row))
        if one.outcome == "aside" and not one.sheet.hidden and one.key != "+tick":
            assert place in listed, one.place


def test_hidden_sheets_are_named(taken_in: TakenIn) -> None:
    for sheet in notebook(taken_in.book.name).sheets:
        assert not sheet.hidden or sheet.name in taken_in.said.out


def test_every_mess_is_named_with_its_place(taken_in: TakenIn) -> None:
    """What is asked or doubted stands in what the command shows, or in what ``check`` does."""
    checked = run_here("check", "--in", taken_in.folder, "--json").document
    doubts = [*checked["faults"], *checked["doubts"]]
    told = " ".join(taken_in.said.out.split()) + _lists(taken_in.folder)
    unnamed = [
        f"{one.place}: {one.written!r} {one.habit}"
        for one in notebook(taken_in.book.name).spoilt
        if one.outcome in {"asked", "doubted", "uncertain"} and not _named(one, told, doubts)
    ]
    assert unnamed == []


def _lists(folder: Path) -> str:
    """The words of the files that say what became of the book's cells."""
    names = (NOT_TAKEN, TAKEN_AS)
    cells = [cell for name in names for row in read_rows(folder / name) for cell in row.values()]
    return "\n".join(" ".join(cell.split()) for cell in cells)


def _named(one: Any, told: str, doubts: list[dict[str, Any]]) -> bool:
    """Whether the words that stand in a cell are told, or a doubt is about the bird of its row.

    Of a cell left empty by merging, the column is.
    """
    written = " ".join(one.written.split())
    if written and written in told:
        return True
    if one.mess == "houses_merged":
        return f"The column {one.sheet.head(one.key)} has merged cells" in told
    band = (one.row.clean or {}).get("bird", "")
    return any(band and band in f"{doubt['value']} {doubt['problem']}" for doubt in doubts)


def test_the_book_once_more_with_what_the_keeper_knows(taken_in: TakenIn) -> None:
    """All that was asked is as it truly is, once the one question left open is answered."""
    again = ("new", taken_in.folder, "--from", taken_in.book.given, "--again", "--accept")
    if taken_in.book is MARSH_END:
        nobody = 'one of the brothers" = '
        edit_text(taken_in.folder / "intake.toml", f'{nobody}""', f'{nobody}"R23-001"')
    assert run_here(*again).code == 0
    assert differences(taken_in.book, taken_in.folder, settled="asked") == []
    assert bool(list(taken_in.folder.glob("birds.csv.*"))) == (taken_in.book is MARSH_END)


def test_remarks_are_kept_in_the_notes(taken_in: TakenIn) -> None:
    """Each remark of the keeper's own columns is in a table of the folder, word for word."""
    kept = [
        cell
        for path in taken_in.folder.glob("*.csv")
        for row in csv.reader(io.StringIO(path.read_text(encoding="utf-8")))
        for cell in row
    ]
    for sheet in notebook(taken_in.book.name).sheets:
        for row in sheet.taken():
            for key, value in row.cells.items():
                if key.startswith("+") and isinstance(value, str):
                    words = " ".join(value.split())
                    assert any(words in " ".join(cell.split()) for cell in kept), value
