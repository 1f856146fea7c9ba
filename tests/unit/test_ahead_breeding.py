"""A season in the pens: eggs, hatches and chicks on the mean as the plan counts them.

Means of draws may differ from what is expected by five standard errors.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from matchmaker.ahead.breeding import Family, breed
from matchmaker.ahead.losses import YEAR, losses
from matchmaker.pairs.value import credited_days
from matchmaker.plan.arithmetic.result import PlannedPen
from matchmaker.plan.posing.pose import pose_problem
from matchmaker.plan.posing.problem import Candidate
from matchmaker.plan.searching.quick import quick_plan
from matchmaker.plan.season.season_plan import plan_season
from tests.ahead_flocks import BIRDS, HALF, PENS, SEEN, example
from tests.builders import cock, hen, judged

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from matchmaker.flock.flock import Flock
    from matchmaker.pairs.table import PairTable

DRAWS = 1500


@pytest.fixture(scope="module")
def table(tmp_path_factory: pytest.TempPathFactory) -> PairTable:
    return judged(tmp_path_factory.mktemp("pens") / "flock", BIRDS, seen=SEEN, pens=PENS)


def pair(hen_band: str = "P0", cock_band: str = "S0", **cells: Any) -> Candidate:
    """A pair of the pure line that is to raise twelve chicks."""
    told: dict[str, Any] = {
        "row": "Pure pure",
        "line": "Pure",
        "value": 1.0,
        "wanted": 12.0,
        "chicks": 12.0,
    }
    return Candidate(hen=hen_band, cock=cock_band, **(told | cells))


def pen(label: str = "1", *pairs: Candidate) -> PlannedPen:
    return PlannedPen(pen=label, cock=pairs[0].cock, pairs=pairs)


def draw(
    flock: Flock,
    *pens: PlannedPen,
    lost: Mapping[str, int] | None = None,
    draws: int = DRAWS,
) -> list[tuple[Family, ...]]:
    rng = np.random.default_rng(7)
    return [breed(flock, pens, lost or {}, rng) for _ in range(draws)]


def year(flock: Flock, **cells: object) -> Flock:
    """The flock under other settings of the year."""
    settings = flock.settings
    return replace(
        flock,
        settings=settings.model_copy(update={"year": settings.year.model_copy(update=cells)}),
    )


def assert_mean(values: list[int], mean: float) -> None:
    error = np.std(values) / len(values) ** 0.5
    assert abs(np.mean(values) - mean) < 5 * error + 1e-9


def test_chicks_raised_are_on_the_mean_what_the_plan_counts_for(table: PairTable) -> None:
    """Each pair's of the plan of an example, kinship and written lay being taken in."""
    tarn = example("tarn-croft")
    for of, plan in (
        (table, quick_plan(pose_problem(table)).pens),
        (tarn, quick_plan(pose_problem(tarn, fresh=True)).pens),
    ):
        found = draw(of.study.flock, *plan, draws=600)
        for at, first in enumerate(found[0]):
            assert_mean([families[at].raised for families in found], first.pair.chicks)
        assert sum(one.pair.chicks for one in found[0]) > 20


def test_eggs_chicks_hatched_and_raised_vary_as_binomials(table: PairTable) -> None:
    """Of n eggs a part p hatches: the variance given the eggs is n p (1 − p)."""
    flock = year(table.study.flock, fertility=0.8, hatch_of_fertile=0.75, rearing=0.5)
    families = [found for (found,) in draw(flock, pen("1", pair(kinship=0.25)))]
    hatch = 0.8 * 0.75 * (1 - 0.65 * 0.25)
    asked = 12 / (hatch * 0.5)
    assert {one.eggs for one in families} == {int(asked), int(asked) + 1}
    assert_mean([one.eggs for one in families], asked)
    for parts, wholes, chance in (
        ([one.hatched for one in families], [one.eggs for one in families], hatch),
        ([one.raised for one in families], [one.hatched for one in families], 0.5),
    ):
        apart = np.array(parts) - chance * np.array(wholes)
        expected = chance * (1 - chance) * np.mean(wholes)
        assert apart.var() == pytest.approx(expected, rel=5 * (2 / DRAWS) ** 0.5)


