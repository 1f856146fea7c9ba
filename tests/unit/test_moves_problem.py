"""A problem of pens that stand: its file, what it may not say, and the birds its plans move."""

from __future__ import annotations

import datetime as dt
import json
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest

from matchmaker.errors import NoPlanError
from matchmaker.plan.arithmetic.moved import birds_moved
from matchmaker.plan.arithmetic.result import PlannedPen
from matchmaker.plan.arithmetic.verify import evaluate
from matchmaker.plan.posing.contradictions import contradictions
from matchmaker.plan.posing.layout import ProblemError, lay_out
from matchmaker.plan.posing.problem import PAIR_COST, CockLimit, Moves, PenKind, PlanProblem
from matchmaker.plan.posing.problem_file import problem_from_dict, problem_to_dict
from matchmaker.plan.searching.solve import solve_plan
from matchmaker.rebalance.posing import pose_response
from matchmaker.rebalance.responding import Responder
from tests.oracle.response_flocks import FlockMaker
from tests.unit.test_plan_rows import pair, small

if TYPE_CHECKING:
    from matchmaker.plan.solvers.engine import SolverName

HOME = (("C1", "P1"), ("H1", "P1"), ("H2", "P1"), ("H3", "P2"))
"""H3 has lost her cock."""


def own_kind(pen: str) -> PenKind:
    return PenKind(pens=(pen,), hens_max=4, hens_min=1, line="", dam_known=False, turn=pen)


def standing(**changes: Any) -> PlanProblem:
    """C1 stays in P1 or takes over P2, C2 comes to P2; a pair is worth 2, in a new pen 1."""
    pairs = [pair(hen, "C1", 2.0 if hen in ("H1", "H2") else 1.0, turn="P1") for hen in HENS]
    pairs += [pair(hen, cock, 1.0, turn="P2") for hen in HENS for cock in ("C1", "C2")]
    problem = small(
        candidates=tuple(pairs),
        kinds=(own_kind("P1"), own_kind("P2")),
        turns=(("P1", "P2"),),
        lines=(replace(small().lines[0], banked=1.5),),
        moves=Moves(places=HOME),
    )
    return replace(problem, **changes)


HENS = ("H1", "H2", "H3", "H4")


def planned(problem: PlanProblem, pen: str, cock: str, *hens: str) -> PlannedPen:
    pairs = tuple(
        one for one in problem.candidates if (one.cock, one.turn) == (cock, pen) and one.hen in hens
    )
    assert len(pairs) == len(hens)
    return PlannedPen(pen=pen, cock=cock, pairs=pairs, turn=pen)


@pytest.mark.parametrize("most", [None, 0, 3])
def test_a_file_holds_where_birds_stand_and_what_is_banked(most: int | None) -> None:
    problem = standing(moves=Moves(places=HOME, most=most))
    again = problem_from_dict(json.loads(json.dumps(problem_to_dict(problem))))
    assert again.moves == problem.moves
    assert again.lines == problem.lines
    assert again.lines[0].banked == 1.5
    assert solve_plan(again).value == pytest.approx(solve_plan(problem).value)


def test_so_does_that_of_a_response() -> None:
    flock = FlockMaker(1, quiet=True).make()
    problem = pose_response(flock.season, flock.after).problem
    again = problem_from_dict(json.loads(json.dumps(problem_to_dict(problem))))
    assert replace(again, candidates=()) == replace(problem, candidates=())
    assert set(again.candidates) == set(problem.candidates)


def test_a_file_written_before_there_were_moves_has_none() -> None:
    data = problem_to_dict(small())
    del data["moves"]
    for line in data["lines"]:
        del line["banked"]
    assert problem_from_dict(json.loads(json.dumps(data))) == small(
        candidates=tuple(sorted(small().candidates, key=lambda one: one.key))
    )


SHARED = replace(own_kind("P1"), pens=("P1", "P2"))


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        (
            {"candidates": (), "kinds": (SHARED,), "turns": (("P1",),)},
            "each pen has a turn of its own, and all turns overlap",
        ),
        (
            {"turns": (("P1",), ("P2",))},
            "each pen has a turn of its own, and all turns overlap",
        ),
        (
            {"kinds": (own_kind("P1"), replace(own_kind("P2"), turn="P1"))},
            "turn of pens listed twice: P1",
        ),
        (
            {"candidates": (*standing().candidates, pair("H1", "C2", turn="P1"))},
            "C2 would take the pen of C1, who may stay",
        ),
        ({"moves": Moves(places=HOME, most=-1)}, "moves must be a number of at least 0: -1"),
        (
            {"lines": (replace(standing().lines[0], banked=float("nan")),)},
            "line Alder: banked must be a number of at least 0",
        ),
    ],
)
def test_nonsense_is_refused(changes: dict[str, Any], words: str) -> None:
    problem = standing(**changes)
    assert words in "; ".join(contradictions(problem))
    with pytest.raises(ProblemError):
        lay_out(problem)


