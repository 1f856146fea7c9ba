"""Test matings: whom they settle, what their chicks tell, and what that is worth."""

from __future__ import annotations

from itertools import product
from math import comb, prod
from typing import TYPE_CHECKING

import numpy as np
import pytest

from matchmaker.genetics.genotypes.trial import ways_to_judge
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.pairs.crossings import Purpose
from matchmaker.pairs.rules import Rule
from matchmaker.pairs.trials import least_concave
from matchmaker.plan.posing.pose import pose_problem
from matchmaker.report.wording import crossing_sentence, rule_sentence
from matchmaker.tables.records import Sex
from tests.builders import checked, chick, cock, dna, hen, judged, of_kind, only, rules, sole

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.posing.problem import Candidate, PlanProblem
    from tests.builders import Row

LAV = 'season = 2027\nrecurrent = "sussex"\ntarget = {lav = 2}\n'
GONE = {"status": "dead", "left_on": "2026-12-01"}
BIRDS = (
    cock("L1", "Lavender", "donor"),
    hen("L2", "Lavender", "donor"),
    hen("S0", **GONE),
    cock("SC"),
    hen("SH"),
    cock("F0", "Alder", "sussex:0.5|donor:0.5", **GONE),
    chick("A1", "cock", "F0", "S0", "Alder"),
    chick("A2", "hen", "F0", "S0", "Alder"),
)
"""Pure lavender birds; black A1 and A2 out of a carrier carry it, hidden, with one half."""

SEEN = (dna("F0", "lav", 1), dna("S0", "lav", 0))
COCKS_TESTED = (
    '[[matings]]\nname = "proof"\nhens = "Lavender"\ncocks = "Alder"\npurpose = "test"\n'
    'tests = "cock"\n'
)
HENS_TESTED = (
    '[[matings]]\nname = "proof"\nhens = "Alder"\ncocks = "Lavender"\npurpose = "test"\n'
    'tests = "hen"\n'
)
BACK = (
    '[[matings]]\nname = "back"\nhens = "Pure"\ncocks = "Alder"\nchicks = "Alder"\n'
    'purpose = "backcross"\nkeep = {lav = [1]}\n'
)


def flock(
    path: Path,
    settings: str = COCKS_TESTED,
    birds: Sequence[Row] = BIRDS,
    seen: Sequence[Row] = SEEN,
) -> PairTable:
    return judged(path, birds, settings, LAV, seen=seen)


def posed(path: Path, settings: str = COCKS_TESTED) -> PlanProblem:
    return pose_problem(flock(path, settings))


def test_a_test_row_keeps_no_chicks_and_feeds_no_line(tmp_path: Path) -> None:
    table = flock(tmp_path)
    pair = only(table, "L2", "A1")
    assert pair.crossing is not None
    assert pair.crossing.purpose is Purpose.TEST
    assert (pair.allowed, pair.line, pair.value, pair.worth) == (True, None, 0.0, None)
    assert (pair.wanted, pair.wanted_chance) == (0.0, None)
    assert "" not in table.needs


def test_what_the_chicks_tell(tmp_path: Path) -> None:
    """Even odds; half the chicks of a carrier are lavender: (1/2)^m of the doubt's tail is left."""
    trial = only(flock(tmp_path), "L2", "A1").trial
    assert trial is not None
    assert (trial.bird, trial.locus, trial.asked, trial.judged) == ("A1", "lav", (1, 2), 1.0)
    assert trial.mating.chance == pytest.approx(0.5)
    for chicks in range(8):
        left = 2**-chicks
        assert trial.mating.removed(chicks) == pytest.approx(1 - 2 * left / (1 + left))


def test_it_becomes_a_candidate_without_value_and_a_goal(tmp_path: Path) -> None:
    problem = posed(tmp_path)
    (one,) = problem.candidates
    assert (one.line, one.value, one.wanted, one.tested) == ("", 0.0, 0.0, "A1")
    assert one.test_chicks == one.chicks > 10
    assert not one.dams_known
    (goal,) = problem.tests
    assert goal.bird == "A1"
    worth = [min(start + slope * chicks for slope, start in goal.pieces) for chicks in range(20)]
    assert worth[0] == 0.0
    assert worth[19] == pytest.approx(5.0, abs=0.01)
    slopes = [slope for slope, _ in goal.pieces]
    assert slopes == sorted(slopes, reverse=True)


def test_a_hen_is_tested_where_her_eggs_are_told_apart(tmp_path: Path) -> None:
    (one,) = posed(tmp_path, HENS_TESTED).candidates
    assert (one.tested, one.dams_known) == ("A2", True)


@pytest.mark.parametrize(("worth", "factor"), [("worth = 2\n", 0.4), ("worth = 10\n", 2.0)])
def test_the_worth_of_a_test_is_the_rows(tmp_path: Path, worth: str, factor: float) -> None:
    usual, other = posed(tmp_path / "a"), posed(tmp_path / "b", COCKS_TESTED + worth)
    for (slope, start), (new_slope, new_start) in zip(
        usual.tests[0].pieces, other.tests[0].pieces, strict=True
    ):
        assert (new_slope, new_start) == pytest.approx((factor * slope, factor * start))


