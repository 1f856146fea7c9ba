from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matchmaker.errors import InputError, UsageError
from matchmaker.tables.read_plan import read_plan
from tests.unit.tables_helpers import places, read

if TYPE_CHECKING:
    from pathlib import Path


def test_a_plan_outside_the_folder_is_read(tmp_path: Path) -> None:
    tables = read(tmp_path)
    file = tmp_path / "mine.csv"
    file.write_text("House;Rooster;Hen\nYard;C1;H1\nYard;C1;H2\n")
    rows = read_plan(file, tables)
    assert [(row.row, row.pen, row.cock, row.hen) for row in rows] == [
        (2, "Yard", "C1", "H1"),
        (3, "Yard", "C1", "H2"),
    ]


def test_all_its_faults_are_told_with_its_own_name_and_headers(tmp_path: Path) -> None:
    tables = read(tmp_path)
    file = tmp_path / "mine.csv"
    file.write_text("House,Rooster,Hen\nYard,H1,H2\nBarn,C9,H1\nYard,C1,\n")
    with pytest.raises(InputError) as refused:
        read_plan(file, tables)
    assert places(refused.value.faults) == [
        ("wrong-sex", "mine.csv", 2, "Rooster", "H1"),
        ("unknown-pen", "mine.csv", 3, "House", "Barn"),
        ("unknown-bird", "mine.csv", 3, "Rooster", "C9"),
        ("blank-cell", "mine.csv", 4, "Hen", ""),
    ]


def test_a_plan_without_a_header_is_a_fault(tmp_path: Path) -> None:
    tables = read(tmp_path)
    (tmp_path / "mine.csv").write_text("Yard,C1,H1\n")
    with pytest.raises(InputError) as refused:
        read_plan(tmp_path / "mine.csv", tables)
    assert [fault.kind for fault in refused.value.faults] == ["no-header"]


@pytest.mark.parametrize("name", ["none.csv", "matchmaker.toml"])
def test_what_is_no_plan_is_wrong_usage(tmp_path: Path, name: str) -> None:
    tables = read(tmp_path)
    with pytest.raises(UsageError, match=name):
        read_plan(tmp_path / name, tables)
