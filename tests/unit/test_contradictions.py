"""A problem that makes no sense is refused in words before any row is written."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from matchmaker.plan.posing.contradictions import contradictions
from matchmaker.plan.posing.layout import ProblemError, lay_out
from matchmaker.plan.posing.problem import (
    GroupKinship,
    HensApart,
    LineCarriers,
    LineGoal,
    PlanLimits,
)
from matchmaker.plan.posing.problem import TestGoal as ProofGoal
from tests.strategies_plan import larger_problem_by_seed, problem_by_seed
from tests.unit.test_plan_rows import pair, small

TEST = pair("H1", "C1", 0.0, row="test", line="", tested="C1", test_chicks=2.0)
GOAL = ProofGoal(bird="C1", pieces=((0.5, 0.0),))
KIND = small().kinds[0]
LINE = small().lines[0]
NODES = tuple((bird, at) for at, bird in enumerate(("H1", "H2", "H3", "H4", "C1", "C2")))
GROUP = GroupKinship(parents=((),) * 6, within=(0.5,) * 6, birds=NODES)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"candidates": (pair("H1", "C1", turn="late"),)}, "no set of overlapping turns: ['late']"),
        ({"kinds": (replace(KIND, turn="late"),)}, "no set of overlapping turns: ['late']"),
        ({"turns": (("", ""),)}, "turn of one set listed twice"),
        ({"kinds": (KIND, KIND)}, "pen listed twice: ('P1', '')"),
        (
            {
                "candidates": (),
                "kinds": (replace(KIND, turn="a"), replace(KIND, turn="b")),
                "turns": (("a", "b"),),
            },
            "pen P1 is free for two turns that overlap: a and b",
        ),
        ({"candidates": (TEST,)}, "no worth given for tests of C1: H1 with C1"),
        (
            {"candidates": (replace(TEST, cock="C2"),), "tests": (GOAL,)},
            "cannot test C1, who is neither",
        ),
        (
            {"candidates": (replace(TEST, line="Alder"),), "tests": (GOAL,)},
            "tests C1, so its chicks join no line",
        ),
        (
            {"candidates": (replace(TEST, value=1.0),), "tests": (GOAL,)},
            "tests C1, so its chicks join no line",
        ),
        ({"candidates": (pair("H1", "C1", line=""),)}, "no limits or goals given for line: ['']"),
        ({"tests": (GOAL, GOAL)}, "tested bird listed twice: C1"),
        ({"tests": (replace(GOAL, pieces=()),)}, "its pieces are empty"),
        ({"tests": (replace(GOAL, pieces=((float("nan"), 0.0),)),)}, "is no number"),
        ({"carriers": (LineCarriers(line="Elm", birds=("H1",)),)}, "without goals: Elm"),
        ({"carriers": (LineCarriers(line="Alder", birds=()),)}, "but no carrier in it"),
        ({"carriers": (LineCarriers(line="Alder", birds=("H1", "H1")),)}, "listed twice: H1"),
        ({"carriers": (LineCarriers(line="Alder", birds=("H1",)),) * 2}, "listed twice: Alder"),
        ({"lines": (replace(LINE, sire_share_max=0.0),)}, "line Alder: sire share must be above 0"),
        ({"lines": (replace(LINE, sure_hens_min=-1.0),)}, "line Alder: sure_hens_min must be"),
        ({"limits": PlanLimits(sire_share_max=1.5)}, "sire share must be above 0 and at most 1"),
        ({"limits": PlanLimits(eggs_max=-1.0)}, "limit eggs_max must be a number of at least 0"),
        ({"limits": PlanLimits(chicks_max=float("inf"))}, "limit chicks_max must be a number"),
        ({"limits": PlanLimits(pairs=-1)}, "limit pairs must be a number of at least 0"),
        ({"group": replace(GROUP, within=(0.5,))}, "as many nodes as Mendelian terms"),
        (
            {"group": replace(GROUP, parents=(((1, 0.5),), *GROUP.parents[1:]))},
            "node 0 has a parent that does not stand before it",
        ),
        ({"group": replace(GROUP, birds=NODES[1:])}, "no node for ['H1']"),
        ({"group": replace(GROUP, birds=(*NODES, ("H9", 9)))}, "at a node that is not there"),
        ({"group": replace(GROUP, birds=(*NODES, NODES[0]))}, "bird of the group listed twice"),
        ({"demands": (HensApart(name="odd", first="H1", second="H1"),)}, "odd: one hen named"),
    ],
)
def test_nonsense_is_refused(changes: dict[str, Any], words: str) -> None:
    problem = small(**changes)
    assert words in "; ".join(contradictions(problem))
    with pytest.raises(ProblemError):
        lay_out(problem)


def test_sound_problems_are_not() -> None:
    assert list(contradictions(small(group=GROUP, tests=(GOAL,)))) == []
    for seed in range(200):
        assert list(contradictions(problem_by_seed(seed))) == []
        assert list(contradictions(larger_problem_by_seed(seed))) == []


def test_a_line_may_be_named_only_once() -> None:
    twice = (LINE, LineGoal(line="Alder", importance=2.0, chicks_wanted=1.0))
    assert "line listed twice: Alder" in list(contradictions(small(lines=twice)))
