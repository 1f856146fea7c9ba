"""What one more would add: each changed problem, its gain and its words. Data are invented."""

from __future__ import annotations

import io
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from rich.console import Console

from matchmaker.pairs.rules import Rule
from matchmaker.pairs.table import judge_pairs
from matchmaker.plan.posing.pose import pose_problem
from matchmaker.plan.posing.problem import Candidate, CockLimit, GroupKinship, PlanProblem
from matchmaker.plan.season.newcomer import with_new_cock
from matchmaker.plan.season.one_more import one_more
from matchmaker.plan.season.season_plan import plan_season
from matchmaker.plan.season.variants import MORE_CAP, Added, variants, with_copy
from matchmaker.report.one_more import (
    BOUGHT_IN_CAUTION,
    INBREEDING_CAUTION,
    gain_sentence,
    one_more_entries,
    print_one_more,
)
from tests.builders import chick, cock, dna, hen, judged
from tests.oracle.plan_enumeration import best_by_enumeration
from tests.screens import plain

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.season.season_plan import SeasonPlan

HALF = "sussex:0.5|araucana:0.5"

BIRDS = (
    cock("SC"),
    hen("SH"),
    hen("SI"),
    hen("SK"),
    cock("AC", "Alder", HALF),
    hen("AH", "Alder", HALF),
    hen("AI", "Alder", HALF),
    chick("SJ", "hen", "SC", "SH", "Pure"),
)
SEEN = (dna("AC", "O", 2), dna("AH", "O", 2), dna("AI", "O", 2))
PENS = [
    {"pen": "Yard", "hens_max": "2"},
    {"pen": "Barn", "hens_max": "2"},
    {"pen": "Shed", "hens_max": "1"},
]
SETTINGS = """
[breeds.sussex]
base = 0.05

[sources]

[year]
rearing_room = 60

[lines.Alder]
chicks_wanted = 40

[limits]
mean_inbreeding_max = 0.1
"""


@pytest.fixture(scope="module")
def table(tmp_path_factory: pytest.TempPathFactory) -> PairTable:
    folder = tmp_path_factory.mktemp("more")
    return judged(folder, BIRDS, SETTINGS, seen=SEEN, pens=PENS)


@pytest.fixture(scope="module")
def plan(table: PairTable) -> SeasonPlan:
    return plan_season(table)


def test_each_gain_is_that_of_trying_everything(plan: SeasonPlan) -> None:
    gains = {(one.what, one.subject): one for one in one_more(plan)}
    best = best_by_enumeration(plan.problem)
    assert best == pytest.approx(plan.solution.proof.best_value, abs=1e-6)
    for variant in variants(plan):
        told = gains.pop((variant.what, variant.subject))
        expected = best_by_enumeration(variant.problem)
        assert told.value == pytest.approx(expected, abs=1e-6), variant.what
        assert told.gain == pytest.approx(told.value - plan.solution.proof.best_value, abs=1e-6)
        assert told.proved
    assert not gains


def test_everything_that_makes_sense_is_tried(plan: SeasonPlan) -> None:
    tried = {variant.what for variant in variants(plan)}
    assert tried == set(Added) - {Added.EGGS, Added.GROUP_CAP}


def test_gains_stand_in_order_and_some_add_something(plan: SeasonPlan) -> None:
    gains = [one.gain for one in one_more(plan)]
    assert gains == sorted(gains, reverse=True)
    assert gains[0] > 1.0
    assert min(gains) >= 0.0


def test_pens_alike_are_one_kind(plan: SeasonPlan) -> None:
    places = [one for one in variants(plan) if one.what is Added.PLACE]
    told = {one.subject: one.facts["others"] for one in places}
    used = {pen.pen for pen in plan.pens}
    assert told["Barn"] == ("Yard",)
    assert set(told) == {"Barn"} | ({"Shed"} & used)
    for one in places:
        sizes = {pen: kind.hens_max for kind in one.problem.kinds for pen in kind.pens}
        before = {pen: kind.hens_max for kind in plan.problem.kinds for pen in kind.pens}
        assert sizes == {**before, one.subject: before[one.subject] + 1}


def test_a_new_pen_is_like_the_biggest(plan: SeasonPlan) -> None:
    (variant,) = (one for one in variants(plan) if one.what is Added.PEN)
    sizes = {pen: kind.hens_max for kind in variant.problem.kinds for pen in kind.pens}
    assert variant.subject == "Barn"
    assert sizes["new pen"] == 2


def test_a_copied_cock_has_the_same_pairs(plan: SeasonPlan) -> None:
    (variant,) = (one for one in variants(plan) if one.what is Added.CARRIER)
    assert (variant.subject, variant.facts["like"]) == ("Alder", "AC")
    pairs = {
        cock: {
            (one.hen, one.row, one.value) for one in variant.problem.candidates if one.cock == cock
        }
        for cock in ("AC", "another AC")
    }
    assert pairs["AC"] == pairs["another AC"] != set()


def test_what_tests_a_cock_does_not_test_his_copy() -> None:
    shared = {"hen": "H", "cock": "C", "value": 1.0, "wanted": 1.0}
    problem = PlanProblem(
        candidates=(
            Candidate(**shared, row="back", line="Alder"),  # type: ignore[arg-type]
            Candidate(**shared, row="of him", line="", tested="C"),  # type: ignore[arg-type]
            Candidate(**shared, row="of her", line="", tested="H"),  # type: ignore[arg-type]
        ),
        kinds=(),
        cocks=(CockLimit(cock="C", hens_max=3, pens_max=2),),
        lines=(),
        group=GroupKinship(parents=((),), within=(0.5,), birds=(("C", 0),)),
    )
    copied = with_copy(problem, "C")
    rows = {one.row for one in copied.candidates if one.cock == "another C"}
    assert rows == {"back", "of her"}
    assert replace(copied.cocks[1], cock="C") == copied.cocks[0]
    assert copied.group is not None
    assert copied.group.birds == (("C", 0), ("another C", 0))


