"""A plan made by hand: its value, and what it breaks."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matchmaker import verbs
from matchmaker.pairs.rules import Rule
from matchmaker.plan.posing.problem import PAIR_COST
from matchmaker.plan.season.score import score_plan
from matchmaker.tables.records import PlanRecord
from tests.builders import HOME, HOME_SEEN, cock, hen, only, write_flock

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.season.score import PlanScore

BIRDS = (*HOME, cock("Gone", status="dead", left_on="2026-12-01"), hen("SI"))
STANDING = [{"pen": "Yard", "line": "Pure", "cock": "Gone", "hen": "SH"}]
ALDER = "[lines.Alder]\nimportance = 2\nchicks_wanted = 5\n"


@pytest.fixture(scope="module")
def table(tmp_path_factory: pytest.TempPathFactory) -> PairTable:
    folder = tmp_path_factory.mktemp("score")
    return verbs.pairs(write_flock(folder, BIRDS, ALDER, seen=HOME_SEEN, plan=STANDING))


def _scored(table: PairTable, *rows: str) -> PlanScore:
    """Score rows written as "pen line cock hen"."""
    cells = [row.split() for row in rows]
    return score_plan(
        table,
        [
            PlanRecord(row=at, pen=pen, line=line, cock=cock, hen=hen, why="")
            for at, (pen, line, cock, hen) in enumerate(cells, start=2)
        ],
    )


def test_value_is_importance_times_what_the_line_counts_less_the_work(table: PairTable) -> None:
    score = _scored(table, "Yard Alder SC AH")
    value = only(table, "AH", "SC").value
    assert value is not None
    counted = min(value, 5) + min(max(value - 5, 0), 5) / 4
    assert score.value == pytest.approx(2 * counted - PAIR_COST)
    assert (score.rejected, score.broken, score.hens) == ((), (), 1)


def test_the_best_plan_scores_its_own_value(table: PairTable, tmp_path: Path) -> None:
    plan = verbs.plan(write_flock(tmp_path, BIRDS, ALDER, seen=HOME_SEEN))
    rows = [f"{p.pen} {one.line} {p.cock} {one.hen}" for p in plan.pens for one in p.pairs]
    assert rows
    assert _scored(table, *rows).value == pytest.approx(plan.solution.value)


def test_rejected_pairs_are_listed_with_their_rules_and_only_there(table: PairTable) -> None:
    score = _scored(table, "Yard Alder AC AH")
    (pair,) = score.rejected
    assert Rule.LINE_CLOSED in {broken.rule for broken in pair.broken}
    assert score.broken == ()


def test_birds_that_are_gone_count_nothing(table: PairTable) -> None:
    score = _scored(table, "Yard Pure Gone SH")
    assert [broken.rule for broken in score.rejected[0].broken] == [Rule.NOT_AVAILABLE]
    assert score.value == pytest.approx(-PAIR_COST)
    assert score.broken == ()


def test_a_hen_in_two_pens_breaks_the_plan(table: PairTable) -> None:
    score = _scored(table, "Yard Alder AC SH", "Orchard Pure SC SH")
    assert "SH has 2 places" in score.broken


def test_the_line_written_chooses_the_row(table: PairTable) -> None:
    score = _scored(table, "Yard Pure SC SH", "Yard Pure SC SI")
    assert {total.line: total.hens for total in score.lines} == {"Alder": 0, "Pure": 2}


def test_a_wish_that_is_not_kept_is_named(tmp_path: Path) -> None:
    wishes = [{"bird": "SH", "with": "SC", "wish": "together"}]
    table = verbs.pairs(write_flock(tmp_path, BIRDS, seen=HOME_SEEN, wishes=wishes))
    assert _scored(table, "Yard Alder SC AH").broken == (
        "wish not kept: wish in row 2: SH together SC",
    )


def test_birds_outside_the_rules_count_in_the_kinship_of_the_parents(tmp_path: Path) -> None:
    """One pair of founders has 1/4 as a group, also where one of them is gone."""
    limited = ALDER + "[limits]\ngroup_kinship_max = 0.2\n"
    table = verbs.pairs(
        write_flock(tmp_path, BIRDS, limited, seen=HOME_SEEN, plan=STANDING),
    )
    for row in ("Yard Pure Gone SH", "Yard Pure SC SH"):
        assert _scored(table, row).broken == ("the parents' mean kinship is 0.25000, at most 0.2",)
