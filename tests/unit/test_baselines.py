"""Pens filled by eye, by rotation of lines and at random, and what of their eggs can be set."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from matchmaker import verbs
from matchmaker.ahead.baselines import BASELINES, best_to_best, rotation_of_lines
from matchmaker.ahead.breeding import part_set
from matchmaker.ahead.penned import Pens
from matchmaker.plan.arithmetic.result import PlannedPen
from matchmaker.plan.posing.pose import pose_problem
from matchmaker.plan.posing.problem import (
    Candidate,
    CockLimit,
    PenKind,
    PlanLimits,
    PlanProblem,
)
from tests.builders import HOME, HOME_SEEN, bird, chick, cock, dna, hen, judged
from tests.cli.run import EXAMPLES_FOLDER
from tests.keepers_flocks import breaches

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

    from matchmaker.ahead.baselines import Baseline
    from matchmaker.pairs.table import PairTable
    from tests.builders import Row

HALF = "sussex:0.5|araucana:0.5"
TRAIT = '[traits.back]\ndirection = "up"\nweight = 1.0\n'


def filled(table: PairTable, way: Baseline = best_to_best, seed: int = 0) -> tuple[PlannedPen, ...]:
    return way(table, pose_problem(table), np.random.default_rng(seed))


def told(pens: Sequence[PlannedPen]) -> dict[str, tuple[str, list[str]]]:
    """Cock and hens of each pen."""
    return {pen.pen: (pen.cock, [pair.hen for pair in pen.pairs]) for pen in pens}


def backs(**scores: int) -> list[Row]:
    return [{"bird": band, "date": "2026-11-01", "back": str(n)} for band, n in scores.items()]


def pens(*rows: str) -> list[Row]:
    """Pens from "label places", with other cells after."""
    found: list[Row] = []
    for row in rows:
        label, places, *cells = row.split()
        found.append({"pen": label, "hens_max": places, **dict(c.split("=") for c in cells)})
    return found


PURE = (*(cock(f"C{at}") for at in range(3)), *(hen(f"H{at}") for at in range(5)))
SCORED = backs(C0=40, C1=60, C2=50, H0=40, H1=41, H2=90, H3=80, H4=70)


def test_the_best_hens_go_to_the_best_cock(tmp_path: Path) -> None:
    table = judged(tmp_path, PURE, TRAIT, scores=SCORED, pens=pens("1 2", "2 2"))
    assert told(filled(table)) == {"1": ("C1", ["H2", "H3"]), "2": ("C2", ["H1", "H4"])}


def test_his_pen_is_that_which_holds_most_of_his_hens(tmp_path: Path) -> None:
    """A pen kept for the line comes first; a cock of six hens needs no pen for ten."""
    table = judged(tmp_path, PURE, TRAIT, scores=SCORED, pens=pens("1 2", "2 9", "3 10", "4 1"))
    assert told(filled(table))["2"] == ("C1", [f"H{at}" for at in range(5)])
    kept = pens("1 2 line=Pure", "2 9")
    table = judged(tmp_path / "kept", PURE, TRAIT, scores=SCORED, pens=kept)
    assert told(filled(table))["1"] == ("C1", ["H2", "H3"])


def test_too_few_hens_make_no_pen(tmp_path: Path) -> None:
    table = judged(tmp_path, PURE, TRAIT, scores=SCORED, pens=pens("1 4", "2 4 hens_min=2"))
    for way in BASELINES.values():
        assert list(told(filled(table, way))) == ["1"]


def test_equals_are_settled_by_lot(tmp_path: Path) -> None:
    table = judged(tmp_path, PURE, pens=pens("1 2", "2 2"))
    found = {str(told(filled(table, seed=seed))) for seed in range(8)}
    assert len(found) > 3
    assert told(filled(table, seed=5)) == told(filled(table, seed=5))


def test_lines_take_turns_the_most_important_first(tmp_path: Path) -> None:
    settings = TRAIT + "[lines.Alder]\nimportance = 2.0\n"
    birds = (*HOME, cock("SD"), hen("SI"))
    scores = backs(SC=90, SD=80, AC=50, SH=60, SI=70, AH=50)
    table = judged(
        tmp_path, birds, settings, seen=HOME_SEEN, scores=scores, pens=pens("1 1", "2 1", "3 1")
    )
    found = filled(table)
    assert told(found) == {"1": ("SC", ["AH"]), "2": ("SD", ["SI"]), "3": ("AC", ["SH"])}
    assert [pen.pairs[0].line for pen in found] == ["Alder", "Pure", "Alder"]


def test_a_pair_that_the_rules_reject_has_its_own_figures(tmp_path: Path) -> None:
    """A cock that may carry by his dam's look, though the test of his chicks says he does not."""
    birds = (hen("AB", "Alder", HALF, O="blue"), cock("SC"), hen("SH"))
    son = chick("AS", "cock", "SC", "AB", "Alder")
    seen = [{"hen": "SH", "cock": "AS", "locus": "O", "what": "9 white", "how": "report"}]
    table = judged(tmp_path, (*birds, son), seen=seen, pens=pens("1 1", "2 1"))
    assert ("SH", "AS") not in {(pair.hen, pair.cock) for pair in table.allowed}
    found = {pen.cock: pen.pairs[0] for pen in filled(table)}
    assert found["AS"].hen == "SH"
    assert found["AS"].row == "Alder cocks"
    assert 0 < found["AS"].wanted < 1


