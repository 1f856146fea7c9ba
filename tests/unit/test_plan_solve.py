"""What a solve returns: stages, labels, outcomes, quietness, and the re-check of plans."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from dataclasses import replace

import pytest

from matchmaker.errors import NoPlanError
from matchmaker.plan.arithmetic.result import Outcome, PlannedPen, Solution
from matchmaker.plan.arithmetic.verify import WrongPlanError, evaluate, verify
from matchmaker.plan.posing.layout import ProblemError
from matchmaker.plan.posing.problem import (
    BirdInPen,
    BirdUsed,
    Candidate,
    CockLimit,
    HensApart,
    LineGoal,
    PairTogether,
    PenKind,
    PlanProblem,
)
from matchmaker.plan.searching.solve import best_value, solve_plan
from matchmaker.plan.solvers.watch import Progress, Watch
from tests.bench.flocks import flock_problem, hungry

HENS = ("H1", "H2", "H3", "H4")
COCKS = ("C1", "C2")


def pair(hen: str, cock: str, value: float = 2.0, row: str = "back") -> Candidate:
    return Candidate(hen=hen, cock=cock, row=row, line="Alder", value=value, wanted=value)


def small(**changes: object) -> PlanProblem:
    problem = PlanProblem(
        candidates=tuple(pair(hen, cock) for hen in HENS for cock in COCKS),
        kinds=(
            PenKind(pens=("Pen 2", "Pen 10"), hens_max=2, hens_min=1, line="", dam_known=False),
        ),
        cocks=tuple(CockLimit(cock=cock, hens_max=3, pens_max=1) for cock in COCKS),
        lines=(LineGoal(line="Alder", importance=1.0, chicks_wanted=100.0),),
    )
    return replace(problem, **changes)  # type: ignore[arg-type]


def pairs_of(solution: Solution) -> set[tuple[str, str]]:
    return {(one.hen, one.cock) for pen in solution.pens for one in pen.pairs}


def test_value_is_worth_less_the_cost_of_pairs() -> None:
    solution = solve_plan(small())
    assert solution.value == pytest.approx(4 * 2.0 - 4 * 0.05)
    assert (solution.outcome, solution.proof.gap) == (Outcome.OPTIMAL, 0.0)


def test_pens_stand_in_natural_order_of_labels() -> None:
    assert [pen.pen for pen in solve_plan(small()).pens] == ["Pen 2", "Pen 10"]


def test_a_cock_keeps_his_standing_pen() -> None:
    standing = (("Pen 10", "C1"), ("Pen 2", "C2"))
    solution = solve_plan(small(standing_pens=standing))
    assert {(pen.pen, pen.cock) for pen in solution.pens} == set(standing)


def test_kept_pairs_survive_one_better_score_elsewhere() -> None:
    """A tie among equals: one score rises, and only what the rise itself moves may move."""
    first = solve_plan(small())
    kept = pairs_of(first)
    raised = tuple(
        replace(one, kept=(one.hen, one.cock) in kept, value=2.1 if one.hen == "H1" else 2.0)
        for one in small().candidates
    )
    assert pairs_of(solve_plan(small(candidates=raised))) == kept


def test_the_standing_plan_never_costs_value() -> None:
    better = pair("H1", "C1", 5.0)
    candidates = tuple(
        better if (one.hen, one.cock) == ("H1", "C1") else replace(one, kept=one.cock == "C2")
        for one in small().candidates
    )
    assert ("H1", "C1") in pairs_of(solve_plan(small(candidates=candidates)))


def test_a_line_with_all_it_needs_does_not_swallow_the_rest() -> None:
    """Pure matings worth 10 each could fill both pens; the backcross line still gets one."""
    pure = tuple(
        Candidate(hen=hen, cock=cock, row="hold", line="Birch", value=10.0, wanted=10.0)
        for hen in HENS
        for cock in COCKS
    )
    lines = (
        LineGoal(line="Alder", importance=1.0, chicks_wanted=4.0),
        LineGoal(line="Birch", importance=1.0, chicks_wanted=10.0),
    )
    solution = solve_plan(small(candidates=small().candidates + pure, lines=lines))
    assert {total.line: total.hens for total in solution.lines} == {"Alder": 2, "Birch": 2}


def test_no_candidates_give_an_empty_plan() -> None:
    solution = solve_plan(small(candidates=()))
    assert (solution.pens, solution.value) == ((), 0.0)


def test_forcing_a_pair_costs_what_it_displaces() -> None:
    dear = tuple(pair(hen, "C1", 3.0 if hen != "H4" else 1.0) for hen in HENS)
    problem = small(candidates=dear)
    assert best_value(problem) == pytest.approx(2 * 3.0 - 0.1)
    assert best_value(problem, (dear[3],)) == pytest.approx(3.0 + 1.0 - 0.1)


def test_forcing_what_is_no_candidate_is_refused() -> None:
    with pytest.raises(ProblemError, match="not a candidate"):
        best_value(small(), (pair("H9", "C1"),))


def test_forcing_two_places_for_one_hen_leaves_no_plan() -> None:
    assert best_value(small(), (pair("H1", "C1"), pair("H1", "C2"))) is None


@pytest.mark.parametrize("solver", ["highs", "cbc"])
def test_nothing_is_printed_on_standard_output(solver: str) -> None:
    code = (
        "from tests.unit.test_plan_solve import small\n"
        "from matchmaker.plan.searching.solve import solve_plan\n"
        f"solve_plan(small(), solver={solver!r})\n"
    )
    end = subprocess.run(
        [sys.executable, "-W", "error", "-c", code],
        capture_output=True,
        text=True,
        check=True,
        env=os.environ | {"PYTHONPATH": os.pathsep.join(["."])},
    )
    assert (end.stdout, end.stderr) == ("", "")


@pytest.mark.parametrize(
    ("changes", "conflict"),
    [
        (
            {
                "demands": (
                    PairTogether(name="H1 with C1", hen="H1", cock="C1"),
                    PairTogether(name="H2 with C1", hen="H2", cock="C1"),
                    HensApart(name="H1 not with H2", first="H1", second="H2"),
                    BirdUsed(name="use H3", bird="H3"),
                )
            },
            ("H1 with C1", "H2 with C1", "H1 not with H2"),
        ),
        (
            {
                "lines": (LineGoal(line="Alder", importance=1, chicks_wanted=9, hens_min=5),),
                "kinds": (replace(small().kinds[0], hens_max=3),),
            },
            ("one place per hen", "line Alder: at least 5 hens"),
        ),
        (
            {
                "kinds": (),
                "demands": (BirdUsed(name="use H3", bird="H3"),),
            },
            ("pens: places", "use H3"),
        ),
        (
            {"demands": (PairTogether(name="H9 with C1", hen="H9", cock="C1"),)},
            ("H9 with C1",),
        ),
        (
            {"demands": (BirdInPen(name="H1 in Pen 7", bird="H1", pen="Pen 7"),)},
            ("H1 in Pen 7",),
        ),
    ],
    ids=["wishes", "line minimum", "no pens", "no such pair", "no such pen"],
)
def test_a_clash_is_named(changes: dict[str, object], conflict: tuple[str, ...]) -> None:
    with pytest.raises(NoPlanError) as caught:
        solve_plan(small(**changes))
    assert set(caught.value.conflict) == set(conflict)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"candidates": (pair("H1", "C1"), pair("H1", "C1"))}, "pair listed twice"),
        ({"candidates": (pair("H1", "C9"),)}, "no limits or goals given for cock"),
        ({"lines": ()}, "no limits or goals given for line"),
        ({"candidates": (pair("H1", "C1"), pair("C1", "C2"))}, "hen and cock at once"),
    ],
    ids=["twin", "no limits", "no goal", "both sexes"],
)
def test_a_problem_that_contradicts_itself_is_refused(
    changes: dict[str, object], words: str
) -> None:
    with pytest.raises(ProblemError, match=words):
        solve_plan(small(**changes))


def planted(fault: str) -> tuple[PlanProblem, tuple[PlannedPen, ...]]:
    """Return a problem and a plan with one fault of the kind named."""
    one, two = pair("H1", "C1"), pair("H2", "C1")
    problem = small(
        lines=(
            LineGoal(line="Alder", importance=1.0, chicks_wanted=9.0),
            LineGoal(line="Birch", importance=1.0, chicks_wanted=9.0),
        ),
        candidates=(*small().candidates, replace(one, hen="H5", row="other", line="Birch")),
        cocks=(
            CockLimit(cock="C1", hens_max=2, pens_max=1),
            CockLimit(cock="C2", hens_max=1, pens_max=2),
        ),
    )
    other = replace(one, hen="H5", row="other", line="Birch")
    three = tuple(pair(hen, "C1") for hen in HENS[:3])
    faults: dict[str, list[tuple[str, str, tuple[Candidate, ...]]]] = {
        "not an allowed pair": [("Pen 2", "C1", (pair("H9", "C1"),))],
        "is paired with": [("Pen 2", "C2", (one,))],
        "has 2 places": [("Pen 2", "C1", (one,)), ("Pen 10", "C2", (pair("H1", "C2"),))],
        "has 2 pens, at most 1": [("Pen 2", "C1", (one,)), ("Pen 10", "C1", (two,))],
        "C1 has 3 hens, at most 2": [("Pen 2", "C1", three)],
        "pen Pen 2 has 3 hens, at most 2": [("Pen 2", "C1", three)],
        "pen Pen 2 has 0 hens, at least 1": [("Pen 2", "C1", ())],
        "is listed 2 times": [("Pen 2", "C1", (one,)), ("Pen 2", "C2", (pair("H2", "C2"),))],
        "is not open": [("Pen 7", "C1", (one,))],
        "mixes 2 rows": [("Pen 2", "C1", (one, other))],
        "is no cock of this season": [("Pen 2", "C9", (pair("H1", "C9"),))],
    }
    pens = tuple(PlannedPen(pen=pen, cock=cock, pairs=held) for pen, cock, held in faults[fault])
    return problem, pens


@pytest.mark.parametrize(
    "fault",
    [
        "not an allowed pair",
        "is paired with",
        "has 2 places",
        "has 2 pens, at most 1",
        "C1 has 3 hens, at most 2",
        "pen Pen 2 has 3 hens, at most 2",
        "pen Pen 2 has 0 hens, at least 1",
        "is listed 2 times",
        "is not open",
        "mixes 2 rows",
        "is no cock of this season",
    ],
)
def test_evaluate_names_each_fault_of_a_plan(fault: str) -> None:
    problem, pens = planted(fault)
    assert any(fault in words for words in evaluate(problem, pens).broken)


@pytest.mark.parametrize(
    ("goal", "words"),
    [
        ({"cocks_min": 3}, "2 cocks, at least 3"),
        ({"hens_min": 5}, "4 hens, at least 5"),
        ({"wanted_min": 8.5}, "8.00 wanted chicks, at least 8.5"),
    ],
    ids=["cocks", "hens", "wanted"],
)
def test_evaluate_names_a_missed_minimum(goal: dict[str, float], words: str) -> None:
    pens = solve_plan(small()).pens
    lines = (LineGoal(line="Alder", importance=1, chicks_wanted=9, **goal),)  # type: ignore[arg-type]
    assert any(words in one for one in evaluate(small(lines=lines), pens).broken)


def test_evaluate_names_a_wish_not_kept() -> None:
    problem = small(demands=(BirdInPen(name="H1 in Pen 7", bird="H1", pen="Pen 7"),))
    assert evaluate(problem, ()).broken == ("wish not kept: H1 in Pen 7",)


def test_a_pen_of_one_line_refuses_others() -> None:
    problem = small(kinds=(replace(small().kinds[0], line="Birch"),))
    pens = (PlannedPen(pen="Pen 2", cock="C1", pairs=(pair("H1", "C1"),)),)
    assert any("for chicks of line Birch only" in one for one in evaluate(problem, pens).broken)


@pytest.mark.parametrize(
    ("fault", "words"),
    [
        (lambda one: replace(one, value=one.value + 1), "value stated"),
        (lambda one: replace(one, lines=()), "totals of line Alder"),
        (lambda one: replace(one, pens=one.pens[::-1]), "not in order of their labels"),
        (lambda one: replace(one, proof=replace(one.proof, bound=0.0)), "is below the best"),
        (lambda one: replace(one, proof=replace(one.proof, best_value=1.0)), "is above the best"),
        (lambda one: replace(one, proof=replace(one.proof, gap=0.5)), "with a gap"),
        (lambda one: replace(one, outcome=Outcome.NONE), "there is no plan"),
        (
            lambda one: replace(
                one, pens=(replace(one.pens[0], pairs=one.pens[0].pairs[::-1]), one.pens[1])
            ),
            "not in order of their bands",
        ),
    ],
    ids=["value", "totals", "pens", "bound", "best", "gap", "outcome", "bands"],
)
def test_verify_catches_a_planted_fault(fault: object, words: str) -> None:
    solution = solve_plan(small())
    verify(small(), solution)
    assert callable(fault)
    with pytest.raises(WrongPlanError, match=words):
        verify(small(), fault(solution))


def test_verify_catches_figures_that_are_not_the_problems() -> None:
    solution = solve_plan(small())
    dearer = small(candidates=tuple(replace(one, wanted=9.0) for one in small().candidates))
    with pytest.raises(WrongPlanError, match="are not those of the problem"):
        verify(dearer, solution)


def test_a_time_limit_gives_the_plan_so_far_with_its_gap() -> None:
    """Time is out as soon as there is a first plan, however fast the machine is."""
    problem = flock_problem(200, 20, seed=0)

    def out_of_time(progress: Progress) -> None:
        if progress.best > float("-inf"):
            watch.until = time.perf_counter()

    watch = Watch(out_of_time)
    solution = solve_plan(hungry(problem), watch=watch)
    assert solution.outcome is Outcome.FEASIBLE
    assert solution.proof.bound > solution.proof.best_value
    assert solution.proof.gap > 0.0
    assert solution.proof.stopped == "time"
    assert evaluate(hungry(problem), solution.pens).broken == ()
