"""Whole plans of small flocks with test rows, turns, rotation, rooms and numbers that are sure."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matchmaker.errors import NoPlanError
from matchmaker.plan.posing.terms import plan_certainty
from matchmaker.plan.season.season_plan import plan_season
from tests.builders import TOP, bird, chick, cock, dna, hen, judged

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from matchmaker.plan.season.season_plan import SeasonPlan
    from tests.builders import Row

HALF = "sussex:0.5|araucana:0.5"
YEAR = "[year]\npen_up = 2027-02-01\ncollect_from = 2027-02-08\ncollect_until = 2027-04-18\n"
LAV = 'season = 2027\nrecurrent = "sussex"\ntarget = {lav = 2}\n'
GONE = {"status": "dead", "left_on": "2026-12-01"}


def planned(
    path: Path,
    birds: Sequence[Row],
    settings: str,
    top: str = TOP,
    **tables: Sequence[Row],
) -> SeasonPlan:
    return plan_season(judged(path, birds, settings, top, **tables))


def pairs(plan: SeasonPlan) -> set[tuple[str, str, str]]:
    return {(one.hen, one.cock, one.turn) for pen in plan.pens for one in pen.chosen}


TESTED = (
    cock("F0", "Alder", "sussex:0.5|donor:0.5", **GONE),
    hen("S0", **GONE),
    chick("A1", "cock", "F0", "S0", "Alder"),
    chick("A2", "hen", "F0", "S0", "Alder"),
    cock("L1", "Lavender", "donor"),
    hen("L2", "Lavender", "donor"),
)
TEST_ROWS = (
    '[[matings]]\nname = "hens"\nhens = "Alder"\ncocks = "Lavender"\npurpose = "test"\n'
    'tests = "hen"\n'
    '[[matings]]\nname = "cocks"\nhens = "Lavender"\ncocks = "Alder"\npurpose = "test"\n'
    'tests = "cock"\n'
)
TEST_SEEN = (dna("F0", "lav", 1), dna("S0", "lav", 0))


@pytest.mark.parametrize(
    ("dam_known", "tested"), [("yes", {"A1", "A2"}), ("no", {"A1"})], ids=["nests", "no nests"]
)
def test_birds_are_tested_where_that_can_be_told(
    tmp_path: Path, dam_known: str, tested: set[str]
) -> None:
    """A hen is tested only in a pen where eggs are told apart; a cock anywhere."""
    pens = [{"pen": name, "hens_max": "2", "dam_known": dam_known} for name in ("P", "Q")]
    plan = planned(tmp_path, TESTED, TEST_ROWS + YEAR, LAV, seen=TEST_SEEN, pens=pens)
    assert {one.tested for pen in plan.pens for one in pen.chosen} == tested
    assert plan.solution.value == pytest.approx(len(tested) * 4.95, abs=0.01)


def test_a_hen_may_be_with_two_cocks_one_after_the_other(tmp_path: Path) -> None:
    birds = [cock("SC"), cock("SD"), hen("AH", "Alder", HALF)]
    pens = [
        {"pen": "P", "hens_max": "2", "until": "2027-03-07"},
        {"pen": "P", "hens_max": "2", "from": "2027-03-08"},
    ]
    settings = YEAR + "[lines.Alder]\nchicks_wanted = 40\n[limits]\nclean_out_days = 14\n"
    plan = planned(tmp_path, birds, settings, seen=[dna("AH", "O", 1)], pens=pens)
    assert {turn for _, _, turn in pairs(plan)} == {
        "2027-02-01 to 2027-03-07",
        "2027-03-08 to 2027-04-18",
    }
    chicks = 0.612 * 4 / 7 * (28 + 29)
    total = {line.line: line for line in plan.solution.lines}["Alder"]
    assert total.wanted == pytest.approx(chicks / 2)


def test_the_rearing_room_binds(tmp_path: Path) -> None:
    birds = [cock("SC"), *(hen(f"A{at}", "Alder", HALF) for at in range(4))]
    seen = [dna(f"A{at}", "O", 1) for at in range(4)]
    settings = YEAR + "rearing_room = 50\n[lines.Alder]\nchicks_wanted = 100\n"
    plan = planned(tmp_path, birds, settings, seen=seen)
    assert len(pairs(plan)) == 2  # 24.48 chicks each
    assert plan.needs.chicks == pytest.approx(48.96)


def test_the_incubator_binds(tmp_path: Path) -> None:
    birds = [cock("SC"), *(hen(f"A{at}", "Alder", HALF) for at in range(4))]
    seen = [dna(f"A{at}", "O", 1) for at in range(4)]
    settings = YEAR + "incubator_per_week = 13\n[lines.Alder]\nchicks_wanted = 100\n"
    plan = planned(tmp_path, birds, settings, seen=seen)
    assert len(pairs(plan)) == 3
    assert plan.needs.eggs == pytest.approx(12.0)


SURE = "[lines.Alder]\nchicks_wanted = 1\nfamilies = 1\nwanted_hens_min = 10\ncertainty = 0.95\n"
"""More than two pairs count nothing, so what is above two is there for the number."""


def test_numbers_that_must_be_sure_take_more_hens(tmp_path: Path) -> None:
    """Expected are 6.12 a hen: two hens for ten; with 95 % a mean of 15.7 is needed, so three."""
    birds = [cock("SC"), *(hen(f"A{at}", "Alder", HALF) for at in range(3))]
    seen = [dna(f"A{at}", "O", 1) for at in range(3)]
    number = SURE.replace("certainty = 0.95\n", "")
    assert len(pairs(planned(tmp_path / "a", birds, YEAR + number, seen=seen))) == 2
    plan = planned(tmp_path / "b", birds, YEAR + SURE, seen=seen)
    assert len(pairs(plan)) == 3
    chosen = [one for pen in plan.pens for one in pen.chosen]
    (found,) = plan_certainty(plan.table, chosen)
    assert found.exact
    assert found.chance > 0.95


def test_birds_that_may_not_carry_make_nothing_sure(tmp_path: Path) -> None:
    birds = [cock("F0", "Alder", HALF, **GONE), *TESTED[1:4], cock("SC")]
    seen = [dna("F0", "O", 1), dna("S0", "O", 0)]
    sure = SURE.replace("= 10", "= 2")
    number = sure.replace("certainty = 0.95\n", "")
    assert pairs(planned(tmp_path / "a", birds, YEAR + number, seen=seen))
    with pytest.raises(NoPlanError):
        planned(tmp_path / "b", birds, YEAR + sure, seen=seen)


def test_one_carrier_stays_with_its_line(tmp_path: Path) -> None:
    """Both carriers of Alder would be worth more to Birch; one of them is kept for Alder."""
    rows = (
        '[[matings]]\nhens = "Pure"\ncocks = "Alder"\nchicks = "Birch"\npurpose = "backcross"\n'
        "keep = {O = [1]}\n"
        '[[matings]]\nname = "own"\nhens = "Pure"\ncocks = "Alder"\nchicks = "Alder"\n'
        'purpose = "backcross"\nkeep = {O = [1]}\n'
    )
    birds = [cock("AC", "Alder", HALF), cock("AD", "Alder", HALF), hen("SH"), hen("SI")]
    birds.append(hen("BH", "Birch", HALF))
    more = YEAR + "[lines.Birch]\nimportance = 5\nchicks_wanted = 90\n"
    seen = [dna("AC", "O", 1), dna("AD", "O", 1)]
    plan = planned(tmp_path, birds, more + rows, seen=seen)
    joined = {one.cock: one.line for pen in plan.pens for one in pen.chosen}
    assert set(joined.values()) != {"Birch"} or len(joined) < 2


def test_cocks_go_round_in_a_season_of_rotation(tmp_path: Path) -> None:
    birds = [bird(f"{n}{s[0]}", s, f"L{n}", HALF) for n in "AB" for s in ("cock", "hen")]
    seen = [dna(row["bird"], "O", 1) for row in birds]
    settings = YEAR + '[rotation]\norder = ["LA", "LB"]\nevery = 2\nfrom = 2027\n'
    plan = planned(tmp_path, birds, settings, seen=seen)
    assert {(one, mate) for one, mate, _ in pairs(plan)} == {("Ah", "Bc"), ("Bh", "Ac")}
