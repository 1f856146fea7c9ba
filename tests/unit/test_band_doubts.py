"""Bands of a row of eggs against the chicks and parents that the birds' table has."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matchmaker.hatch.band_doubts import band_doubts
from tests.unit.tables_helpers import birds, read

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.errors import Fault

ROWS = (
    "C1,cock,founder,founder,sussex",
    "C2,cock,founder,founder,sussex",
    "H1,hen,founder,founder,sussex",
    "H2,hen,founder,founder,sussex",
    "Y26-01,hen,C1,H1,",
    "Y26-02,hen,C1,H2,",
    "Y26-03,hen,C1|C2,,",
)


def _doubts(path: Path, eggs: str) -> list[Fault]:
    table = birds(*ROWS, header="bird,sex,sire,dam,breed")
    header = "pen,hen,cock,eggs,hatched,first_band,last_band\n"
    return list(band_doubts(read(path, birds=table, eggs=f"{header}Yard,{eggs}\n")))


@pytest.mark.parametrize(
    "eggs",
    [
        ",C1,9,3,Y26-01,Y26-03",
        ",C1|C2,9,3,Y26-01,Y26-03",
        ",C1,9,,Y26-01,Y26-90",
        "H1,C1,9,1,Y26-01,",
        ",C2,9,3,Y26-01,H2",
        ",C2,9,3,Y26-03,Y26-03",
    ],
    ids=["agrees", "two cocks", "not counted", "one band", "no run", "may be his"],
)
def test_what_may_be_true_is_no_doubt(tmp_path: Path, eggs: str) -> None:
    assert _doubts(tmp_path, eggs) == []


def test_more_bands_than_chicks_are_doubted_and_nothing_else_of_them(tmp_path: Path) -> None:
    (found,) = _doubts(tmp_path, ",C2,9,3,Y26-01,Y26-30")
    assert (found.file, found.row, found.column, found.value) == (
        "eggs.csv",
        2,
        "last_band",
        "Y26-30",
    )
    assert found.problem == "from Y26-01 to Y26-30 are 30 bands, but 3 chicks hatched"


def test_chicks_of_another_parent_than_their_eggs_are_doubted(tmp_path: Path) -> None:
    of_cock, of_hen = _doubts(tmp_path, "H1,C2,9,3,Y26-01,Y26-03")
    assert (of_cock.column, of_cock.birds) == ("cock", ("Y26-01", "Y26-02"))
    assert of_cock.problem == (
        "these eggs are of the cock C2, but Y26-01 and 1 more of their chicks (row 6 of the birds) "
        "have another sire"
    )
    assert (of_hen.column, of_hen.birds) == ("hen", ("Y26-02",))


def test_a_parent_of_the_wrong_sex_is_told_as_that_alone(tmp_path: Path) -> None:
    table = birds(*ROWS[:4], "Y26-01,hen,H1,C1,", header="bird,sex,sire,dam,breed")
    eggs = "pen,hen,cock,hatched,first_band,last_band\nYard,H1,C1,3,Y26-01,Y26-01\n"
    assert list(band_doubts(read(tmp_path, birds=table, eggs=eggs))) == []