def test_the_new_cock_is_related_by_the_breeds_base_alone(table: PairTable) -> None:
    newcomer = with_new_cock(table)
    assert newcomer is not None
    share = table.study.recurrent_share
    own = [pair for pair in newcomer.table.pairs if pair.cock == newcomer.cock]
    assert {pair.hen for pair in own} == {"SH", "SI", "SK", "SJ", "AH", "AI"}
    for pair in own:
        assert pair.kinship == pytest.approx(0.05 * share[pair.hen])
        assert pair.recurrent_share == pytest.approx((1 + share[pair.hen]) / 2)


def test_the_new_cock_changes_no_other_pair_and_no_need(table: PairTable) -> None:
    newcomer = with_new_cock(table)
    assert newcomer is not None
    assert [p for p in newcomer.table.pairs if p.cock != newcomer.cock] == list(table.pairs)
    assert newcomer.table.needs == table.needs


def test_the_new_cock_is_worth_what_a_like_cock_of_the_flock_is(table: PairTable) -> None:
    """SC is the only cock of the breed: hens as little related to him are worth the same."""
    newcomer = with_new_cock(table)
    assert newcomer is not None
    new = {pair.hen: pair for pair in newcomer.table.pairs if pair.cock == newcomer.cock}
    old = {pair.hen: pair for pair in table.pairs if pair.cock == "SC"}
    for hen_band in ("SI", "AH"):
        assert new[hen_band].value == pytest.approx(old[hen_band].value, rel=0.02)
        assert new[hen_band].wanted_chance == pytest.approx(old[hen_band].wanted_chance)
    assert [one.rule for one in old["SJ"].broken] == [Rule.TOO_RELATED]
    assert new["SJ"].allowed


def test_without_a_cock_of_the_breed_there_is_no_new_one(tmp_path: Path) -> None:
    birds = [one for one in BIRDS if one["bird"] not in {"SC", "SJ"}]
    found = judged(tmp_path, birds, seen=SEEN, pens=PENS)
    assert with_new_cock(found) is None


def test_a_higher_cap_lets_in_what_judging_anew_lets_in(tmp_path: Path) -> None:
    """Cousins at 0.13 against 0.125; those above the raised cap stay out."""
    settings = "[limits]\nkinship_max = 0.245\n"
    plan = plan_season(judged(tmp_path, BIRDS, settings, seen=SEEN, pens=PENS))
    found = {(one.what, one.subject): one for one in variants(plan)}
    study = plan.table.study
    limits = study.flock.settings.limits
    raised = limits.model_copy(update={"kinship_max": limits.kinship_max + MORE_CAP})
    changed = study.flock.settings.model_copy(update={"limits": raised})
    anew = judge_pairs(replace(study, flock=replace(study.flock, settings=changed)))
    expected = {one.key for one in pose_problem(anew).candidates}
    assert expected != {one.key for one in plan.problem.candidates}
    (variant,) = (
        one
        for (what, _), one in found.items()
        if what in {Added.CAP, Added.LINE_CAP} and one.facts["pairs"]
    )
    assert {one.key for one in variant.problem.candidates} == expected
    assert (Added.CAP, "") not in found


def test_a_week_more_of_eggs_raises_more_chicks(plan: SeasonPlan) -> None:
    (variant,) = (one for one in variants(plan) if one.what is Added.WEEK)
    before = {one.key: one.wanted for one in plan.problem.candidates}
    assert all(one.wanted > before[one.key] for one in variant.problem.candidates)
    assert variant.subject == "2027-04-26"


def test_each_gain_is_told_in_a_sentence_with_its_caution(plan: SeasonPlan) -> None:
    entries = one_more_entries(one_more(plan))
    by_kind = {entry["what"]: entry for entry in entries}
    assert all(entry["sentence"].endswith(".") for entry in entries)
    for kind in ("new-cock", "carrier-cock"):
        adds = by_kind[kind]["gain"] >= 0.005
        assert (BOUGHT_IN_CAUTION in by_kind[kind]["sentence"]) is adds
    assert set(entries[0]) == {"what", "subject", "gain", "value", "proved", "sentence"}


def test_the_screen_lists_what_adds_and_names_the_rest(plan: SeasonPlan) -> None:
    stream = io.StringIO()
    gains = one_more(plan)
    print_one_more(Console(file=stream, width=100, highlight=False, markup=False), gains)
    text = plain(stream.getvalue())
    assert f"+{gains[0].gain:.2f}" in text
    nothing = [one for one in gains if one.gain < 0.005]
    assert ("Nothing would be added by " in text) is bool(nothing)


def test_a_raised_cap_that_adds_warns_of_inbreeding(plan: SeasonPlan) -> None:
    (gain,) = (one for one in one_more(plan) if one.what is Added.MEAN_CAP)
    assert INBREEDING_CAUTION in gain_sentence(replace(gain, gain=1.0))
    assert gain_sentence(replace(gain, gain=0.0)).endswith("adds nothing.")
    assert "adds at least 1.00" in gain_sentence(replace(gain, gain=1.0, proved=False))