def backcross(season: int) -> tuple[str, list[Row]]:
    """Three lines of one hen, and three sires' sons of the recurrent breed."""
    top = f'season = {season}\nrecurrent = "sussex"\ntarget = {{O = 2}}\n'
    old = {"hatched": f"{season - 3}-04-01"}
    birds: list[Row] = [
        hen(f"{line[0]}H", line, HALF, **old) for line in ("Alder", "Birch", "Cedar")
    ]
    for at in range(3):
        birds += [cock(f"S{at}", status="sold", **old), hen(f"P{at}", status="sold", **old)]
        birds += [
            bird(
                f"Y{at}{n}",
                "cock",
                "Pure",
                sire=f"S{at}",
                dam=f"P{at}",
                hatched=f"{season - n}-04-01",
            )
            for n in (1, 2)
        ]
    return top, birds


def rotated(path: Path, season: int) -> dict[str, str]:
    """The cock that each line's hen gets."""
    top, birds = backcross(season)
    seen = [dna(f"{letter}H", "O", 1) for letter in "ABC"]
    table = judged(path / str(season), birds, "", top, seen=seen, pens=pens("1 1", "2 1", "3 1"))
    return {pen.pairs[0].line: pen.cock for pen in filled(table, rotation_of_lines)}


def test_families_of_cocks_move_on_from_line_to_line(tmp_path: Path) -> None:
    """The youngest of each family serves; after as many seasons as families they are round."""
    found = [rotated(tmp_path, season) for season in range(2028, 2032)]
    assert found[0] == {"Alder": "Y01", "Birch": "Y11", "Cedar": "Y21"}
    assert found[1] == {"Alder": "Y11", "Birch": "Y21", "Cedar": "Y01"}
    assert found[2] == {"Alder": "Y21", "Birch": "Y01", "Cedar": "Y11"}
    assert found[3] == found[0]


def test_a_circle_of_lines_is_the_same_each_season_and_the_oldest_hens_go_first(
    tmp_path: Path,
) -> None:
    lines = ("Alder", "Birch", "Cedar")
    birds = [
        *(cock(f"{line[0]}C", line, HALF) for line in lines),
        *(hen(f"{line[0]}1", line, HALF, hatched="2024-04-01") for line in lines),
        *(hen(f"{line[0]}2", line, HALF, hatched="2023-04-01") for line in lines),
    ]
    settings = "".join(f'[lines.{line}]\nstep = "intercross"\n' for line in lines)
    seen = [dna(row["bird"], "O", 1) for row in birds]
    for season in (2027, 2028):
        top = f'season = {season}\nrecurrent = "sussex"\ntarget = {{O = 2}}\n'
        table = judged(
            tmp_path / str(season), birds, settings, top, seen=seen, pens=pens("1 1", "2 1", "3 1")
        )
        assert told(filled(table, rotation_of_lines)) == {
            "1": ("CC", ["A2"]),
            "2": ("AC", ["B2"]),
            "3": ("BC", ["C2"]),
        }


def test_a_line_of_cocks_alone_goes_to_the_hens_family_by_family(tmp_path: Path) -> None:
    old = {"hatched": "2024-04-01"}
    birds = [
        cock("AC", "Alder", HALF),
        *(cock(f"S{at}", status="sold", **old) for at in range(2)),
        hen("P", status="sold", **old),
        *(bird(f"H{at}", "hen", "Pure", sire=f"S{at % 2}", dam="P") for at in range(4)),
    ]
    hens = []
    for season in (2027, 2028):
        top = f'season = {season}\nrecurrent = "sussex"\ntarget = {{O = 2}}\n'
        table = judged(
            tmp_path / str(season), birds, "", top, seen=[dna("AC", "O", 1)], pens=pens("1 2")
        )
        hens.append(told(filled(table, rotation_of_lines))["1"])
    assert sorted(hens) == [("AC", ["H0", "H2"]), ("AC", ["H1", "H3"])]


