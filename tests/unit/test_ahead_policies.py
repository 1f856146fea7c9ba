"""Policies: each changes what its sentence says, and nothing else."""

from __future__ import annotations

import dataclasses
import pickle
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from matchmaker.ahead.changed import HalfKinship, ShareTwice, Unchanged, Without
from matchmaker.ahead.places import Size, size_of
from matchmaker.ahead.policies import NAMES, PLAN, by_plan, policies
from matchmaker.plan.arithmetic.result import PlannedPen
from matchmaker.plan.arithmetic.verify import evaluate
from matchmaker.plan.posing.pose import pose_problem
from matchmaker.plan.posing.problem import PairTogether
from matchmaker.plan.season.season_frontier import season_frontier
from matchmaker.tables.records import Sex, Status
from tests.ahead_flocks import BIRDS, HALF, PENS, SEEN, played, watched
from tests.builders import chick, cock, dna, hen, judged

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.ahead.policies import Policy
    from matchmaker.pairs.table import PairTable
    from matchmaker.tables.folder import FolderTables

MORE = (
    cock("BC0", "Birch", HALF, O="blue"),
    *(hen(f"BH{at}", "Birch", HALF, O="blue") for at in range(2)),
    chick("BY", "hen", "BC0", "BH0", "Birch"),
)
SETTINGS = """
[limits]
kinship_max = 0.2
[weights]
recurrent_share = 0.3
[lines.Alder]
chicks_wanted = 20
kinship_max = 0.1
[lines.Birch]
chicks_wanted = 10
importance = 2.0
kinship_max = 0.15
[rotation]
order = ["Alder", "Birch", "Pure"]
every = 2
from = 2027
[[matings]]
name = "Alder"
hens = ["Pure", "Birch"]
cocks = "Alder"
chicks = "Alder"
purpose = "backcross"
keep = {O = [1]}
[[matings]]
name = "Birch"
hens = "Pure"
cocks = "Birch"
chicks = "Birch"
purpose = "backcross"
keep = {O = [1], P = [0]}
[[matings]]
name = "from Birch"
hens = "Birch"
cocks = "Alder"
chicks = "Alder"
purpose = "backcross"
keep = {O = [1]}
[[matings]]
name = "Pure"
hens = "Pure"
cocks = "Pure"
chicks = "Pure"
purpose = "hold"
"""
WISHES = (
    {"bird": "BC0", "with": "P0", "wish": "apart", "why": "x"},
    {"bird": "AC0", "with": "P0", "wish": "apart", "why": "x"},
)
OWN_PENS = (*PENS, {"pen": "4", "hens_max": "3", "line": "Birch"})


@pytest.fixture(scope="module")
def table(tmp_path_factory: pytest.TempPathFactory) -> PairTable:
    return judged(
        tmp_path_factory.mktemp("policies") / "flock",
        (*BIRDS, *MORE),
        SETTINGS,
        seen=(*SEEN, dna("BC0", "O", 1)),
        pens=OWN_PENS,
        wishes=WISHES,
    )


@pytest.fixture(scope="module")
def size(table: PairTable) -> Size:
    return size_of(table, ())


def chosen(table: PairTable, size: Size, *names: str) -> dict[str, Policy]:
    return {one.name: one for one in policies(names, table, size, ())}


def differences(before: FolderTables, after: FolderTables) -> dict[str, Any]:
    """Fields of tables and settings that differ, with what they are now."""
    found = {
        field.name: getattr(after, field.name)
        for field in dataclasses.fields(before)
        if field.name != "settings" and getattr(before, field.name) != getattr(after, field.name)
    }
    old, new = before.settings, after.settings
    assert old is not None
    assert new is not None
    return found | {
        name: getattr(new, name)
        for name in type(old).model_fields
        if getattr(old, name) != getattr(new, name)
    }