def test_the_lower_of_two_written_fertilities_counts(tmp_path: Path) -> None:
    birds = (cock("S0", fertility="0.9"), hen("P0", fertility="0.5"), hen("P1"))
    flock = judged(tmp_path / "f", birds).study.flock
    found = draw(flock, pen("Yard", pair("P0"), pair("P1")))
    assert_mean([one[0].eggs for one in found], 12 / (0.5 * 0.8 * 0.9))
    assert_mean([one[1].eggs for one in found], 12 / (0.9 * 0.8 * 0.9))


def test_a_pair_that_cannot_hatch_sets_eggs_in_vain_or_none(table: PairTable) -> None:
    flock = year(table.study.flock, fertility=0.0)
    ((found,),) = draw(flock, pen("1", pair(chicks=0.0)), draws=1)
    assert (found.eggs, found.hatched, found.raised) == (0, 0, 0)


def test_fewer_chicks_where_a_bird_dies_by_the_days(table: PairTable) -> None:
    """Eggs are kept on 71 days from 8 February; a cock's for a fortnight after he is gone."""
    flock = table.study.flock
    days, first = credited_days(flock.settings), 7
    assert days == 71
    sperm = flock.settings.limits.eggs_after_days
    for lost, laid in (
        ({"P0": first + 20}, 20),
        ({"S0": first + 20}, 20 + sperm),
        ({"S0": first + 20, "P0": first + 25}, 25),
        ({"P0": 3}, 0),
        ({"P0": 300}, days),
        ({"S0": 0}, max(sperm - first, 0)),
    ):
        found = draw(flock, pen("1", pair()), lost=lost, draws=500)
        assert_mean([one.raised for (one,) in found], 12 * laid / days)


def test_eggs_laid_before_the_pen_is_fertile_are_none(table: PairTable) -> None:
    """Where eggs are to be kept from the first day, they still count from the eighth on."""
    flock = year(table.study.flock, collect_from=dt.date(2027, 2, 1))
    days = credited_days(flock.settings)
    found = draw(flock, pen("1", pair()), lost={"P0": 17}, draws=500)
    assert_mean([one.raised for (one,) in found], 12 * 10 / days)


@pytest.fixture(scope="module")
def turned(tmp_path_factory: pytest.TempPathFactory) -> PairTable:
    """Two pens, one of them with one cock after the other."""
    pens = (
        {"pen": "1", "hens_max": "4", "from": "", "until": "2027-03-10"},
        {"pen": "1", "hens_max": "4", "from": "2027-03-11", "until": ""},
        {"pen": "2", "hens_max": "4", "from": "", "until": "2027-03-10"},
    )
    return judged(tmp_path_factory.mktemp("turns") / "f", BIRDS, seen=SEEN, pens=pens)


def test_in_a_turn_of_the_season_the_days_of_the_turn_count(turned: PairTable) -> None:
    """A hen lost on 4 April has laid all eggs of a turn that ended before, few of the next."""
    flock = turned.study.flock
    early, late = sorted({one.turn for one in pose_problem(turned, fresh=True).candidates})
    plans = [pen("1", pair(turn=turn)) for turn in (early, late)]
    sooner, later = (
        [one.raised for (one,) in draw(flock, plan, lost={"P0": 62}, draws=500)] for plan in plans
    )
    assert_mean(sooner, 12)
    limits = flock.settings.limits
    begins = dt.date(2027, 3, 10) + dt.timedelta(days=limits.clean_out_days)
    died, ends = dt.date(2027, 4, 4), flock.settings.collect_until
    assert begins < died
    assert_mean(later, 12 * (died - begins).days / ((ends - begins).days + 1))


def test_incubator_and_rearing_room_are_kept_on_the_mean(table: PairTable) -> None:
    pens = (pen("1", pair(eggs=30.0), pair("P1", eggs=10.0)), pen("2", pair("P2", "S1", eggs=20.0)))
    for cells, part in (
        ({"rearing_room": 18}, 0.5),
        ({"incubator_per_week": 20}, 1 / 3),
        ({"rearing_room": 18, "incubator_per_week": 20}, 1 / 3),
        ({"rearing_room": 36, "incubator_per_week": 60}, 1.0),
    ):
        found = draw(year(table.study.flock, **cells), *pens, draws=500)
        assert_mean([sum(one.raised for one in families) for families in found], 36 * part)


