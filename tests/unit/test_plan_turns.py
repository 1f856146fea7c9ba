"""Turns of the season in the program: who may be where at once, and who after another."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from matchmaker.plan.posing.problem import (
    BirdInPen,
    BirdNotInPen,
    CockLimit,
    HensApart,
    HensTogether,
    PairTogether,
    PenKind,
    PlanProblem,
)
from matchmaker.plan.searching.solve import best_value, solve_plan
from tests.unit.test_plan_rows import EARLY_LATE, HENS, in_turns, pair, small


def overlapping() -> PlanProblem:
    kinds = tuple(
        PenKind(pens=pens, hens_max=4, hens_min=1, line="", dam_known=False, turn=turn)
        for pens, turn in ((("P1", "P2"), "early"), (("P3", "P4"), "late"))
    )
    return replace(in_turns("early", "late"), kinds=kinds, turns=(("early", "late"),))


def test_a_hen_breeds_twice_where_turns_do_not_overlap() -> None:
    solution = solve_plan(in_turns("early", "late", turns=EARLY_LATE))
    assert solution.value == pytest.approx(8 * 1.95)
    assert {pen.turn for pen in solution.pens} == {"early", "late"}


def test_a_hen_breeds_once_where_turns_overlap() -> None:
    solution = solve_plan(overlapping())
    assert solution.value == pytest.approx(4 * 1.95)


def test_a_turn_that_overlaps_two_others_excludes_both() -> None:
    """H1 is worth 3 all along, or 2 early and 2 late."""
    turns = (("early", "whole"), ("late", "whole"))
    kinds = tuple(
        PenKind(pens=(pen,), hens_max=4, hens_min=1, line="", dam_known=False, turn=turn)
        for pen, turn in (("P1", "early"), ("P1", "late"), ("P2", "whole"))
    )
    candidates = (
        pair("H1", "C1", 2.0, turn="early"),
        pair("H1", "C1", 2.0, turn="late"),
        pair("H1", "C2", 3.0, turn="whole"),
    )
    problem = small(candidates=candidates, kinds=kinds, turns=turns)
    assert best_value(problem) == pytest.approx(2 * 1.95)
    dearer = (*candidates[:2], replace(candidates[2], value=5.0))
    assert best_value(replace(problem, candidates=dearer)) == pytest.approx(4.95)


def test_a_pen_serves_its_own_turn_only() -> None:
    kinds = (replace(small().kinds[0], turn="early"),)
    late = tuple(replace(one, turn="late") for one in small().candidates)
    assert best_value(small(candidates=late, kinds=kinds, turns=EARLY_LATE)) == 0.0


def test_a_cock_has_his_hens_and_pens_anew_in_each_turn() -> None:
    limits = (CockLimit(cock="C1", hens_max=1, pens_max=1),)
    only = tuple(one for one in small().candidates if one.cock == "C1")
    candidates = tuple(replace(one, turn=t) for one in only for t in ("early", "late"))
    problem = in_turns("early", "late", turns=EARLY_LATE)
    problem = replace(problem, cocks=limits, candidates=candidates)
    assert best_value(problem) == pytest.approx(2 * 1.95)


def test_cocks_succeed_each_other_in_one_pen() -> None:
    kinds = tuple(
        PenKind(pens=("P1",), hens_max=4, hens_min=1, line="", dam_known=False, turn=turn)
        for turn in ("early", "late")
    )
    candidates = tuple(
        pair(hen, cock, turn=turn)
        for cock, turn in (("C1", "early"), ("C2", "late"))
        for hen in HENS
    )
    solution = solve_plan(small(candidates=candidates, kinds=kinds, turns=EARLY_LATE))
    stands = [(pen.pen, pen.turn, pen.cock, len(pen.pairs)) for pen in solution.pens]
    assert stands == [("P1", "early", "C1", 4), ("P1", "late", "C2", 4)]


def test_a_cock_stays_in_his_pen_from_turn_to_turn() -> None:
    """C2 is alone early and gets P1; late C1 joins him, who would be first by his band."""
    problem = in_turns("early", "late", turns=EARLY_LATE)
    hens = {("C2", "early"): ("H1",), ("C1", "late"): ("H3",), ("C2", "late"): ("H4",)}
    candidates = tuple(
        one for one in problem.candidates if one.hen in hens.get((one.cock, one.turn), ())
    )
    solution = solve_plan(replace(problem, candidates=candidates))
    stands = [(pen.pen, pen.turn, pen.cock) for pen in solution.pens]
    assert stands == [("P1", "early", "C2"), ("P1", "late", "C2"), ("P2", "late", "C1")]


def test_a_minimum_of_hens_counts_a_hen_once() -> None:
    """Two hens, each early and late, are two hens and not four."""
    two = tuple(
        one for one in in_turns("early", "late", turns=EARLY_LATE).candidates if one.hen in HENS[:2]
    )
    problem = in_turns("early", "late", turns=EARLY_LATE)
    for hens_min, exists in ((2, True), (3, False)):
        lines = (replace(small().lines[0], hens_min=hens_min),)
        found = best_value(replace(problem, candidates=two, lines=lines))
        assert (found is not None) is exists


def test_what_a_line_counts_is_not_bounded_by_its_hens_once() -> None:
    """One hen with two turns beats the bound "so many hens, each in her best pair"."""
    problem = in_turns("early", "late", turns=EARLY_LATE)
    one_hen = tuple(one for one in problem.candidates if one.hen == "H1")
    assert best_value(replace(problem, candidates=one_hen)) == pytest.approx(2 * 1.95)


def test_hens_apart_may_follow_each_other() -> None:
    apart = (HensApart(name="H1 not with H2", first="H1", second="H2"),)
    only = tuple(
        replace(one, turn=turn)
        for one in small().candidates
        if one.cock == "C1" and one.hen in HENS[:2]
        for turn in ("early", "late")
    )
    problem = in_turns("early", "late", turns=EARLY_LATE, demands=apart)
    assert best_value(replace(problem, candidates=only)) == pytest.approx(2 * 1.95)


def test_hens_together_share_their_pen_in_every_turn() -> None:
    together = (HensTogether(name="H1 with H2", first="H1", second="H2"),)
    only = (
        pair("H1", "C1", 2.0, turn="early"),
        pair("H2", "C1", 2.0, turn="early"),
        pair("H1", "C1", 2.0, turn="late"),
    )
    problem = in_turns("early", "late", turns=EARLY_LATE, demands=together)
    assert best_value(replace(problem, candidates=only)) == pytest.approx(2 * 1.95)


@pytest.mark.parametrize(
    ("demand", "value"),
    [
        (PairTogether(name="w", hen="H1", cock="C1"), 2 * 1.95),
        (BirdInPen(name="w", bird="H1", pen="P1"), 2 * 1.95),
        (BirdNotInPen(name="w", bird="H1", pen="P1"), 0.0),
    ],
    ids=["pair", "in pen", "not in pen"],
)
def test_wishes_mean_any_turn(demand: Any, value: float) -> None:
    kinds = tuple(
        PenKind(pens=("P1",), hens_max=4, hens_min=1, line="", dam_known=False, turn=turn)
        for turn in ("early", "late")
    )
    candidates = tuple(pair("H1", "C1", turn=turn) for turn in ("early", "late"))
    problem = small(candidates=candidates, kinds=kinds, turns=EARLY_LATE, demands=(demand,))
    assert best_value(problem) == pytest.approx(value)
