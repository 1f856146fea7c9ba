"""Near-equal plans by hand, and how steady the pens are when a score changes. Data are invented."""

from __future__ import annotations

from dataclasses import replace
from math import comb

import pytest

from matchmaker.plan.arithmetic.result import Outcome, PlannedPen, Solution
from matchmaker.plan.arithmetic.verify import evaluate, verify
from matchmaker.plan.nearly_best.alternatives import alternatives
from matchmaker.plan.nearly_best.near import near_equals
from matchmaker.plan.nearly_best.near_keep import plan_near
from matchmaker.plan.posing.problem import (
    BirdInPen,
    Candidate,
    CockLimit,
    HensApart,
    LineGoal,
    PairTogether,
    PenKind,
    PlanProblem,
)
from matchmaker.plan.searching.solve import solve_plan
from matchmaker.tables.records import PlanRecord
from tests.bench.flocks import flock_problem

HENS = 9


def pair(hen: str, cock: str, value: float = 4.0, row: str = "back") -> Candidate:
    """Return a pair for the line Alder."""
    return Candidate(hen=hen, cock=cock, row=row, line="Alder", value=value, wanted=value)


def problem_of(*candidates: Candidate, pens: int = 1, hens_max: int = 4) -> PlanProblem:
    """Return a problem of one line with pens alike, each full if used."""
    kind = PenKind(
        pens=tuple(f"Pen {number}" for number in range(1, pens + 1)),
        hens_max=hens_max,
        hens_min=hens_max,
        line="",
        dam_known=False,
    )
    return PlanProblem(
        candidates=candidates,
        kinds=(kind,),
        cocks=tuple(
            CockLimit(cock=cock, hens_max=hens_max, pens_max=1)
            for cock in sorted({one.cock for one in candidates})
        ),
        lines=(LineGoal(line="Alder", importance=1.0, chicks_wanted=100.0),),
    )


ALIKE = problem_of(*(pair(f"H{hen}", "C1") for hen in range(HENS)))


def rows_of(pens: tuple[PlannedPen, ...]) -> list[PlanRecord]:
    """Return a plan as the rows of a file."""
    return [
        PlanRecord(row=2, pen=pen.pen, line=one.line, cock=pen.cock, hen=one.hen, why="")
        for pen in pens
        for one in pen.pairs
    ]


def test_all_choices_of_like_hens_are_counted() -> None:
    few = problem_of(*(pair(f"H{hen}", "C1") for hen in range(5)), hens_max=3)
    told = near_equals(few, solve_plan(few))
    assert (told.count, told.exact) == (comb(5, 3), True)


def test_too_many_to_list_are_told_as_a_number_that_is_there() -> None:
    many = problem_of(*(pair(f"H{hen:02d}", "C1") for hen in range(18)), hens_max=7)
    told = near_equals(many, solve_plan(many))
    assert (told.count, told.exact) == (comb(18, 7), False)


def test_hens_may_change_cocks_in_the_number() -> None:
    two = problem_of(
        *(pair(f"H{hen:02d}", f"C{cock}") for hen in range(14) for cock in (1, 2)),
        pens=2,
        hens_max=6,
    )
    told = near_equals(two, solve_plan(two))
    assert (told.count, told.exact) == (comb(14, 6) * comb(8, 6), False)


def test_a_plan_without_a_rival_is_the_only_one() -> None:
    clear = problem_of(*(pair(f"H{hen}", "C1", 10.0 - hen) for hen in range(6)))
    told = near_equals(clear, solve_plan(clear))
    assert told.only_one
    assert alternatives(clear, solve_plan(clear), 3) == ()


def test_wishes_bind_the_hens_they_name() -> None:
    """H0 must stay in: so many plans choose the other three of eight."""
    wished = replace(
        ALIKE,
        demands=(
            PairTogether(name="H0 with C1", hen="H0", cock="C1"),
            BirdInPen(name="C1 in Pen 1", bird="C1", pen="Pen 1"),
        ),
    )
    told = near_equals(wished, solve_plan(wished))
    assert (told.count, told.exact) == (comb(HENS - 1, 3), True)
    apart = replace(ALIKE, demands=(HensApart(name="apart", first="H0", second="H1"),))
    told = near_equals(apart, solve_plan(apart))
    assert (told.count, told.exact) == (comb(HENS, 4) - comb(HENS - 2, 2), True)


def test_what_is_measured_against_an_unproved_plan_says_so() -> None:
    solution = replace(solve_plan(ALIKE), outcome=Outcome.FEASIBLE)
    assert not near_equals(ALIKE, solution).proved


