"""Each rule of a problem binds in the program: small problems with answers known by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest

from matchmaker.errors import NoPlanError
from matchmaker.plan.posing.problem import (
    Candidate,
    CockLimit,
    LineCarriers,
    LineGoal,
    PenKind,
    PlanLimits,
    PlanProblem,
)
from matchmaker.plan.posing.problem import TestGoal as ProofGoal
from matchmaker.plan.searching.solve import best_value, solve_plan

if TYPE_CHECKING:
    from matchmaker.plan.arithmetic.result import Solution

HENS = ("H1", "H2", "H3", "H4")
COCKS = ("C1", "C2")
EARLY_LATE = (("early",), ("late",))


def pair(hen: str, cock: str, value: float = 2.0, **more: Any) -> Candidate:
    given: dict[str, Any] = {"row": "back", "line": "Alder", "wanted": value} | more
    return Candidate(hen=hen, cock=cock, value=value, **given)


def small(**changes: Any) -> PlanProblem:
    """Four hens worth 2 with either of two cocks, a pen each for up to four."""
    problem = PlanProblem(
        candidates=tuple(pair(hen, cock) for hen in HENS for cock in COCKS),
        kinds=(PenKind(pens=("P1", "P2"), hens_max=4, hens_min=1, line="", dam_known=False),),
        cocks=tuple(CockLimit(cock=cock, hens_max=4, pens_max=1) for cock in COCKS),
        lines=(LineGoal(line="Alder", importance=1.0, chicks_wanted=100.0),),
    )
    return replace(problem, **changes)


def with_each(**fields: Any) -> tuple[Candidate, ...]:
    return tuple(replace(one, **fields) for one in small().candidates)


def in_turns(*turns: str, **changes: Any) -> PlanProblem:
    """The small problem with every pair and pen in each of these turns."""
    return small(
        candidates=tuple(replace(one, turn=t) for one in small().candidates for t in turns),
        kinds=tuple(replace(small().kinds[0], turn=t) for t in turns),
        **changes,
    )


def pairs_of(solution: Solution) -> list[Candidate]:
    return [one for pen in solution.pens for one in pen.pairs]


class TestTests:
    PIECES = ((0.5, 0.0), (0.1, 2.0))

    def problem(self, chicks: float, **changes: Any) -> PlanProblem:
        tests = tuple(
            pair(hen, "C1", 0.0, row="test", line="", tested="C1", test_chicks=chicks)
            for hen in HENS
        )
        goals = (ProofGoal(bird="C1", pieces=self.PIECES),)
        return small(**{"candidates": tests, "tests": goals} | changes)

    @pytest.mark.parametrize(
        ("chicks", "value"),
        [(1.0, 4 * 0.5 - 0.2), (5.0, 2.0 + 0.1 * 20 - 0.2), (0.05, 0.0)],
        ids=["first piece", "second piece", "not worth a pair"],
    )
    def test_tests_count_the_least_of_their_pieces(self, chicks: float, value: float) -> None:
        assert solve_plan(self.problem(chicks)).value == pytest.approx(value)

    def test_tests_and_chicks_compete_for_hens(self) -> None:
        """A hen in the line is worth 2, the first in a test 2.5, the next only 0.5 more."""
        problem = self.problem(5.0)
        problem = replace(problem, candidates=(*problem.candidates, *small().candidates))
        solution = solve_plan(problem)
        assert sum(bool(one.tested) for one in pairs_of(solution)) == 1
        assert solution.value == pytest.approx(2.45 + 3 * 1.95)
        dear = self.problem(5.0, tests=(ProofGoal(bird="C1", pieces=((0.5, 0.0),)),))
        mixed = replace(dear, candidates=(*dear.candidates, *small().candidates))
        assert best_value(mixed) == pytest.approx(4 * 2.45)

    def test_a_test_that_needs_known_dams_gets_such_a_pen_only(self) -> None:
        told_apart = tuple(replace(one, dams_known=True) for one in self.problem(1.0).candidates)
        assert best_value(self.problem(1.0, candidates=told_apart)) == 0.0
        kinds = (replace(small().kinds[0], dam_known=True),)
        found = best_value(self.problem(1.0, candidates=told_apart, kinds=kinds))
        assert found == pytest.approx(1.8)


class TestLimits:
    def test_mean_inbreeding(self) -> None:
        """Close pairs are worth more; each needs one distant pair to make up for it."""
        candidates = tuple(
            replace(one, kinship=0.1 if one.cock == "C1" else 0.0, value=3.0 - (one.cock == "C2"))
            for one in small().candidates
        )
        for most, close in ((0.1, 4), (0.05, 2), (0.03, 1), (0.0, 0)):
            limits = PlanLimits(mean_inbreeding_max=most)
            solution = solve_plan(small(candidates=candidates, limits=limits))
            assert sum(one.cock == "C1" for one in pairs_of(solution)) == close

    def test_sire_share_of_all_pairs(self) -> None:
        dearer = tuple(replace(one, value=2.0 + (one.cock == "C1")) for one in small().candidates)
        for share, most in ((1.0, 4), (0.75, 3), (0.5, 2)):
            solution = solve_plan(small(candidates=dearer, limits=PlanLimits(sire_share_max=share)))
            assert sum(one.cock == "C1" for one in pairs_of(solution)) == most

    def test_sire_share_of_a_line(self) -> None:
        """Birch's pairs do not make room for a cock in Alder."""
        birch = tuple(replace(one, row="hold", line="Birch") for one in small().candidates)
        lines = (
            replace(small().lines[0], sire_share_max=0.5),
            LineGoal(line="Birch", importance=0.01, chicks_wanted=9.0),
        )
        dearer = tuple(replace(one, value=2.0 + (one.cock == "C1")) for one in small().candidates)
        solution = solve_plan(small(candidates=(*dearer, *birch), lines=lines))
        alder = [one.cock for one in pairs_of(solution) if one.line == "Alder"]
        assert (alder.count("C1"), alder.count("C2")) == (2, 2)

    @pytest.mark.parametrize(
        ("limits", "fields", "pairs"),
        [
            (PlanLimits(chicks_max=25.0), {"chicks": 10.0}, 2),
            (PlanLimits(chicks_max=30.0), {"chicks": 10.0}, 3),
            (PlanLimits(eggs_max=5.9), {"eggs": 3.0}, 1),
            (PlanLimits(pairs=3), {}, 3),
            (PlanLimits(pairs=0), {}, 0),
        ],
        ids=["chicks", "chicks exactly", "eggs", "pairs", "no pairs"],
    )
    def test_rooms_and_numbers(
        self, limits: PlanLimits, fields: dict[str, float], pairs: int
    ) -> None:
        solution = solve_plan(small(candidates=with_each(**fields), limits=limits))
        assert len(pairs_of(solution)) == pairs

    def test_tenths_that_add_up_to_the_room_fit(self) -> None:
        """Three times 0.1 is a little more than 0.3 in binary."""
        limits = PlanLimits(chicks_max=0.3)
        solution = solve_plan(small(candidates=with_each(chicks=0.1), limits=limits))
        assert len(pairs_of(solution)) == 3

    def test_a_share_no_pair_can_keep_leaves_none_and_not_a_millionth(self) -> None:
        """A lone pair is all there is; a part of it too small to count must not be worth a bit."""
        lone = (pair("H1", "C1", 6.0),)
        assert best_value(small(candidates=lone, limits=PlanLimits(sire_share_max=0.5))) == 0.0
        lines = (replace(small().lines[0], sire_share_max=0.5),)
        assert solve_plan(small(candidates=lone, lines=lines)).value == 0.0

    def test_eggs_are_per_week_chicks_for_the_season(self) -> None:
        problem = in_turns("early", "late", turns=EARLY_LATE)
        each = tuple(replace(one, eggs=3.0, chicks=10.0) for one in problem.candidates)
        for limits, pairs in ((PlanLimits(eggs_max=6.0), 4), (PlanLimits(chicks_max=60.0), 6)):
            solution = solve_plan(replace(problem, candidates=each, limits=limits))
            assert len(pairs_of(solution)) == pairs

    def test_pairs_that_cannot_be_leave_no_plan(self) -> None:
        assert best_value(small(limits=PlanLimits(pairs=99))) is None
        with pytest.raises(NoPlanError):
            solve_plan(small(limits=PlanLimits(pairs=5)))


