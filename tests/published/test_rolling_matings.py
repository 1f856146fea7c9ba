"""Spare cocks by the rule of Craig Russell's "Rolling matings".

Read as posted in a forum and in part at Small Farmer's Journal: keep half as many spare males as
breeding males, never fewer than two. The numbers are that rule's.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matchmaker.grade.verdicts import Verdict
from matchmaker.rebalance.spares import spares_for
from matchmaker.tables.records import Sex
from tests.builders import chick, cock, hen
from tests.grade_flocks import graded

if TYPE_CHECKING:
    from pathlib import Path


@pytest.mark.parametrize(("breeding", "spares"), [(2, 2), (4, 2), (5, 3), (6, 3), (12, 6)])
def test_half_as_many_spares_as_breeding_males_and_never_fewer_than_two(
    breeding: int, spares: int
) -> None:
    assert spares_for(breeding) == spares


def test_so_many_cocks_are_kept(tmp_path: Path) -> None:
    """ "At least four males and twenty females", each pen with a cock, and eight cockerels."""
    birds = (
        *(cock(f"S{at}") for at in range(4)),
        *(hen(f"P{at}") for at in range(20)),
        *(chick(f"C{at}", "cock", f"S{at % 4}", f"P{at}", "Pure") for at in range(8)),
    )
    pens = [{"pen": f"Pen {at}", "hens_max": "5"} for at in range(4)]
    settings = "[lines.Pure]\nchicks_wanted = 400\nfamilies = 20\n"
    found = graded(tmp_path, birds, settings, seen=(), pens=pens, factor=1.0, patience=0)
    kept = sum(one.bird.sex is Sex.COCK for one in found.of(Verdict.KEEP))
    assert found.cocks_penned == 4
    assert kept + found.cocks_old >= 4 + 2