def test_alternatives_are_told_with_what_they_lose() -> None:
    """Two cocks alike: the most different plan is the one with another cock and other hens."""
    problem = problem_of(
        *(pair(f"H{hen}", cock, value) for hen in range(8) for cock, value in CHOICES)
    )
    best = solve_plan(problem)
    first, second = alternatives(problem, best, 2)
    used = {one.hen for pen in best.pens for one in pen.pairs}
    assert (first.moved, first.apart) == (8, 8)
    assert used.isdisjoint(one.hen for pen in first.pens for one in pen.pairs)
    assert first.value == pytest.approx(best.value)
    assert second.apart <= first.apart
    assert all(one.proved for one in (first, second))


CHOICES = (("C1", 4.0), ("C2", 3.99))


def test_labels_of_pens_stay_in_alternatives() -> None:
    problem = problem_of(
        *(pair(f"H{hen}", f"C{cock}") for hen in range(8) for cock in (1, 2)), pens=2, hens_max=2
    )
    best = solve_plan(problem)
    (other,) = alternatives(problem, best, 1)
    assert {(pen.pen, pen.cock) for pen in other.pens} == {(p.pen, p.cock) for p in best.pens}


def edited(problem: PlanProblem, hen: str, part: float) -> PlanProblem:
    """Return the problem with one hen's score changed: all her pairs worth more or less."""
    return replace(
        problem,
        candidates=tuple(
            replace(one, value=round(one.value * part, 3)) if one.hen == hen else one
            for one in problem.candidates
        ),
    )


def revalued(problem: PlanProblem, solution: Solution) -> tuple[PlannedPen, ...]:
    """Return the pens of a plan with the values of an edited problem."""
    known = {one.key: one for one in problem.candidates}
    return tuple(
        replace(pen, pairs=tuple(known[one.key] for one in pen.pairs)) for pen in solution.pens
    )


@pytest.mark.parametrize("seed", [1, 2])
def test_a_small_edit_leaves_the_pens_as_they_are_if_that_costs_little(seed: int) -> None:
    """One score changed by one: the old pens stay in full where they are within 0.5 %."""
    problem = flock_problem(60, 8, seed)
    before = solve_plan(problem, stages=False)
    hens = sorted({one.hen for pen in before.pens for one in pen.pairs})
    turned_over = 0
    for hen, part in ((hens[0], 0.93), (hens[7], 1.07)):
        changed = edited(problem, hen, part)
        near = plan_near(changed, rows_of(before.pens))
        stays = evaluate(changed, revalued(changed, before)).value
        assert near.loss <= near.most_loss + 1e-6
        assert near.proved
        assert stays >= near.solution.proof.best_value - near.most_loss
        assert near.kept == near.given == len(hens)
        fresh = solve_plan(changed, stages=False)
        cocks = {one.hen: pen.cock for pen in before.pens for one in pen.pairs}
        new = {one.hen: pen.cock for pen in fresh.pens for one in pen.pairs}
        turned_over += sum(cocks[hen] != new.get(hen) for hen in hens)
    assert turned_over > 0


def test_pairs_that_are_no_longer_allowed_are_counted_apart() -> None:
    rows = rows_of(solve_plan(ALIKE).pens)
    gone = replace(rows[0], hen="Gone")
    near = plan_near(ALIKE, [gone, *rows[1:]])
    assert (near.given, near.possible, near.kept) == (4, 3, 3)
    verify(near.problem, near.solution)


def test_pens_stay_before_value_counts() -> None:
    """C1 had Pen 2, which is smaller: one hen less has the better cock, within what is allowed."""
    candidates = [pair(f"H{hen}", f"C{cock}", VALUES[cock]) for hen in range(8) for cock in (1, 2)]
    kinds = tuple(
        PenKind(pens=(pen,), hens_max=most, hens_min=1, line="", dam_known=False)
        for pen, most in (("Pen 1", 4), ("Pen 2", 3))
    )
    problem = replace(problem_of(*candidates), kinds=kinds)
    row = PlanRecord(row=2, pen="Pen 2", line="Alder", cock="C1", hen="H0", why="")
    assert ("Pen 1", "C1") in {(pen.pen, pen.cock) for pen in solve_plan(problem).pens}
    near = plan_near(problem, [row])
    assert ("Pen 2", "C1") in {(pen.pen, pen.cock) for pen in near.solution.pens}
    assert (near.kept, near.pens_kept) == (1, 1)
    assert near.loss == pytest.approx(VALUES[1] - VALUES[2])


VALUES = {1: 4.02, 2: 4.0}