def test_a_proven_bird_has_nothing_to_be_tested_for(tmp_path: Path) -> None:
    pair = only(flock(tmp_path, seen=(*SEEN, dna("A1", "lav", 1))), "L2", "A1")
    broken = sole(pair, Rule.NOTHING_TO_TEST)
    assert rule_sentence(broken) == "what A1 carries of lav is known: no test chicks needed"


def test_a_mate_whose_chicks_look_alike_tells_nothing(tmp_path: Path) -> None:
    """With a hen that is free of it every chick is black."""
    row = COCKS_TESTED.replace('"Lavender"', '"Pure"')
    broken = sole(only(flock(tmp_path, row), "SH", "A1"), Rule.NOTHING_TO_TEST)
    assert rule_sentence(broken) == (
        "test chicks of A1 with SH would look the same whatever A1 carries of lav"
    )


def test_test_chicks_may_be_inbred_for_none_is_kept(tmp_path: Path) -> None:
    """A2 by her full brother."""
    row = HENS_TESTED.replace('"Lavender"', '"Alder"')
    assert rules(only(flock(tmp_path, row), "A2", "A1")) == []


def test_chicks_that_would_die_are_no_test(tmp_path: Path) -> None:
    top = 'season = 2027\nrecurrent = "sussex"\ntarget = {Cp = 1}\n'
    birds = [cock("K1", "Short", "creeper"), chick("K2", "hen", "K0", "S0", "Short")]
    birds += [cock("K0", "Short", "creeper", **GONE), hen("S0", **GONE)]
    row = '[[matings]]\nhens = "Short"\ncocks = "Short"\npurpose = "test"\ntests = "hen"\n'
    seen = [dna("K0", "Cp", 1), dna("K1", "Cp", 1), dna("S0", "Cp", 0)]
    assert Rule.LETHAL_CHICKS in rules(
        only(judged(tmp_path, birds, row, top, seen=seen), "K2", "K1")
    )


def test_keep_says_what_is_asked(tmp_path: Path) -> None:
    """Of a certain carrier it is asked whether it has two copies, unless keep asks otherwise."""
    half = hen("S0", "Alder", "sussex:0.5|donor:0.5", **GONE)
    birds = [half if row["bird"] == "S0" else row for row in BIRDS]
    seen = [dna("F0", "lav", 1), dna("S0", "lav", 1)]
    seen.append({"bird": "A1", "locus": "lav", "what": "carrier"})
    two = only(flock(tmp_path / "a", birds=birds, seen=seen), "L2", "A1").trial
    assert two is not None
    assert two.asked == (2,)
    assert two.mating.chance == pytest.approx(1 / 3)
    kept = COCKS_TESTED + "keep = {lav = [1, 2]}\n"
    sole(only(flock(tmp_path / "b", kept, birds, seen), "L2", "A1"), Rule.NOTHING_TO_TEST)


def test_a_row_with_a_worth_of_its_own_counts_so_much_more(tmp_path: Path) -> None:
    seen = (*SEEN, dna("A1", "lav", 1))
    usual = only(flock(tmp_path / "a", BACK, seen=seen), "SH", "A1")
    double = only(flock(tmp_path / "b", BACK + "worth = 2\n", seen=seen), "SH", "A1")
    assert usual.worth is not None
    assert double.worth == pytest.approx(2 * usual.worth)
    assert double.value == pytest.approx(2 * (usual.value or 0.0), abs=0.001)


def test_a_worse_mate_gives_fewer_chicks_that_tell(tmp_path: Path) -> None:
    """A hen that hides one copy shows half as often what A1 has; she may not have it at all."""
    birds = (*BIRDS, hen("L3", "Lavender", "sussex:0.5|donor:0.5"))
    seen = (*SEEN, dna("L3", "lav", 1))
    problem = pose_problem(flock(tmp_path, birds=birds, seen=seen))
    found: dict[str, Candidate] = {one.hen: one for one in problem.candidates}
    assert found["L2"].test_chicks == found["L2"].chicks
    table = flock(tmp_path / "again", birds=birds, seen=seen)
    ratio = [only(table, band, "A1").trial.per_chick for band in ("L3", "L2")]  # type: ignore[union-attr]
    assert found["L3"].test_chicks == pytest.approx(found["L3"].chicks * ratio[0] / ratio[1])
    assert 0 < ratio[0] < ratio[1]


def test_chicks_of_one_sex_tell_of_a_gene_on_the_z(tmp_path: Path) -> None:
    """By a black hen a chocolate carrier's daughters alone show it."""
    top = 'season = 2027\nrecurrent = "sussex"\ntarget = {choc = 2}\n'
    birds = [cock("F0", "Alder", "sussex:0.5|donor:0.5", **GONE), hen("S0", **GONE), hen("SH")]
    birds += [chick("A1", "cock", "F0", "S0", "Alder")]
    row = COCKS_TESTED.replace("Lavender", "Pure")
    table = judged(tmp_path, birds, row, top, seen=[dna("F0", "choc", 1), dna("S0", "choc", 0)])
    trial = only(table, "SH", "A1").trial
    assert trial is not None
    assert (trial.mating.judged, trial.judged) == (Sex.HEN, 0.5)
    (one,) = pose_problem(table).candidates
    assert one.test_chicks == pytest.approx(one.chicks / 2)