def test_the_incubator_holds_the_eggs_of_one_turn_after_another(turned: PairTable) -> None:
    early, late = sorted({one.turn for one in pose_problem(turned, fresh=True).candidates})
    flock = year(turned.study.flock, incubator_per_week=30)
    for turn, part in ((late, 1.0), (early, 0.5)):
        pens = (
            pen("1", pair(eggs=30.0, turn=turn)),
            pen("2", pair("P2", "S1", eggs=30.0, turn=early)),
        )
        found = draw(flock, *pens, draws=500)
        assert_mean([sum(one.raised for one in families) for families in found], 24 * part)


def test_test_matings_raise_no_chicks_for_a_line(table: PairTable) -> None:
    tests = pair(row="P0 on trial", line="", tested="P0")
    assert draw(table.study.flock, pen("1", tests), draws=1) == [()]
    ((only,),) = draw(table.study.flock, pen("1", tests, pair("P1")), draws=1)
    assert only.pair.hen == "P1"


def test_dams_are_unsure_exactly_where_eggs_are_not_told_apart(table: PairTable) -> None:
    hens = [pair(f"P{at}") for at in range(3)]
    for label, mates in (("1", [("P0",), ("P1",), ("P2",)]), ("2", [("P0", "P1", "P2")] * 3)):
        (found,) = draw(table.study.flock, pen(label, *hens), draws=1)
        assert [one.mates for one in found] == mates
    (found,) = draw(table.study.flock, pen("2", hens[0]), draws=1)
    assert [one.mates for one in found] == [("P0",)]


def test_a_hen_that_died_before_any_egg_was_kept_is_no_possible_dam(table: PairTable) -> None:
    pens = pen("2", *(pair(f"P{at}") for at in range(3)))
    (found,) = draw(table.study.flock, pens, lost={"P1": 2}, draws=1)
    assert [one.mates for one in found if one.pair.hen != "P1"] == [("P0", "P2")] * 2
    assert [one.raised for one in found if one.pair.hen == "P1"] == [0]
    (found,) = draw(table.study.flock, pens, lost={f"P{at}": 2 for at in range(3)}, draws=1)
    assert [one.raised for one in found] == [0, 0, 0]


def test_birds_die_as_often_as_the_settings_say(tmp_path: Path) -> None:
    """By age: under one year, grown, over three; unknown ages count as grown. Any day of a year."""
    settings = "[risk]\ncock_young = 0.1\ncock_grown = 0.3\ncock_old = 0.6\n"
    ages = {"young": "2026-05-01", "grown": "2025-05-01", "old": "2022-05-01", "none": ""}
    birds = [hen(f"{age} {at}", hatched=day) for age, day in ages.items() for at in range(60)]
    flock = judged(tmp_path / "f", [cock("S"), *birds], settings).study.flock
    rng = np.random.default_rng(3)
    found = [losses(flock, rng) for _ in range(40)]
    for age, chance in (("young", 0.1), ("grown", 0.3), ("old", 0.6), ("none", 0.3)):
        died = [sum(band.startswith(age) for band in lost) for lost in found]
        assert_mean(died, 60 * chance)
    days = [day for lost in found for day in lost.values()]
    assert (min(days) >= 0, max(days) < YEAR) == (True, True)
    assert_mean(days, (YEAR - 1) / 2)


def test_a_quiet_year_costs_nobody(table: PairTable) -> None:
    settings = table.study.flock.settings
    risk = settings.risk.model_copy(update=dict.fromkeys(("cock_young", "cock_grown"), 0.0))
    flock = replace(table.study.flock, settings=settings.model_copy(update={"risk": risk}))
    assert losses(flock, np.random.default_rng(1)) == {}


def test_the_whole_plan_of_a_flock_can_be_bred(table: PairTable) -> None:
    plan = plan_season(table).solution.pens
    (families,) = draw(table.study.flock, *plan, draws=1)
    assert {one.pair.hen for one in families} == {one.hen for p in plan for one in p.pairs}
    assert {HALF} == {row["breed"] for row in BIRDS if row["bird"].startswith("AH")}
