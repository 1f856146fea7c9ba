"""The five wishes, sorted by what they bind."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matchmaker.pairs.wishes import Wishes, sort_wishes
from matchmaker.tables.folder import FolderTables
from matchmaker.tables.records import Sex, WishRecord
from tests.builders import bird, checked, cock, hen, judged, where

if TYPE_CHECKING:
    from pathlib import Path

BIRDS = (cock("C1"), cock("C2"), hen("H1"), hen("H2"))
SEXES = {"C1": Sex.COCK, "C2": Sex.COCK, "H1": Sex.HEN, "H2": Sex.HEN, "U": None}


def wish(bird: str, kind: str, partner: str = "", why: str = "") -> dict[str, str]:
    return {"bird": bird, "with": partner, "wish": kind, "why": why}


def sorted_wishes(path: Path, *rows: dict[str, str]) -> Wishes:
    """Return the wishes of a folder, as the pair table has them."""
    return judged(path, BIRDS, wishes=rows).wishes


def direct(*rows: WishRecord) -> tuple[Wishes, list[str]]:
    """Sort records by hand, for what the tables refuse before."""
    from pathlib import Path as Folder

    tables = FolderTables(folder=Folder(), settings=None, wishes=rows)
    wishes, faults = sort_wishes(tables, SEXES)
    return wishes, [fault.problem for fault in faults]


def record(bird: str, kind: str, partner: str = "", why: str = "") -> WishRecord:
    return WishRecord(row=2, bird=bird, partner=partner, wish=kind, why=why)


@pytest.mark.parametrize(("first", "second"), [("H1", "C1"), ("C1", "H1")])
def test_of_a_hen_and_a_cock_the_hen_comes_first(tmp_path: Path, first: str, second: str) -> None:
    rows = [wish(first, "apart", second, "pecked")]
    assert sorted_wishes(tmp_path, *rows).apart == {("H1", "C1"): "pecked"}


def test_together_with_a_mate(tmp_path: Path) -> None:
    found = sorted_wishes(tmp_path, wish("C1", "together", "H2", "old friends"))
    assert found.together == {("H2", "C1"): "wish in row 2: C1 together H2"}


def test_allow(tmp_path: Path) -> None:
    assert sorted_wishes(tmp_path, wish("H1", "allow", "C1", "why")).allow == {("H1", "C1"): "why"}


def test_together_with_and_apart_from_a_pen(tmp_path: Path) -> None:
    rows = [wish("H1", "together", "Yard"), wish("C2", "apart", "Orchard")]
    found = sorted_wishes(tmp_path, *rows)
    assert found.in_pen == {("H1", "Yard"): "wish in row 2: H1 together Yard"}
    assert found.not_in_pen == {("C2", "Orchard"): "wish in row 3: C2 apart Orchard"}


def test_use_and_rest(tmp_path: Path) -> None:
    found = sorted_wishes(tmp_path, wish("H1", "use"), wish("C2", "rest", why="frostbite"))
    assert found.use == {"H1": "wish in row 2: H1 use"}
    assert found.rest == {"C2": "frostbite"}


def test_two_hens_are_kept_in_order_of_their_bands() -> None:
    found, problems = direct(record("H2", "together", "H1"), record("H2", "apart", "H1"))
    assert problems == []
    assert found.hens_together == {("H1", "H2"): "wish in row 2: H2 together H1"}
    assert found.hens_apart == {("H1", "H2"): "wish in row 2: H2 apart H1"}


@pytest.mark.parametrize(
    ("bird", "kind", "partner", "problem"),
    [
        ("H1", "together", "", "together needs a partner"),
        ("H1", "allow", "Yard", "allow is not about a pen"),
        ("H1", "use", "C1", "use is about one bird and takes no other"),
        ("H1", "rest", "C1", "rest is about one bird and takes no other"),
        ("H1", "together", "U", "the sex of one of the two is not known yet"),
        ("C1", "together", "C2", "two cocks are never put in one pen"),
        ("H1", "allow", "H2", "allow is for a hen and a cock, not for two hens"),
        ("H1", "apart", "H1", "a bird cannot be its own partner"),
    ],
)
def test_wishes_that_make_no_sense(bird: str, kind: str, partner: str, problem: str) -> None:
    assert direct(record(bird, kind, partner))[1] == [problem]


def test_one_wish_without_sense_hides_no_other() -> None:
    found, problems = direct(record("H1", "together"), record("H2", "rest"))
    assert (len(problems), found.rest) == (1, {"H2": ""})


def test_a_wish_without_sense_is_a_fault_of_its_cell(tmp_path: Path) -> None:
    found = checked(
        tmp_path, [*BIRDS, bird("U", "", "Pure", "sussex")], wishes=[wish("H1", "apart", "U")]
    )
    (fault,) = found.faults
    assert (fault.kind, *where(fault)) == ("wish-sense", "wishes.csv", 2, "with", "U")
    assert fault.mend == (
        "together and apart take a bird or a pen, allow takes a bird of the other sex, use a pen "
        "or nothing, rest nothing"
    )
