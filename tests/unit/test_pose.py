"""From judged pairs, pens and wishes to the planning problem."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matchmaker.plan.posing.pose import pose_problem
from matchmaker.plan.posing.problem import (
    BirdInPen,
    BirdNotInPen,
    BirdUsed,
    HensApart,
    HensTogether,
    PairTogether,
    PlanLimits,
)
from tests.builders import HOME, HOME_SEEN, TOP, Row, cock, hen, judged

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from matchmaker.plan.posing.problem import PlanProblem

PENS = [
    {"pen": "A", "hens_max": "4"},
    {"pen": "B", "hens_max": "4"},
    {"pen": "C", "hens_max": "6"},
    {"pen": "D", "hens_max": "6", "open": "no"},
]


def _posed(
    path: Path, birds: Sequence[Row] = HOME, settings: str = "", **tables: Sequence[Row]
) -> PlanProblem:
    return pose_problem(judged(path, birds, settings, TOP, seen=HOME_SEEN, **tables))


def _wish(bird: str, wish: str, partner: str = "") -> Row:
    return {"bird": bird, "with": partner, "wish": wish}


def test_only_allowed_pairs_are_candidates(tmp_path: Path) -> None:
    problem = _posed(tmp_path, [*HOME, cock("Sold", status="sold", left_on="2026-12-01")])
    pairs = {(one.hen, one.cock, one.line) for one in problem.candidates}
    assert pairs == {("AH", "SC", "Alder"), ("SH", "AC", "Alder"), ("SH", "SC", "Pure")}


def test_pens_that_are_alike_are_pooled_and_closed_ones_left_out(tmp_path: Path) -> None:
    problem = _posed(tmp_path, pens=PENS)
    assert [(kind.pens, kind.hens_max) for kind in problem.kinds] == [(("A", "B"), 4), (("C",), 6)]


def test_a_pen_that_a_wish_names_stands_alone(tmp_path: Path) -> None:
    problem = _posed(tmp_path, pens=PENS, wishes=[_wish("SC", "use", "B")])
    assert [kind.pens for kind in problem.kinds] == [("A",), ("B",), ("C",)]


def test_wishes_become_demands_in_words(tmp_path: Path) -> None:
    wishes = [
        _wish("AH", "together", "SC"),
        _wish("SC", "use", "A"),
        _wish("AC", "apart", "B"),
        _wish("AH", "together", "SH"),
        _wish("SH", "apart", "SI"),
        _wish("SI", "use"),
    ]
    problem = _posed(tmp_path, [*HOME, hen("SI")], pens=PENS, wishes=wishes)
    assert [(type(one), one.name) for one in problem.demands] == [
        (PairTogether, "wish in row 2: AH together SC"),
        (BirdInPen, "wish in row 3: SC use A"),
        (BirdNotInPen, "wish in row 4: AC apart B"),
        (HensTogether, "wish in row 5: AH together SH"),
        (HensApart, "wish in row 6: SH apart SI"),
        (BirdUsed, "wish in row 7: SI use"),
    ]


@pytest.mark.parametrize(
    ("weight_class", "hatched", "more", "most"),
    [
        ("medium", "2025-03-01", "", 8),
        ("medium", "2025-03-01", "hens_per_cock = {medium = 7}\n", 7),
        ("heavy", "2025-03-01", "hens_per_cock = {heavy = 6}\n", 6),
        ("medium", "2026-07-15", "hens_per_cock = {medium = 8, cockerel = 0.5}\n", 4),
        ("medium", "2023-03-01", "hens_per_cock = {medium = 8, old = 0.25}\n", 2),
    ],
)
def test_a_cock_gets_hens_by_class_and_age(
    tmp_path: Path, weight_class: str, hatched: str, more: str, most: int
) -> None:
    settings = f'[breeds.sussex]\nclass = "{weight_class}"\n[limits]\nage_min_days = 100\n{more}'
    problem = _posed(tmp_path, [*HOME, cock("K", hatched=hatched)], settings)
    assert {one.cock: one.hens_max for one in problem.cocks}["K"] == most


def test_what_is_written_for_a_cock_counts_first(tmp_path: Path) -> None:
    problem = _posed(tmp_path, [*HOME, cock("K", hens_max="3")])
    assert {one.cock: one.hens_max for one in problem.cocks}["K"] == 3


def test_minimums_and_importance_of_a_line_are_passed_on(tmp_path: Path) -> None:
    settings = (
        "[lines.Alder]\nimportance = 2\nchicks_wanted = 9\ncocks_min = 1\nhens_min = 1\n"
        "wanted_min = 3\n"
    )
    goal = {one.line: one for one in _posed(tmp_path, HOME, settings).lines}["Alder"]
    assert (goal.importance, goal.chicks_wanted) == (2, 9)
    assert (goal.cocks_min, goal.hens_min, goal.wanted_min) == (1, 1, 3)


def test_pairs_of_the_standing_plan_are_marked_unless_it_is_forgotten(tmp_path: Path) -> None:
    standing = [{"pen": "Yard", "line": "Alder", "cock": "SC", "hen": "AH"}]
    table = judged(tmp_path, HOME, seen=HOME_SEEN, plan=standing)
    problem = pose_problem(table)
    assert {(one.hen, one.cock) for one in problem.candidates if one.kept} == {("AH", "SC")}
    assert problem.standing_pens == (("Yard", "SC"),)
    fresh = pose_problem(table, fresh=True)
    assert not any(one.kept for one in fresh.candidates)
    assert fresh.standing_pens == ()


FEW = "[lines.Alder]\nchicks_wanted = 10\nfamilies = 2\n"
YEAR = "[year]\npen_up = 2027-02-01\ncollect_from = 2027-02-08\ncollect_until = 2027-04-18\n"
"""Seventy days at 4 eggs a week, 0.612 raised of each: 24.48 chicks of an unrelated pair."""


def test_room_is_needed_for_what_a_pair_counts(tmp_path: Path) -> None:
    """Five wanted at one half: ten are raised, from as many eggs as give them."""
    found = {(one.hen, one.cock): one for one in _posed(tmp_path, HOME, YEAR + FEW).candidates}
    one = found["AH", "SC"]
    assert one.chicks == pytest.approx(10.0)
    assert one.eggs * 10 * 0.612 == pytest.approx(10.0)
    assert one.wanted == pytest.approx(12.24)
    assert one.wanted_cocks == one.wanted_hens == pytest.approx(6.12)


def test_all_chicks_are_raised_where_they_all_count(tmp_path: Path) -> None:
    settings = YEAR + "[lines.Alder]\nchicks_wanted = 80\n"
    found = {(one.hen, one.cock): one for one in _posed(tmp_path, HOME, settings).candidates}
    assert found["AH", "SC"].chicks == pytest.approx(24.48)
    assert found["AH", "SC"].eggs == pytest.approx(4.0)


def test_own_figures_of_a_hen_count_for_her_eggs(tmp_path: Path) -> None:
    birds = [*HOME[:3], {**HOME[3], "lay_per_week": "2", "fertility": "0.5"}]
    found = {(one.hen, one.cock): one for one in _posed(tmp_path, birds, YEAR + FEW).candidates}
    one = found["AH", "SC"]
    assert one.chicks == pytest.approx(20 * 0.5 * 0.8 * 0.9)
    assert one.eggs == pytest.approx(2.0)


def test_pairs_without_chicks_set_no_eggs(tmp_path: Path) -> None:
    birds = [*HOME[:3], {**HOME[3], "fertility": "0"}]
    found = {(one.hen, one.cock): one for one in _posed(tmp_path, birds, YEAR).candidates}
    assert (found["AH", "SC"].chicks, found["AH", "SC"].eggs) == (0.0, 0.0)


def test_limits_on_the_plan_are_passed_on(tmp_path: Path) -> None:
    settings = (
        "[limits]\nmean_inbreeding_max = 0.05\nsire_share_max = 0.5\n"
        "[year]\nrearing_room = 60\nincubator_per_week = 40\n"
        "[lines.Alder]\nsire_share_max = 0.6\n"
    )
    problem = _posed(tmp_path, HOME, settings)
    assert problem.limits == PlanLimits(
        mean_inbreeding_max=0.05, sire_share_max=0.5, chicks_max=60, eggs_max=40
    )
    assert {goal.line: goal.sire_share_max for goal in problem.lines} == {
        "Alder": 0.6,
        "Pure": None,
    }


def test_nothing_is_limited_unless_it_is_asked_for(tmp_path: Path) -> None:
    problem = _posed(tmp_path)
    assert problem.limits == PlanLimits()
    assert (problem.turns, problem.tests, problem.carriers) == ((("",),), (), ())
    assert problem.group is None


@pytest.mark.parametrize("key", ["group_kinship_max = 0.2", "kinship_price = 1.5"])
def test_the_kinship_of_the_group_is_posed_if_it_is_asked_for(tmp_path: Path, key: str) -> None:
    group = _posed(tmp_path, HOME, f"[limits]\n{key}\n").group
    assert group is not None
    assert [bird for bird, _ in group.birds] == ["AC", "AH", "SC", "SH"]
    assert (group.limit, group.price) == ((0.2, None) if "max" in key else (None, 1.5))


def test_pairs_tell_their_kinship(tmp_path: Path) -> None:
    settings = "[breeds.sussex]\nbase = 0.1\n"
    found = {(one.hen, one.cock): one for one in _posed(tmp_path, HOME, settings).candidates}
    assert found["SH", "SC"].kinship == pytest.approx(0.1)
    assert found["AH", "SC"].kinship == pytest.approx(0.05)


CROSS = (
    '[[matings]]\nhens = ["Alder", "Birch"]\ncocks = ["Alder", "Birch"]\nchicks = "Birch"\n'
    'purpose = "intercross"\nkeep = {O = [1, 2]}\n'
    '[[matings]]\nhens = "Alder"\ncocks = "Pure"\nchicks = "Alder"\npurpose = "backcross"\n'
    "keep = {O = [1]}\n"
)


def test_one_carrier_of_a_line_must_stay_where_others_could_have_them_all(tmp_path: Path) -> None:
    birds = [*HOME, cock("BC", "Birch", "sussex:0.5|araucana:0.5"), hen("AX", "Alder")]
    seen = [*HOME_SEEN, {"bird": "BC", "locus": "O", "what": "1 copy", "how": "dna"}]
    problem = pose_problem(judged(tmp_path, birds, CROSS, TOP, seen=seen))
    assert [(one.line, one.birds) for one in problem.carriers] == [("Alder", ("AC", "AH"))]


def test_where_no_other_line_can_use_them_nothing_binds_carriers(tmp_path: Path) -> None:
    rows = "[[matings]]" + CROSS.split("[[matings]]")[2]
    assert _posed(tmp_path, HOME, rows).carriers == ()


def test_a_pen_kept_for_some_matings_holds_their_rows_alone(tmp_path: Path) -> None:
    """Backcross both ways between Alder and Pure; Pure by itself; no test mating is open."""
    uses = {"A": "hold", "B": "backcross", "C": "test"}
    pens = [{**pen, "use": uses.get(pen["pen"], "")} for pen in PENS]
    problem = _posed(tmp_path, pens=pens)
    rows = {kind.pens[0]: set(kind.rows) for kind in problem.kinds}
    pure = {one.row for one in problem.candidates if one.line == "Pure"}
    others = {one.row for one in problem.candidates if one.line == "Alder"}
    assert rows["A"] == pure
    assert rows["B"] >= others
    assert rows["C"] == {""}
    assert all(len(kind.pens) == 1 for kind in problem.kinds)