def test_the_plan_changes_nothing_and_begins_as_proposed(table: PairTable, size: Size) -> None:
    pens = by_plan(table, pose_problem(table), np.random.default_rng(1))
    (plan,) = policies((PLAN,), table, size, pens)
    assert plan.first == pens
    assert plan.change(table.study.flock.tables) is table.study.flock.tables
    assert (plan.size, plan.sentence) == (size, NAMES[PLAN])
    assert Unchanged()(table.study.flock.tables) is table.study.flock.tables


def test_share_counts_twice_and_nothing_else_is_changed(table: PairTable) -> None:
    before = table.study.flock.tables
    changed = differences(before, ShareTwice()(before))
    assert set(changed) == {"weights"}
    assert changed["weights"].recurrent_share == 0.6


def test_share_that_was_not_set_counts_twice_what_it_counts_unset(tmp_path: Path) -> None:
    before = judged(tmp_path / "f", BIRDS, seen=SEEN).study.flock.tables
    assert differences(before, ShareTwice()(before))["weights"].recurrent_share == 0.5


def test_limits_on_kinship_are_halved_and_nothing_else(table: PairTable) -> None:
    before = table.study.flock.tables
    changed = differences(before, HalfKinship()(before))
    assert set(changed) == {"limits", "lines"}
    assert changed["limits"].kinship_max == 0.1
    assert changed["limits"].model_copy(update={"kinship_max": 0.2}) == before.settings.limits  # type: ignore[union-attr]
    assert {name: line.kinship_max for name, line in changed["lines"].items()} == {
        "Alder": 0.05,
        "Birch": 0.075,
    }
    assert changed["lines"]["Birch"].importance == 2.0


def test_a_line_given_up_leaves_no_trace(table: PairTable, size: Size) -> None:
    before = table.study.flock.tables
    policy = chosen(table, size, "one-line-fewer")["one-line-fewer"]
    after = policy.change(before)
    changed = differences(before, after)
    assert set(changed) == {"birds", "pens", "wishes", "lines", "matings", "rotation", "loci"}
    assert set(changed["lines"]) == {"Alder"}
    assert [(row.name, row.hens, row.cocks, row.chicks) for row in changed["matings"]] == [
        ("Alder", ("Pure",), ("Alder",), "Alder"),
        ("Pure", ("Pure",), ("Pure",), "Pure"),
    ]
    assert changed["rotation"].order == ("Alder", "Pure")
    assert [row.bird for row in after.wishes] == ["AC0"]
    assert {pen.line for pen in after.pens} == {""}
    assert len(after.pens) == len(before.pens)
    gone = {one.bird for one in after.birds if one.status is Status.SOLD}
    assert gone == {row["bird"] for row in MORE}
    others = [one for one in after.birds if one.bird not in gone]
    assert others == [one for one in before.birds if one.bird not in gone]
    assert {place[0] for place in policy.size.wanted} == {"Alder", "Pure"}


def test_the_other_lines_take_its_room(table: PairTable, size: Size) -> None:
    policy = chosen(table, size, "one-line-fewer")["one-line-fewer"]
    after = policy.change(table.study.flock.tables).settings
    assert after is not None
    assert after.lines["Alder"].chicks_wanted == pytest.approx(30)
    for sex in Sex:
        whole = sum(number for place, number in size.wanted.items() if place[1] is sex)
        left = sum(number for place, number in policy.size.wanted.items() if place[1] is sex)
        assert left == whole
    assert policy.size.wanted["Pure", Sex.HEN] == size.wanted["Pure", Sex.HEN]


def test_wanted_chicks_are_shared_out_in_proportion(tmp_path: Path) -> None:
    """Three lines; that of the fewest birds goes, of equals the first by name."""
    more = (*MORE, cock("CC", "Cedar", HALF), hen("CH", "Cedar", HALF))
    settings = "[lines.Alder]\nchicks_wanted = 20\n[lines.Birch]\nchicks_wanted = 10\n"
    settings += "[lines.Cedar]\nchicks_wanted = 6\n"
    table = judged(tmp_path / "f", (*BIRDS, *more), settings, seen=SEEN, pens=PENS)
    size = size_of(table, ())
    policy = chosen(table, size, "one-line-fewer")["one-line-fewer"]
    assert policy.change == Without("Cedar", (("Alder", 24.0), ("Birch", 12.0)))
    assert size.without("Cedar", ["Alder", "Birch"]) == policy.size