def test_what_makes_sense_is_not() -> None:
    assert list(contradictions(standing())) == []
    empty = replace(SHARED, pens=("P3", "P4"), turn="P3")
    kinds = (*standing().kinds, empty)
    assert list(contradictions(standing(kinds=kinds, turns=(("P1", "P2", "P3"),)))) == []


def test_too_many_moves_are_named() -> None:
    """C2 comes to P2, H4 from nowhere and H1 from P1: three birds, and H3 stays with the pen."""
    problem = standing(moves=Moves(places=HOME, most=2))
    pens = (planned(problem, "P1", "C1", "H2"), planned(problem, "P2", "C2", "H1", "H3", "H4"))
    score = evaluate(problem, pens)
    assert score.broken == ("3 birds are moved, at most 2",)
    assert evaluate(replace(problem, moves=Moves(places=HOME, most=3)), pens).broken == ()
    assert score.value == pytest.approx(1.5 + 2 + 3 - 3 * PAIR_COST)


def test_a_hen_that_must_make_room_is_moved_too() -> None:
    """P2 gets a cock and H4: H3, who stands there, must go."""
    problem = standing(moves=Moves(places=HOME, most=2))
    pens = (planned(problem, "P1", "C1", "H1", "H2"), planned(problem, "P2", "C2", "H4"))
    assert evaluate(problem, pens).broken == ("3 birds are moved, at most 2",)


@pytest.mark.parametrize(("most", "value"), [(0, 5.5), (1, 6.45), (2, 7.4), (3, 7.4)])
def test_the_best_with_so_many_moves(most: int, value: float) -> None:
    """Nobody; C2 to H3; H4 with them. A third would bring nothing."""
    found = Responder(standing()).best(most)
    assert found is not None
    assert found.value == pytest.approx(value)
    assert solve_plan(standing(moves=Moves(places=HOME, most=most))).value == pytest.approx(value)


def test_what_is_banked_counts_towards_what_a_line_needs() -> None:
    """4 wanted, 1.5 banked: of the 4 in P1 2.5 count in full and 1.5 a quarter."""
    goal = replace(standing().lines[0], chicks_wanted=4.0)
    found = Responder(standing(lines=(goal,))).best(0)
    assert found is not None
    assert found.value == pytest.approx(4 + 1.5 / 4)


def test_birds_that_stand_in_a_pen_that_is_over_are_no_moves() -> None:
    """The first pen in which somebody stands was free until yesterday."""
    tried = 0
    for seed in range(12):
        flock = FlockMaker(seed, quiet=True).make()
        stay = flock.after.places[0] if flock.after.places else None
        if stay is None:
            continue
        yesterday = flock.after.day - dt.timedelta(days=1)
        season = replace(flock.season, until={**flock.season.until, stay[1]: yesterday})
        problem = pose_response(season, flock.after).problem
        assert problem.moves is not None
        assert stay in flock.after.places
        assert stay[1] not in {pen for _, pen in problem.moves.places}
        assert list(contradictions(problem)) == []
        found = Responder(problem).best(0)
        if found is not None:
            tried += 1
            assert found.moved == ()
            assert evaluate(problem, found.pens).broken == ()
    assert tried > 5


@pytest.mark.parametrize("solver", ["highs", "cbc"])
def test_what_clashes_is_named_where_pens_stand(solver: SolverName) -> None:
    """C2 can come to P2 only if he is moved."""
    line = replace(standing().lines[0], cocks_min=2)
    problem = standing(lines=(line,), moves=Moves(places=HOME, most=0))
    with pytest.raises(NoPlanError) as caught:
        solve_plan(problem, solver=solver)
    assert caught.value.conflict == ("at most 0 birds moved", "line Alder: at least 2 cocks")
    line = replace(line, cocks_min=3)
    with pytest.raises(NoPlanError) as caught:
        solve_plan(standing(lines=(line,)), solver=solver)
    assert caught.value.conflict == ("line Alder: at least 3 cocks",)


def test_as_many_may_be_moved_as_there_are_birds_and_pens() -> None:
    """Nobody stands anywhere: four hens move in, and their cock comes to both pens."""
    problem = small(
        candidates=tuple(pair(hen, "C1", 2.0) for hen in HENS),
        kinds=(PenKind(pens=("P1", "P2"), hens_max=2, hens_min=1, line="", dam_known=False),),
        cocks=(CockLimit(cock="C1", hens_max=8, pens_max=2),),
        moves=Moves(places=()),
    )
    plan = solve_plan(problem)
    assert [len(pen.pairs) for pen in plan.pens] == [2, 2]
    assert len(birds_moved(problem, plan.pens)) == 6
