"""Every published check says where its values come from, and every row stands for a file."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

TESTS = Path(__file__).parent
ROWS = {
    match[1]: [cell.strip() for cell in match[0].strip("|\n").split("|")]
    for match in re.finditer(
        r"^\| `(\w+\.py)` \|.*$", (TESTS / "SOURCES.md").read_text(encoding="utf-8"), re.MULTILINE
    )
}
FILES = sorted(path.name for path in (TESTS / "published").glob("test_*.py"))


def test_files_and_rows_are_the_same() -> None:
    assert sorted(ROWS) == FILES


@pytest.mark.parametrize("name", FILES)
def test_each_row_is_filled(name: str) -> None:
    assert len(ROWS[name]) == 5
    assert all(ROWS[name])


@pytest.mark.parametrize("name", FILES)
def test_each_file_names_its_source_in_its_first_lines(name: str) -> None:
    text = (TESTS / "published" / name).read_text(encoding="utf-8")
    assert text.startswith('"""')
    told, listed = (
        set(re.findall(r"\w{4,}", part.casefold()))
        for part in (text.split('"""')[1], " ".join(ROWS[name][2:4]))
    )
    assert len(told & listed) >= 2


def test_every_data_file_is_named_in_a_row() -> None:
    text = (TESTS / "SOURCES.md").read_text(encoding="utf-8")
    stems = {path.stem.split("_")[0] for path in (TESTS / "published" / "data").iterdir()}
    assert all(f"data/{stem}_" in text for stem in stems)