@pytest.mark.parametrize(
    "field", ["wanted", "wanted_cocks", "wanted_hens", "sure_cocks", "sure_hens"]
)
def test_a_minimum_of_a_line_brings_in_what_it_needs(field: str) -> None:
    """C2's pairs are worth less, but he alone gives what is asked."""

    def figures(cock: str) -> dict[str, Any]:
        second = cock == "C2"
        return {"value": 3.0 - second, "wanted": 0.0} | {field: 1.5 * second}

    candidates = tuple(replace(one, **figures(one.cock)) for one in small().candidates)
    for least, hens in ((0.0, 0), (1.5, 1), (4.5, 3)):
        minimum: dict[str, Any] = {f"{field}_min": least}
        lines = (replace(small().lines[0], **minimum),)
        solution = solve_plan(small(candidates=candidates, lines=lines))
        assert sum(one.cock == "C2" for one in pairs_of(solution)) == hens


class TestCarriers:
    def problem(self, *carriers: str) -> PlanProblem:
        """Every pair is worth 2 in Alder and 5 in Birch; C1 and C2 are Alder's."""
        birch = tuple(
            replace(one, row="other", line="Birch", value=5.0) for one in small().candidates
        )
        return small(
            candidates=(*small().candidates, *birch),
            lines=(*small().lines, replace(small().lines[0], line="Birch")),
            kinds=(replace(small().kinds[0], dam_known=True),),
            carriers=(LineCarriers(line="Alder", birds=carriers),) if carriers else (),
        )

    def test_the_last_carrier_stays_with_his_line(self) -> None:
        assert best_value(self.problem()) == pytest.approx(4 * 4.95)
        solution = solve_plan(self.problem("C1"))
        assert solution.value == pytest.approx(4 * 4.95)
        assert {one.cock for one in pairs_of(solution)} == {"C2"}

    def test_of_two_carriers_one_stays(self) -> None:
        """One cock stands by, or has one hen for his own line."""
        assert best_value(self.problem("C1", "C2")) == pytest.approx(4 * 4.95)
        both = self.problem("C1", "C2")
        busy = replace(both, cocks=tuple(replace(one, hens_max=2) for one in both.cocks))
        solution = solve_plan(busy)
        assert solution.value == pytest.approx(3 * 4.95 + 1.95)

    def test_a_carrier_hen_in_no_pair_is_kept(self) -> None:
        solution = solve_plan(self.problem("H1"))
        assert solution.value == pytest.approx(3 * 4.95 + 1.95)
        assert [one.line for one in pairs_of(solution) if one.hen == "H1"] == ["Alder"]

    def test_a_carrier_that_no_other_line_wants_makes_no_row(self) -> None:
        problem = self.problem("C1", "H9")
        assert best_value(problem) == pytest.approx(4 * 4.95)


def test_pairs_that_need_known_dams_have_no_place_without_such_a_pen() -> None:
    assert best_value(small(candidates=with_each(dams_known=True))) == 0.0
    pens = (
        PenKind(pens=("P1",), hens_max=4, hens_min=1, line="", dam_known=False),
        PenKind(pens=("P2",), hens_max=1, hens_min=1, line="", dam_known=True),
    )
    mixed = tuple(replace(one, dams_known=one.hen == "H1") for one in small().candidates)
    solution = solve_plan(small(candidates=mixed, kinds=pens))
    (place,) = [pen.pen for pen in solution.pens for one in pen.pairs if one.hen == "H1"]
    assert place == "P2"
    assert solution.value == pytest.approx(4 * 1.95)