def test_loci_that_only_a_row_given_up_named_are_looked_at_still(
    table: PairTable,
) -> None:
    """What was seen there stays in the books, and the truth has them."""
    player = watched(table, ("plan", "one-line-fewer"), seasons=2)
    assert "P" in player.past.loci
    tally, seasons = played(player, policy=1)
    assert "P" in seasons[-1].spring.study.loci
    birch = player.subject.lines.index("Birch")
    assert tally.birds[:, birch].tolist() == [0.0] * 3


def test_a_rotation_of_two_lines_ends_when_one_is_given_up(table: PairTable) -> None:
    before = table.study.flock.tables
    assert before.settings is not None
    assert before.settings.rotation is not None
    for order, left in ((("Alder", "Birch"), None), (("Alder", "Pure"), ("Alder", "Pure"))):
        rotation = before.settings.rotation.model_copy(update={"order": order})
        settings = before.settings.model_copy(update={"rotation": rotation})
        after = Without("Birch", (("Alder", 3.0),))(replace(before, settings=settings)).settings
        assert after is not None
        assert (after.rotation.order if after.rotation else None) == left


def test_a_single_working_line_cannot_be_given_up(tmp_path: Path) -> None:
    table = judged(tmp_path / "f", BIRDS, seen=SEEN, pens=PENS)
    assert chosen(table, size_of(table, ()), "one-line-fewer") == {}


def test_frontier_plans_are_those_of_this_spring(tmp_path: Path) -> None:
    few = [row for row in BIRDS if row["bird"][-1] in "012"]
    table = judged(tmp_path / "f", few, seen=SEEN, pens=PENS)
    size = size_of(table, ())
    points = season_frontier(table).points
    found = chosen(table, size, "less-kinship", "least-kinship")
    assert len(points) > 2
    assert found["least-kinship"].first == points[-1].solution.pens
    middle = (points[0].kinship + points[-1].kinship) / 2
    apart = {str(point.solution.pens): abs(point.kinship - middle) for point in points[1:]}
    assert apart[str(found["less-kinship"].first)] == min(apart.values())
    assert {found[name].change for name in found} == {Unchanged()}


def test_policies_come_in_the_order_asked_and_every_one_can_be_sent(
    table: PairTable, size: Size
) -> None:
    names = tuple(name for name in reversed(list(NAMES)) if "-kinship" not in name)
    found = list(policies(names, table, size, ()))
    assert tuple(one.name for one in found) == names
    assert [one.sentence for one in found] == [NAMES[name] for name in names]
    again = pickle.loads(pickle.dumps(found))  # noqa: S301  our own words
    assert [one.name for one in again] == [one.name for one in found]


def test_what_lines_ask_for_is_let_go_where_no_plan_has_it(table: PairTable) -> None:
    problem = pose_problem(table, fresh=True)
    asking = replace(problem, lines=tuple(replace(one, wanted_min=1e4) for one in problem.lines))
    rng = np.random.default_rng(1)
    assert by_plan(table, asking, rng) == by_plan(table, problem, rng) != ()
    assert by_plan(table, replace(problem, candidates=()), rng) == ()


def test_a_wish_that_cannot_be_met_does_not_leave_a_spring_without_chicks(
    table: PairTable,
) -> None:
    """A pair wished together is too near under half the limit: the others are bred all the same."""
    problem = pose_problem(table, fresh=True)
    wish = PairTogether(name="AC0 with P0", hen="P0", cock="AC0")
    assert ("P0", "AC0") not in {(one.hen, one.cock) for one in problem.candidates}
    pens = by_plan(table, replace(problem, demands=(wish,)), np.random.default_rng(1))
    assert pens
    filled = [PlannedPen(pen=one.pen, cock=one.cock, pairs=one.pairs) for one in pens]
    assert evaluate(problem, filled).broken == ()