@pytest.fixture(scope="module", params=["holm-fen", "skarn-farm", "tarn-croft"])
def example(request: pytest.FixtureRequest) -> PairTable:
    name: str = request.param
    return verbs.pairs(EXAMPLES_FOLDER / name)


@pytest.mark.parametrize("way", BASELINES)
def test_every_way_fills_the_pens_of_the_examples(example: PairTable, way: str) -> None:
    problem = pose_problem(example)
    found = BASELINES[way](example, problem, np.random.default_rng(1))
    assert breaches(problem, found, example) == ()
    assert len(found) >= 5
    assert sum(len(pen.pairs) for pen in found) >= 2 * len(found)
    lines = {pair.line for pen in found for pair in pen.pairs}
    if way != "random within the rules":
        assert lines == {row.chicks for row in example.crossings}
    assert 0 < part_set(pairs_in(found), problem.turns, problem.limits) <= 1


@pytest.mark.parametrize("way", BASELINES)
def test_without_pens_or_pairs_there_are_none(tmp_path: Path, way: str) -> None:
    table = judged(tmp_path, PURE, pens=pens("1 4 open=no"))
    assert filled(table, BASELINES[way]) == ()
    table = judged(tmp_path / "hens", PURE[3:])
    assert filled(table, BASELINES[way]) == ()


def pair(
    hen_band: str, cock_band: str, turn: str = "", chicks: float = 0.0, eggs: float = 0.0
) -> Candidate:
    return Candidate(
        hen=hen_band,
        cock=cock_band,
        row="",
        line="",
        value=1,
        wanted=1,
        turn=turn,
        chicks=chicks,
        eggs=eggs,
    )


def in_turns(*turns: str, together: tuple[tuple[str, ...], ...], pens_max: int = 1) -> PlanProblem:
    return PlanProblem(
        candidates=(),
        kinds=tuple(
            PenKind(pens=("1",), hens_max=2, hens_min=0, line="", dam_known=False, turn=turn)
            for turn in turns
        ),
        cocks=(CockLimit(cock="C", hens_max=3, pens_max=pens_max),),
        lines=(),
        turns=together,
    )


def test_birds_may_be_used_again_only_when_turns_do_not_overlap() -> None:
    apart = Pens(in_turns("a", "b", together=(("a",), ("b",))))
    at_once = Pens(in_turns("a", "b", together=(("a", "b"),)))
    for pens_ in (apart, at_once):
        assert pens_.fill(pens_.pens[0], [pair("H", "C", "a")])
    assert apart.fill(apart.pens[1], [pair("H", "C", "b")])
    assert not at_once.fill(at_once.pens[1], [pair("I", "C", "b")])


def test_a_cock_of_several_pens_has_no_more_hens_for_it() -> None:
    pens_ = Pens(in_turns("a", "b", together=(("a", "b"),), pens_max=2))
    first, second = pens_.pens
    assert len(pens_.fill(first, [pair(f"H{at}", "C", "a") for at in range(3)])) == 2
    assert len(pens_.fill(second, [pair(f"I{at}", "C", "b") for at in range(3)])) == 1
    assert not pens_.fits(first, pair("J", "C", "a"))
    assert pens_.places(first, "C") == 2
    assert pens_.places(first, "nobody") == 0
    assert not pens_.fits(first, pair("J", "nobody", "a"))


def test_the_scarcer_of_incubator_and_room_says_what_is_set() -> None:
    problem = in_turns("a", "b", "c", together=(("a", "b"), ("c",)))
    chosen = (
        pair("H", "C", "a", chicks=10.0, eggs=8.0),
        pair("I", "C", "b", chicks=10.0, eggs=4.0),
        pair("J", "C", "c", chicks=5.0, eggs=9.0),
    )
    filled_ = [PlannedPen(pen="1", cock="C", pairs=(one,), turn=one.turn) for one in chosen]
    for limits, part in (
        (PlanLimits(), 1.0),
        (PlanLimits(chicks_max=20), 0.8),
        (PlanLimits(eggs_max=6), 0.5),
        (PlanLimits(eggs_max=9, chicks_max=100), 0.75),
        (PlanLimits(eggs_max=100, chicks_max=25), 1.0),
    ):
        assert part_set(pairs_in(filled_), problem.turns, limits) == pytest.approx(part)
    assert part_set([], problem.turns, problem.limits) == 1.0


def pairs_in(pens: Iterable[PlannedPen]) -> list[Candidate]:
    """All pairs in some pens."""
    return [pair for pen in pens for pair in pen.pairs]
