"""What a plan changes against the standing one, and why."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from matchmaker import verbs
from matchmaker.plan.searching.solve import best_value
from matchmaker.plan.season.changes import MOST_PRICED, Cause
from tests.builders import HOME, HOME_SEEN, TOP, Row, cock, dna, hen, write_flock

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from matchmaker.plan.season.changes import Change

BIRDS = (
    *HOME,
    cock("SD", fertility="0.2"),
    cock("Gone", status="sold", left_on="2026-12-01"),
    hen("SI"),
)


def _standing(cock: str, *hens: str, pen: str = "Yard", line: str = "Alder") -> list[Row]:
    return [{"pen": pen, "line": line, "cock": cock, "hen": hen} for hen in hens]


def _changes(
    path: Path, standing: Sequence[Row], birds: Sequence[Row] = BIRDS, **tables: Sequence[Row]
) -> dict[str, Change]:
    folder = write_flock(path, birds, "", TOP, seen=HOME_SEEN, plan=standing, **tables)
    return {change.hen: change for change in verbs.plan(folder).changes}


def test_nothing_changes_against_the_plan_itself(tmp_path: Path) -> None:
    first = verbs.plan(write_flock(tmp_path / "a", BIRDS, seen=HOME_SEEN))
    standing = [
        {"pen": pen.pen, "line": str(pair.line), "cock": pen.cock, "hen": pair.hen}
        for pen in first.pens
        for pair in pen.pairs
    ]
    assert _changes(tmp_path / "b", standing) == {}


def test_without_a_standing_plan_there_are_no_changes(tmp_path: Path) -> None:
    assert verbs.plan(write_flock(tmp_path, BIRDS, seen=HOME_SEEN)).changes == ()


def test_a_cock_that_is_gone_is_the_cause(tmp_path: Path) -> None:
    change = _changes(tmp_path, _standing("Gone", "AH"))["AH"]
    assert (change.cause, change.cock_before, change.pen_before) == (Cause.GONE, "Gone", "Yard")
    assert change.cock_after is not None
    assert change.worth is None


def test_a_rule_that_rejects_the_old_pair_is_the_cause(tmp_path: Path) -> None:
    wishes = [{"bird": "AH", "with": "SC", "wish": "apart", "why": "he tore her"}]
    change = _changes(tmp_path, _standing("SC", "AH"), wishes=wishes)["AH"]
    assert change.cause is Cause.RULE
    assert [broken.rule for broken in change.broken] == ["wished-apart"]


def test_a_hen_new_in_the_pens_is_told_so(tmp_path: Path) -> None:
    change = _changes(tmp_path, _standing("SC", "AH"))["SH"]
    assert (change.cause, change.cock_before, change.pen_before) == (Cause.NEW, None, None)


def test_a_better_plan_has_its_price(tmp_path: Path) -> None:
    """The old cock is hardly fertile: leaving the hen with him would cost wanted chicks."""
    wants = "[lines.Alder]\nchicks_wanted = 200\n"
    folder = write_flock(tmp_path, BIRDS, wants, seen=HOME_SEEN, plan=_standing("SD", "AH"))
    plan = verbs.plan(folder)
    change = {one.hen: one for one in plan.changes}["AH"]
    old = max(
        (one for one in plan.problem.candidates if (one.hen, one.cock) == ("AH", "SD")),
        key=lambda one: one.value,
    )
    others = [one for one in plan.problem.candidates if one.hen != "AH"]
    forced = best_value(replace(plan.problem, candidates=(*others, old)), (old,))
    assert forced is not None
    assert change.cause is Cause.BETTER
    assert change.worth is not None
    assert change.worth == pytest.approx(plan.solution.proof.best_value - forced)
    assert change.worth > 0


def test_a_new_season_is_not_priced_change_by_change(tmp_path: Path) -> None:
    hens = [hen(f"S{n:02}") for n in range(MOST_PRICED + 1)]
    seen = [*HOME_SEEN, dna("SD", "O", 0)]
    folder = write_flock(
        tmp_path,
        [*BIRDS, *hens],
        seen=seen,
        pens=[{"pen": "Yard", "hens_max": "20"}, {"pen": "Barn", "hens_max": "20"}],
        plan=_standing("SD", *(row["bird"] for row in hens), line="Pure"),
    )
    changes = verbs.plan(folder).changes
    assert len(changes) > MOST_PRICED
    assert {change.worth for change in changes} == {None}
