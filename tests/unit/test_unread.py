"""Wishes that cannot be heeded are said, never ignored in silence."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matchmaker import verbs
from tests.builders import (
    Row,
    cock,
    hen,
    of_kind,
    where,
    write_flock,
)

if TYPE_CHECKING:
    from pathlib import Path


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
