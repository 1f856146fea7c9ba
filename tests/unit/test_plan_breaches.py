"""The arithmetic that checks a plan names every rule it breaks, with the amounts."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from matchmaker.plan.arithmetic.bounds import high, is_above, is_below, low
from matchmaker.plan.arithmetic.group_arithmetic import group_kinship_of, matings_of
from matchmaker.plan.arithmetic.result import PlannedPen
from matchmaker.plan.arithmetic.verify import evaluate
from matchmaker.plan.posing.problem import (
    Candidate,
    GroupKinship,
    HensApart,
    HensTogether,
    LineCarriers,
    PlanLimits,
    PlanProblem,
)
from matchmaker.plan.posing.problem import TestGoal as ProofGoal
from tests.oracle.plan_enumeration import best_by_enumeration, kinship_of, plans_by_value
from tests.strategies_plan import problem_by_seed
from tests.strategies_rules import with_group
from tests.unit.test_plan_rows import COCKS, EARLY_LATE, HENS, in_turns, pair, small

FIGURES: dict[str, Any] = {"kinship": 0.1, "chicks": 10.0, "eggs": 3.0, "wanted_cocks": 0.5}
OWN = tuple(pair(hen, "C1", **FIGURES) for hen in HENS[:3])
OTHER = pair("H4", "C2", **FIGURES)
LINE = small().lines[0]


def plan(*pairs: Candidate) -> tuple[PlannedPen, ...]:
    """One pen for each cock and turn."""
    held: dict[tuple[str, str], list[Candidate]] = {}
    for one in pairs:
        held.setdefault((one.cock, one.turn), []).append(one)
    return tuple(
        PlannedPen(pen=f"P{COCKS.index(cock) + 1}", cock=cock, pairs=tuple(own), turn=turn)
        for (cock, turn), own in held.items()
    )


def problem(**changes: Any) -> PlanProblem:
    candidates = tuple(replace(one, **FIGURES) for one in small().candidates)
    return replace(small(candidates=candidates), **changes)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"limits": PlanLimits(mean_inbreeding_max=0.09)}, "inbreeding is 0.1000, at most 0.09"),
        ({"limits": PlanLimits(sire_share_max=0.6)}, "C1 has 3 of 4 pairs (75%), at most 60%"),
        ({"limits": PlanLimits(chicks_max=39.0)}, "40.0 chicks are to be raised, at most 39"),
        ({"limits": PlanLimits(eggs_max=11.5)}, "12.0 eggs are to be set a week, at most 11.5"),
        ({"limits": PlanLimits(pairs=5)}, "the plan has 4 pairs, 5 are asked for"),
        (
            {"lines": (replace(LINE, sire_share_max=0.5),)},
            "C1 has 3 of 4 pairs of line Alder (75%), at most 50%",
        ),
        (
            {"lines": (replace(LINE, wanted_cocks_min=2.5),)},
            "line Alder expects 2.00 wanted sons, at least 2.5",
        ),
        (
            {"lines": (replace(LINE, wanted_hens_min=1.0),)},
            "line Alder expects 0.00 wanted daughters, at least 1",
        ),
        (
            {"lines": (replace(LINE, sure_cocks_min=1.0),)},
            "line Alder expects 0.00 wanted sons on the safe side (for its certainty), at least 1",
        ),
        (
            {"lines": (replace(LINE, sure_hens_min=1.0),)},
            (
                "line Alder expects 0.00 wanted daughters on the safe side (for its certainty), "
                "at least 1"
            ),
        ),
    ],
)
def test_each_sum_is_named_with_its_amount(changes: dict[str, Any], words: str) -> None:
    assert evaluate(problem(), plan(*OWN, OTHER)).broken == ()
    (found,) = evaluate(problem(**changes), plan(*OWN, OTHER)).broken
    assert words in found


@pytest.mark.parametrize(
    "limits",
    [
        PlanLimits(mean_inbreeding_max=0.1),
        PlanLimits(sire_share_max=0.75),
        PlanLimits(chicks_max=40.0),
        PlanLimits(eggs_max=12.0),
        PlanLimits(pairs=4),
    ],
)
def test_a_limit_just_met_is_kept(limits: PlanLimits) -> None:
    assert evaluate(problem(limits=limits), plan(*OWN, OTHER)).broken == ()


def test_carriers_lost_to_other_lines_are_named() -> None:
    away = tuple(replace(one, row="other", line="Birch") for one in OWN)
    two = problem(
        candidates=(*problem().candidates, *away),
        lines=(LINE, replace(LINE, line="Birch")),
        carriers=(LineCarriers(line="Alder", birds=("C1", "H1")),),
    )
    (found,) = evaluate(two, plan(*away)).broken
    assert found == "line Alder loses all its 2 carriers to other lines: C1, H1"
    last = replace(two, carriers=(LineCarriers(line="Alder", birds=("H1",)),))
    (found,) = evaluate(last, plan(*away)).broken
    assert found == "line Alder loses its last carrier to other lines: H1"
    assert evaluate(two, plan(*away[1:])).broken == ()
    home = PlannedPen(pen="P2", cock="C1", pairs=(OWN[0],))
    assert not any("carrier" in one for one in evaluate(two, (*plan(*away[1:]), home)).broken)


def test_a_test_pair_takes_a_carrier_away_too() -> None:
    test = pair("H1", "C1", 0.0, row="test", line="", tested="C1", test_chicks=2.0)
    with_test = problem(
        candidates=(*problem().candidates, test),
        tests=(ProofGoal(bird="C1", pieces=((0.5, 0.0),)),),
        carriers=(LineCarriers(line="Alder", birds=("H1",)),),
    )
    score = evaluate(with_test, plan(test))
    assert "line Alder loses its last carrier to other lines: H1" in score.broken
    assert score.value == pytest.approx(0.5 * 2 - 0.05)


class TestTurns:
    def both(self, **changes: Any) -> PlanProblem:
        return replace(in_turns("early", "late", turns=EARLY_LATE), **changes)

    def pairs(self, hen: str = "H1", cock: str = "C1") -> tuple[Candidate, ...]:
        return tuple(pair(hen, cock, turn=turn) for turn in ("early", "late"))

    def test_one_after_the_other_is_sound(self) -> None:
        assert evaluate(self.both(), plan(*self.pairs())).broken == ()

    def test_at_once_is_not(self) -> None:
        """Told once, though both sets hold the two turns."""
        turns = (("early", "late"), ("late", "early"))
        busy = self.both(turns=turns, cocks=tuple(replace(c, hens_max=1) for c in small().cocks))
        broken = evaluate(busy, plan(*self.pairs())).broken
        assert broken == (
            "H1 has 2 places",
            "C1 has 2 pens, at most 1",
            "C1 has 2 hens, at most 1",
        )

    def test_a_pen_of_another_turn_is_not_open(self) -> None:
        early = self.both(kinds=(replace(small().kinds[0], turn="early"),))
        (found,) = evaluate(early, plan(*self.pairs())).broken
        assert found == "pen P1 is not open during late"

    def test_a_pair_stands_in_the_turn_of_its_pen(self) -> None:
        wrong = PlannedPen(pen="P1", cock="C1", pairs=(self.pairs()[1],), turn="early")
        (found,) = evaluate(self.both(), (wrong,)).broken
        assert found == "pen P1 stands during early, H1 during late"

    def test_a_pair_is_allowed_in_its_turn_only(self) -> None:
        early = self.both(
            candidates=tuple(one for one in self.both().candidates if one.turn == "early")
        )
        (found,) = evaluate(early, plan(*self.pairs())).broken
        assert found == "not an allowed pair: H1 with C1 (back) during late"

    def test_eggs_are_counted_in_each_turn(self) -> None:
        each = tuple(replace(one, eggs=3.0) for one in self.both().candidates)
        pairs = tuple(replace(one, eggs=3.0) for one in self.pairs())
        limited = self.both(candidates=each, limits=PlanLimits(eggs_max=3.0))
        assert evaluate(limited, plan(*pairs)).broken == ()
        tighter = replace(limited, limits=PlanLimits(eggs_max=2.0))
        assert evaluate(tighter, plan(*pairs)).broken == (
            "3.0 eggs are to be set a week (early), at most 2",
            "3.0 eggs are to be set a week (late), at most 2",
        )

    def test_hens_apart_may_follow_each_other_with_one_cock(self) -> None:
        wish = (HensApart(name="apart", first="H1", second="H2"),)
        follow = (pair("H1", "C1", turn="early"), pair("H2", "C1", turn="late"))
        assert evaluate(self.both(demands=wish), plan(*follow)).broken == ()
        at_once = self.both(demands=wish, turns=(("early", "late"),))
        assert "wish not kept: apart" in evaluate(at_once, plan(*follow)).broken

    def test_hens_together_share_every_turn(self) -> None:
        wish = (HensTogether(name="together", first="H1", second="H2"),)
        early = plan(pair("H1", "C1", turn="early"), pair("H2", "C1", turn="early"))
        assert evaluate(self.both(demands=wish), early).broken == ()
        more = plan(pair("H1", "C1", turn="early"), *self.pairs("H2"))
        assert evaluate(self.both(demands=wish), more).broken == ("wish not kept: together",)


def test_a_pair_that_needs_known_dams_in_another_pen_is_named() -> None:
    told_apart = replace(OWN[0], dams_known=True)
    known = problem(candidates=(told_apart,))
    (found,) = evaluate(known, plan(told_apart)).broken
    assert found == "pen P1: the eggs of H1 must be told apart and are not"


def test_group_kinship_is_that_of_the_whole_matrix() -> None:
    tried = 0
    for seed in range(60):
        grouped = with_group(problem_by_seed(seed), seed, priced=False)
        group = grouped.group
        assert group is not None
        for pairs in plans_by_value(replace(grouped, group=None))[:5]:
            found = group_kinship_of(group, matings_of(pairs), len(pairs))
            assert found == pytest.approx(kinship_of(group, pairs), abs=1e-12)
            tried += bool(pairs)
    assert tried > 50


def test_group_kinship_above_its_limit_is_named() -> None:
    """One cock with three hens, all founders: (9 + 3) / 36 of self-kinship ½."""
    group = GroupKinship(
        parents=((),) * 6,
        within=(0.5,) * 6,
        birds=tuple((bird, at) for at, bird in enumerate((*HENS, *COCKS))),
    )
    most = (9 + 3) / 36 * 0.5
    kept = problem(group=replace(group, limit=most))
    assert evaluate(kept, plan(*OWN)).broken == ()
    (found,) = evaluate(problem(group=replace(group, limit=0.16)), plan(*OWN)).broken
    assert found == "the parents' mean kinship is 0.16667, at most 0.16"


def test_a_price_on_kinship_is_no_part_of_the_value_printed() -> None:
    """The enumeration takes it off, the value of a plan does not."""
    for seed in range(200):
        priced = with_group(problem_by_seed(seed), seed, priced=True)
        best = best_by_enumeration(priced)
        if best is None or priced.limits.pairs == 0:
            continue
        plain = best_by_enumeration(replace(priced, group=None))
        assert plain is not None
        assert best < plain
        return
    pytest.fail("no seed has a plan")


@pytest.mark.parametrize("bound", [0.0, 0.5, 1.0, 180.0, 1e5])
def test_rows_and_checks_meet_a_bound_alike(bound: float) -> None:
    """What a row lets through, and a solver's own noise on top, passes the check."""
    noise = 1e-6 * max(1.0, bound)
    assert bound < high(bound) < bound + noise / 100
    assert not is_above(high(bound) + noise, bound)
    assert is_above(bound + 3 * noise, bound)
    assert bound - noise / 100 < low(bound) < bound
    assert not is_below(low(bound) - noise, bound)
    assert is_below(bound - 3 * noise, bound)
