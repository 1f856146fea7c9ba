"""The season's plan: pens, idle birds, spare cocks and the figures of the flock."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matchmaker import verbs
from matchmaker.pairs.rules import Rule
from matchmaker.plan.season.season_plan import Idle, flock_figures
from tests.builders import HOME, HOME_SEEN, bird, chick, cock, hen, judged, only, write_flock

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.plan.season.season_plan import SeasonPlan

BIRDS = (
    *HOME,
    cock("SD", fertility="0.5"),
    cock("SE", fertility="0.1"),
    bird("U", "", "Pure", "sussex"),
    hen("Culled", defects="wry tail"),
    hen("Dead", status="dead", left_on="2026-12-01"),
)
PENS = [{"pen": "Yard", "hens_max": "6"}]


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> SeasonPlan:
    folder = tmp_path_factory.mktemp("season")
    return verbs.plan(write_flock(folder, BIRDS, seen=HOME_SEEN, pens=PENS))


def test_every_living_bird_is_in_a_pen_or_has_its_reason(plan: SeasonPlan) -> None:
    penned = [band for pen in plan.pens for pair in pen.pairs for band in (pair.hen,)]
    penned += [pen.cock for pen in plan.pens]
    idle = [unused.bird for unused in plan.unused]
    living = [one.band for one in plan.table.study.flock.living]
    assert sorted(penned + idle) == sorted(living)


def test_the_reasons_are_told_apart(plan: SeasonPlan) -> None:
    reasons = {unused.bird: unused.reason for unused in plan.unused}
    assert reasons["U"] is Idle.SEX_UNKNOWN
    assert reasons["Culled"] is Idle.REJECTED
    assert reasons["SE"] is Idle.NO_PLACE


def test_a_bird_without_any_allowed_mate_says_what_is_nearest(tmp_path: Path) -> None:
    """The only cock is her father."""
    birds = [cock("SC"), hen("SH"), chick("K", "hen", "SC", "SH", "Pure")]
    plan = verbs.plan(write_flock(tmp_path, birds))
    (idle,) = plan.unused
    assert (idle.bird, idle.reason) == ("K", Idle.NO_PAIR)
    assert [broken.rule for broken in idle.broken] == [Rule.TOO_RELATED]


def test_spares_are_cocks_in_no_pen_for_lines_that_have_one(plan: SeasonPlan) -> None:
    """Which of them, and why, is held by the tests of losses."""
    used = {pen.cock for pen in plan.pens}
    care = verbs.precautions(plan)
    assert {one.cock for one in care.lines}.isdisjoint(used)
    assert {one.cock for one in care.lines} <= set(care.kept)
    assert {one.line for one in care.lines} <= {line for pen in plan.pens for line in pen.lines}


def test_figures_of_one_pair_by_hand(tmp_path: Path) -> None:
    """Sister and brother: kinship 1/4; group kinship ¼ (½ + ½ + 2 · ¼); 4 · 1 · 1 / 2 = 2."""
    birds = [cock("SC"), hen("SH")]
    birds += [chick("B", "cock", "SC", "SH", "Pure"), chick("S", "hen", "SC", "SH", "Pure")]
    table = judged(tmp_path, birds)
    figures = flock_figures([only(table, "S", "B")], table.study.kinship)
    assert figures.mean_inbreeding == pytest.approx(0.25)
    assert figures.group_kinship == pytest.approx((0.5 + 0.5 + 2 * 0.25) / 4)
    assert figures.effective_size == pytest.approx(2)


def test_effective_size_of_one_cock_and_three_hens(tmp_path: Path) -> None:
    """4 · 1 · 3 / (1 + 3) = 3 (Wright 1931, Genetics 16:97, from memory)."""
    table = judged(tmp_path, [cock("SC"), *(hen(f"S{n}") for n in range(3))])
    pairs = [only(table, f"S{n}", "SC") for n in range(3)]
    assert flock_figures(pairs, table.study.kinship).effective_size == pytest.approx(3)


def test_no_pairs_no_figures(tmp_path: Path) -> None:
    figures = flock_figures([], judged(tmp_path, [cock("SC"), hen("SH")]).study.kinship)
    assert (figures.mean_inbreeding, figures.group_kinship, figures.effective_size) == (0, 0, 0)


def test_mean_kinship_of_a_line_is_over_its_own_pairs(plan: SeasonPlan) -> None:
    pairs = [pair for pen in plan.pens for pair in pen.pairs if pair.line == "Pure"]
    expected = sum(pair.kinship for pair in pairs) / len(pairs) if pairs else 0
    assert plan.mean_kinship("Pure") == pytest.approx(expected)
    assert plan.mean_kinship("nowhere") == 0


def test_a_pen_names_the_lines_its_chicks_join(plan: SeasonPlan) -> None:
    for pen in plan.pens:
        assert set(pen.lines) == {pair.line for pair in pen.pairs}
