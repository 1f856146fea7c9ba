"""The book once more, in a folder that was written to since: whose row stays."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matchmaker.errors import UsageError
from matchmaker.taking_in.again import digests, rows_of
from matchmaker.taking_in.joining import ADDED, CHANGED, TAKEN_OUT, Joined, joined

if TYPE_CHECKING:
    from pathlib import Path

THEN = "bird,sex,line\nC01,cock,Alder\nH01,hen,Alder\nH02,hen,Birch\n"


def once_more(folder: Path, here: str, book: str) -> Joined:
    (folder / "birds.csv").write_text(here, encoding="utf-8")
    return joined(folder, {"birds.csv": book}, digests({"birds.csv": THEN}))


def how(outcome: Joined) -> list[tuple[str, str]]:
    return [(one.subject, one.how) for one in outcome.kept]


def test_a_folder_nobody_wrote_to_takes_all_of_the_book(tmp_path: Path) -> None:
    book = THEN.replace("H02,hen,Birch\n", "H01b,hen,Birch\n")
    assert once_more(tmp_path, THEN, book) == Joined(files={"birds.csv": book})


def test_each_row_is_taken_from_where_it_was_changed(tmp_path: Path) -> None:
    here = "bird,sex,line,status\nC01,cock,Alder,dead\nH01,hen,Alder,\nX01,hen,Birch,young\n"
    book = THEN.replace("H01,hen,Alder", "H01,hen,Birch") + "H03,hen,Alder\n"
    outcome = once_more(tmp_path, here, book)
    assert how(outcome) == [("C01", CHANGED), ("H02", TAKEN_OUT), ("X01", ADDED)]
    assert outcome.files["birds.csv"] == (
        "bird,sex,line,status\nC01,cock,Alder,dead\nH01,hen,Birch,\nH03,hen,Alder,\n"
        "X01,hen,Birch,young\n"
    )


def test_what_both_changed_alike_is_no_matter(tmp_path: Path) -> None:
    same = THEN.replace("H02,hen,Birch", "H02,hen,Alder")
    outcome = once_more(tmp_path, same, same)
    assert (how(outcome), outcome.files["birds.csv"]) == ([], same)


def test_what_both_changed_otherwise_is_refused_by_cell(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="H02: line Alder in the folder, Cedar in the book"):
        once_more(tmp_path, THEN.replace("Birch", "Alder"), THEN.replace("Birch", "Cedar"))


def test_a_table_that_is_no_text_says_what_to_do(tmp_path: Path) -> None:
    (tmp_path / "moves.csv").write_bytes("bird,pen\n".encode("utf-16"))
    with pytest.raises(UsageError, match='not UTF-8 text: save it again as "CSV UTF-8"'):
        once_more(tmp_path, THEN, THEN)


def test_a_table_the_book_never_had_stays_as_it_is(tmp_path: Path) -> None:
    plan = "pen,cock,hen\n1,C01,H01\n"
    (tmp_path / "plan.csv").write_text(plan, encoding="utf-8")
    outcome = once_more(tmp_path, THEN, THEN)
    assert (outcome.files["plan.csv"], how(outcome)) == (plan, [("1, H01", ADDED)])


def test_a_text_that_looks_like_a_formula_is_kept_as_it_is(tmp_path: Path) -> None:
    here = THEN.replace("line\n", "line,notes\n") + "X01,hen,Birch,'=1+1\n"
    rows = rows_of(once_more(tmp_path, here, THEN + "H03,hen,Alder\n").files["birds.csv"])
    assert ("notes", "=1+1") in rows[-1]


@pytest.mark.parametrize(
    "here",
    [
        THEN.replace(",", ";"),
        THEN.replace("H01,hen,Alder", "H01,hen,Alder,more"),
        THEN.split("\n", 1)[1],
        THEN.replace("sex", "line"),
    ],
)
def test_a_table_that_was_saved_otherwise_is_not_joined(tmp_path: Path, here: str) -> None:
    with pytest.raises(UsageError, match="has other columns than it was written with"):
        once_more(tmp_path, here, THEN)
