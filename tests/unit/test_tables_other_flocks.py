"""Two flocks' tables mixed: told once, and nothing of the second taken for the first."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matchmaker.errors import UsageError
from matchmaker.tables.flock_folder import is_flock
from matchmaker.tables.read import read_folder
from matchmaker.tables.strangers import FEWEST
from tests.builders import of_kind
from tests.unit.tables_helpers import birds, folder, read

if TYPE_CHECKING:
    from pathlib import Path

OWN = ("C1,cock,founder,founder", "H1,hen,founder,founder")


def _moves(*bands: str) -> str:
    return "\n".join(["bird,pen,moved_in", *(f"{band},1,2027-02-01" for band in bands)])


class TestATableBelowAnother:
    def test_another_header_ends_the_table(self, tmp_path: Path) -> None:
        below = birds(*OWN) + "Band,Sex,Remarks\nC9,cock,black\nH9,hen,white\n"
        found = read(tmp_path, birds=below)
        assert [bird.bird for bird in found.birds] == ["C1", "H1"]
        (fault,) = of_kind(found.faults, "second-table")
        assert (fault.file, fault.row) == ("birds.csv", 4)
        assert "row 4 names columns again" in fault.problem
        assert "the 2 rows below it are not read" in fault.problem

    def test_the_same_header_once_more_is_left_out(self, tmp_path: Path) -> None:
        found = read(tmp_path, birds=birds(*OWN[:1]) + birds(*OWN[1:]))
        assert [bird.bird for bird in found.birds] == ["C1", "H1"]
        (doubt,) = of_kind(found.doubts, "header-again")
        assert (doubt.file, doubt.row) == ("birds.csv", 3)

    def test_a_bird_with_the_name_of_a_column_is_a_bird(self, tmp_path: Path) -> None:
        found = read(tmp_path, birds=birds(*OWN, "Hen,hen,founder,founder"))
        assert [bird.bird for bird in found.birds] == ["C1", "H1", "Hen"]


class TestTablesOfOtherBirds:
    def test_many_unknown_bands_are_one_fault(self, tmp_path: Path) -> None:
        others = [f"X{number}" for number in range(FEWEST + 1)]
        found = read(tmp_path, birds=birds(*OWN), moves=_moves("C1", *others))
        (fault,) = of_kind(found.faults, "other-birds")
        assert fault.problem.startswith(f"{FEWEST + 1} rows, the first of them row 3,")
        assert of_kind(found.faults, "unknown-bird") == []

    def test_a_few_are_told_one_by_one(self, tmp_path: Path) -> None:
        others = [f"X{number}" for number in range(FEWEST)]
        found = read(tmp_path, birds=birds(*OWN), moves=_moves(*others))
        assert len(of_kind(found.faults, "unknown-bird")) == FEWEST

    def test_so_are_many_beside_more_that_are_known(self, tmp_path: Path) -> None:
        others = [f"X{number}" for number in range(FEWEST + 1)]
        own = ["C1"] * (FEWEST + 1)
        found = read(tmp_path, birds=birds(*OWN), moves=_moves(*own, *others))
        assert of_kind(found.faults, "other-birds") == []


class TestAFolder:
    def test_one_table_or_settings_make_it_a_flocks(self, tmp_path: Path) -> None:
        assert not is_flock(tmp_path)
        (tmp_path / "notes.csv").write_text("bird,sex\n")
        assert not is_flock(tmp_path)
        (tmp_path / "Birds.XLSX").write_bytes(b"")
        assert is_flock(tmp_path)

    @pytest.mark.parametrize(
        ("name", "said"),
        [
            ("flok", "Did you mean"),
            ("else", "To begin a flock: matchmaker new"),
            ("hens.csv", "matchmaker new my-flock --from"),
            ("flock/pens.csv", "name the folder it lies in, --in"),
            ("cock.jpg", "not the folder of a flock"),
            (".", "It has flocks in it (flock)"),
        ],
    )
    def test_what_is_no_flock_is_told_with_where_one_may_be(
        self, tmp_path: Path, name: str, said: str
    ) -> None:
        (tmp_path / "flock").mkdir()
        folder(tmp_path / "flock", birds=birds(*OWN), pens="pen,hens_max\n1,5\n")
        for file in ("hens.csv", "cock.jpg"):
            (tmp_path / file).write_text("text")
        with pytest.raises(UsageError) as refused:
            read_folder(tmp_path / name)
        assert said in str(refused.value)
