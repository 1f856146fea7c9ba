"""Books never seen before, held against their own truth; more of them: ``tests.shuffled_books``."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.keepers_books import BOOKS, LOWGATE, differences_of, notebook
from tests.shuffled_books import shuffled_book, what_differs

if TYPE_CHECKING:
    from pathlib import Path

    from tests.keepers_books import KeptBook


@pytest.mark.parametrize("seed", [5, 17])
@pytest.mark.parametrize("book", BOOKS, ids=lambda book: book.name)
def test_a_shuffled_book_is_taken_as_it_is(book: KeptBook, seed: int, tmp_path: Path) -> None:
    assert what_differs(book, seed, tmp_path) == []


def test_the_shuffle_changes_the_book_and_not_its_truth(tmp_path: Path) -> None:
    one, other = shuffled_book(LOWGATE, 5), shuffled_book(LOWGATE, 17)
    assert one.tables == other.tables == notebook("lowgate").tables
    assert [sheet.columns for sheet in one.sheets] != [sheet.columns for sheet in other.sheets]
    assert differences_of(one, tmp_path)