def test_a_test_row_is_said_in_a_sentence(tmp_path: Path) -> None:
    (row,) = flock(tmp_path / "a").crossings
    start = (
        "Lavender hens × Alder cocks: test chicks, none of them kept; on trial are the cocks, for "
    )
    assert crossing_sentence(row) == start + "lav"
    (row,) = flock(tmp_path / "b", COCKS_TESTED + "keep = {lav = [2]}\n").crossings
    assert crossing_sentence(row) == start + "2 copies of lav"


def test_chicks_of_a_test_row_that_name_a_line_are_doubted(tmp_path: Path) -> None:
    settings = COCKS_TESTED + 'chicks = "Alder"\n'
    (doubt,) = of_kind(checked(tmp_path, BIRDS, settings, LAV, seen=SEEN).doubts, "idle-setting")
    assert doubt.problem == "the chicks of a test mating join no line: none of them is kept"


def test_test_rows_alone_are_doubted(tmp_path: Path) -> None:
    """They take the place of the derived rows: no chick is kept."""
    (doubt,) = of_kind(
        checked(tmp_path / "a", BIRDS, COCKS_TESTED, LAV, seen=SEEN).doubts, "tests-alone"
    )
    assert doubt.file == "matchmaker.toml"
    both = COCKS_TESTED + (
        '[[matings]]\nhens = "Alder"\ncocks = "Alder"\nchicks = "Alder"\npurpose = "hold"\n'
    )
    found = checked(tmp_path / "b", BIRDS, both, LAV, seen=SEEN)
    assert of_kind(found.doubts, "tests-alone") == []


def slow_removed(joint: dict[tuple[int, int], float], asked: set[int], chicks: int) -> float:
    """Share removed, chick by chick over every row of looks; the cock is tested, by copies."""
    shown = {(hen, cock): (hen / 2) * (cock / 2) for hen, cock in joint}  # both gametes recessive
    left = 0.0
    for looks in product((0, 1), repeat=chicks):
        weight = {False: 0.0, True: 0.0}
        for pair, chance in joint.items():
            p = shown[pair]
            seen = prod(p if look else 1 - p for look in looks)
            weight[pair[1] in asked] += chance * seen
        total = sum(weight.values())
        left += weight[True] * weight[False] / total if total else 0.0
    prior = sum(p for pair, p in joint.items() if pair[1] in asked)
    return 1 - left / (prior * (1 - prior))


@pytest.mark.parametrize("seed", range(6))
def test_with_mates_in_doubt_it_is_bayes_over_both(seed: int) -> None:
    random = np.random.default_rng(seed)
    table = random.dirichlet(np.ones(9)).reshape(3, 3)
    joint = {(hen, cock): float(table[hen, cock]) for hen in range(3) for cock in range(3)}
    (way,) = ways_to_judge(table, Sex.COCK, [1, 2], catalogue()["lav"])
    for chicks in range(6):
        assert way.removed(chicks) == pytest.approx(slow_removed(joint, {1, 2}, chicks))


def test_three_looks_are_told_apart() -> None:
    """Blue shows one copy: of even odds one copy or two, by a black mate; splash never comes."""
    blue = catalogue()["Bl"]
    joint = np.zeros((3, 3))
    joint[1, 1:] = 0.5
    (way,) = ways_to_judge(joint, Sex.COCK, [2], blue)
    looks = {1: (0.25, 0.5, 0.25), 2: (0.0, 0.5, 0.5)}
    for chicks in (1, 2, 3):
        left = 0.0
        for a, b in product(range(chicks + 1), repeat=2):
            if a + b <= chicks:
                ways = comb(chicks, a) * comb(chicks - a, b)
                one, two = (
                    0.5 * ways * p[0] ** a * p[1] ** b * p[2] ** (chicks - a - b)
                    for p in looks.values()
                )
                left += one * two / (one + two) if one + two else 0.0
        assert way.removed(chicks) == pytest.approx(1 - 4 * left)


@pytest.mark.parametrize("seed", range(5))
def test_the_least_concave_line_touches_or_tops_every_point(seed: int) -> None:
    worths = [0.0, *np.cumsum(np.random.default_rng(seed).random(12))]
    pieces = least_concave(worths)
    line = [min(start + slope * at for slope, start in pieces) for at in range(len(worths))]
    assert all(one >= worth - 1e-12 for one, worth in zip(line, worths, strict=True))
    steps = np.diff(line)
    assert all(np.diff(steps) <= 1e-12)
    touched = [at for at, worth in enumerate(worths) if abs(line[at] - worth) < 1e-12]
    assert {0, len(worths) - 1} <= set(touched)
    for at in range(1, len(worths) - 1):
        bends = steps[at] < steps[at - 1] - 1e-12
        assert not bends or at in touched
