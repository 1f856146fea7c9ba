"""What is read and does not bind the plan yet is said, never ignored in silence."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matchmaker import verbs
from tests.builders import (
    HOME,
    HOME_SEEN,
    TOP,
    Row,
    checked,
    cock,
    hen,
    of_kind,
    where,
    write_flock,
)

if TYPE_CHECKING:
    from pathlib import Path


def unused(
    path: Path, settings: str = "", top: str = TOP, **tables: list[Row]
) -> list[tuple[object, ...]]:
    found = checked(path, HOME, settings, top, seen=HOME_SEEN, **tables)
    assert found.faults == ()
    return [(*where(one), one.problem) for one in of_kind(found.doubts, "not-used-yet")]


def test_nothing_given_nothing_said(tmp_path: Path) -> None:
    assert unused(tmp_path) == []


@pytest.mark.parametrize(
    "settings",
    [
        "[limits]\nmean_inbreeding_max = 0.05\n",
        "[limits]\nsire_share_max = 0.5\n",
        "[limits]\ngroup_kinship_max = 0.2\n",
        "[limits]\nkinship_price = 1.0\n",
        "[limits]\nclean_out_days = 14\n",
        "[year]\nincubator_per_week = 40\n",
        "[year]\nrearing_room = 40\n[lines.Alder]\nchicks_wanted = 9\n",
        (
            '[[matings]]\nhens = "Alder"\ncocks = "Pure"\nchicks = "Alder"\npurpose = "backcross"\n'
            "worth = 2\n"
        ),
    ],
)
def test_what_binds_the_plan_is_not_called_unused(tmp_path: Path, settings: str) -> None:
    """That each of them does bind is held by the tests of the problem and of its rows."""
    assert unused(tmp_path, settings) == []


@pytest.mark.parametrize(
    ("table", "row"),
    [
        ("moves", {"bird": "SH", "pen": "Yard", "moved_in": "2027-02-01"}),
        ("eggs", {"pen": "Yard", "eggs": "12"}),
    ],
)
def test_tables_of_later_work(tmp_path: Path, table: str, row: Row) -> None:
    problem = "read and checked, but the plan does not use it in this version"
    assert unused(tmp_path, "", TOP, **{table: [row]}) == [
        (f"{table}.csv", None, None, "", problem)
    ]


@pytest.mark.parametrize(
    ("mate", "why"),
    [
        (
            cock("K1", "Short", "creeper", Cp="creeper"),
            "both carry Cp, and 25% of the chicks are expected to die or suffer from a double dose",
        ),
        (cock("K1", "Short", "creeper", Cp="creeper", status="sold"), "K1 is sold"),
    ],
)
def test_a_wish_that_cannot_be_heeded_is_told(tmp_path: Path, mate: Row, why: str) -> None:
    birds = [mate, hen("K2", "Short", "creeper", Cp="creeper"), cock("SC"), hen("SH")]
    wishes: list[Row] = [{"bird": "K2", "with": "K1", "wish": "allow"}]
    plan: list[Row] = [{"pen": "Yard", "line": "Short", "cock": "K1", "hen": "K2"}]
    top = 'season = 2027\nrecurrent = "sussex"\ntarget = {Cp = 1}\n'
    found = verbs.check(write_flock(tmp_path, birds, top=top, wishes=wishes, plan=plan))
    (doubt,) = of_kind(found.doubts, "wish-unheeded")
    assert where(doubt) == ("wishes.csv", 2, "wish", "allow")
    assert doubt.problem.startswith(f"K2 and K1 stay rejected in spite of this wish: {why}")


def test_a_wish_that_is_heeded_raises_no_doubt(tmp_path: Path) -> None:
    birds = [cock("SC"), hen("SH", "Other")]
    wishes: list[Row] = [{"bird": "SH", "with": "SC", "wish": "allow"}]
    found = verbs.check(write_flock(tmp_path, birds, wishes=wishes))
    assert not of_kind(found.doubts, "wish-unheeded")
