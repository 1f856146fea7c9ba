"""Parents that are missing, or written as a pen, and whom the moves tell."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matchmaker.checking import Check, check
from matchmaker.mends.bench import workbench
from tests.unit.tables_helpers import SETTINGS, birds, folder

if TYPE_CHECKING:
    from pathlib import Path

HEADER = "bird,sex,hatched,sire,dam,breed"
OLD = (
    "C1,cock,2024-04-01,founder,founder,sussex",
    "C2,cock,2024-04-01,founder,founder,sussex",
    "H1,hen,2024-04-01,founder,founder,sussex",
    "H2,hen,2024-04-01,founder,founder,sussex",
    "H3,hen,2025-12-01,founder,founder,sussex",
)
MOVES = """bird,pen,moved_in,moved_out
C1,Yard,2026-02-01,2026-02-20
C2,Yard,2026-02-20,2026-05-01
H1,Yard,2026-02-01,2026-05-01
H2,Yard,2026-02-01,2026-05-01
H3,Yard,2026-02-01,2026-05-01
C2,Orchard,2026-01-01,2026-02-01
"""


def _checked(path: Path, chick: str, moves: str = MOVES) -> Check:
    pens = "pen,hens_max\nYard,6\nOrchard,6\n"
    table = birds(*OLD, chick, header=HEADER)
    folder(path, settings=SETTINGS, birds=table, moves=moves, pens=pens)
    return check(path)


@pytest.mark.parametrize(
    ("parents", "column", "becomes"),
    [
        (",H1", "sire", "C1|C2"),
        ("?,H1", "sire", "C1|C2"),
        ("C2,", "dam", "H1|H2"),
    ],
)
def test_who_stood_with_the_other_parent_is_proposed(
    tmp_path: Path, parents: str, column: str, becomes: str
) -> None:
    found = _checked(tmp_path, f"Y1,hen,2026-04-20,{parents},")
    (told,) = [one for one in found.doubts if one.kind == "parent-in-the-moves"]
    assert (told.file, told.row, told.column, told.safe) == ("birds.csv", 7, column, False)
    assert [(one.column, one.becomes) for one in told.mends] == [(column, becomes)]


def test_a_hen_taken_from_the_cock_before_she_laid_may_be_the_dam(tmp_path: Path) -> None:
    """Eggs of a chick hatched on 20 April were laid from 16 March on, here out of his pen."""
    moves = MOVES.replace("H1,Yard,2026-02-01,2026-05-01", "H1,Yard,2026-02-01,2026-03-10")
    found = _checked(tmp_path, "Y1,hen,2026-04-20,C2,,", moves)
    (told,) = [one for one in found.doubts if one.kind == "parent-in-the-moves"]
    assert [one.becomes for one in told.mends] == ["H1|H2"]
    assert "with C2 between 2026-02-12 and 2026-03-30" in told.problem


@pytest.mark.parametrize(
    "chick",
    [
        "Y1,hen,2026-04-20,founder,H1,",
        "Y1,hen,2026-04-20,C1|C2,H1,",
        "Y1,hen,2026-04-20,,,sussex",
        "Y1,hen,2026,,H1,",
        "Y1,hen,2025-04-20,,H1,",
    ],
    ids=["founder", "several", "both open", "a year", "before the moves"],
)
def test_nothing_is_proposed_where_the_moves_tell_nothing(tmp_path: Path, chick: str) -> None:
    found = _checked(tmp_path, chick)
    assert "parent-in-the-moves" not in {one.kind for one in found.doubts}


@pytest.mark.parametrize("text", ["pen Yard", "yard", "cock of the Yard"])
def test_a_pen_as_sire_is_told_as_one(tmp_path: Path, text: str) -> None:
    (fault,) = _checked(tmp_path, f"Y1,hen,2026-03-20,{text},H1,").faults
    assert fault.problem == (
        f"{text} is a pen and no bird; the moves show C1 and C2 there between 2026-01-12 and "
        "2026-02-27"
    )
    assert [one.becomes for one in fault.mends] == ["C1|C2"]
    assert not fault.safe


def test_a_pen_without_such_a_bird_then_is_no_mend(tmp_path: Path) -> None:
    (fault,) = _checked(tmp_path, "Y1,hen,2026-04-20,C2,Orchard hens,").faults
    assert fault.problem == (
        "Orchard hens is a pen and no bird; the moves show no hen there between 2026-03-16 and "
        "2026-03-30"
    )
    assert fault.mends == ()


@pytest.mark.parametrize(
    ("text", "becomes"), [("C1/C2", ["C1|C2"]), ("C1 or C2", ["C1|C2"]), ("C1/C9", [])]
)
def test_two_bands_in_one_cell_are_met_as_two(
    tmp_path: Path, text: str, becomes: list[str]
) -> None:
    (fault,) = _checked(tmp_path, f"Y1,hen,2026-04-20,{text},H1,").faults
    assert [one.becomes for one in fault.mends] == becomes
    assert not fault.safe


def test_words_that_name_no_bird_need_no_row(tmp_path: Path) -> None:
    (fault,) = _checked(tmp_path, "Y1,hen,2026-04-20,one of the brothers,H1,").faults
    assert fault.mend == (
        "write the bands that are possible, as in C04|C07, founder if the bird was bought (from "
        "whom stands under source), or leave the cell empty if nobody knows"
    )


@pytest.mark.parametrize("text", ["93", "87,5 %", "7/8", "BC2", "F1"])
def test_a_share_without_a_breed_makes_no_breed_of_its_own(tmp_path: Path, text: str) -> None:
    cell = f'"{text}"'
    (doubt,) = _checked(tmp_path, f"Y1,hen,2026-04-20,C2,H1,{cell}").doubts
    assert (doubt.kind, doubt.row, doubt.value) == ("breed-not-named", 7, text)


def test_what_stands_for_nothing_may_be_written_over(tmp_path: Path) -> None:
    found = _checked(tmp_path, "Y1,hen,2026-04-20,?,H1,")
    (told,) = [one for one in found.doubts if one.kind == "parent-in-the-moves"]
    with workbench(found) as bench:
        assert bench.sorted_out([told]) == ((told,), ())
