"""Replicates: the same whoever plays them, in any order; policies on the same luck."""

from __future__ import annotations

import pickle
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from matchmaker.ahead.fan_out import fan_out
from matchmaker.ahead.losses import losses
from matchmaker.ahead.luck import Event
from matchmaker.ahead.outlook import FIELDS
from matchmaker.ahead.playing import Task
from matchmaker.ahead.policies import NAMES
from matchmaker.errors import NoPlanError
from matchmaker.looking import Hands, Horizon, look_ahead
from matchmaker.plan.season.season_plan import plan_season
from tests.ahead_flocks import BIRDS, PENS, SEEN, SURE, played, watched
from tests.builders import chick, judged
from tests.keepers_flocks import flock_at_random

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from matchmaker.ahead.outlook import Tally
    from matchmaker.pairs.table import PairTable
    from tests.ahead_flocks import Watched

ORDERS = ((0, 1, 2, 3, 4, 5), (5, 2, 0, 4, 3, 1))


@pytest.fixture(scope="module")
def player(tmp_path_factory: pytest.TempPathFactory) -> Watched:
    """Three policies on two replicates of a random small flock."""
    table = flock_at_random(tmp_path_factory.mktemp("player") / "flock", 3)
    return watched(table, ("plan", "random", "half-kinship"), seasons=2)


TASKS = [Task(policy=policy, replicate=replicate) for policy in range(3) for replicate in range(2)]


@pytest.fixture(scope="module")
def tallies(player: Watched) -> list[Tally]:
    return [player(task) for task in TASKS]


def assert_same(found: Sequence[Tally], expected: Sequence[Tally]) -> None:
    for one, other in zip(found, expected, strict=True):
        for name in FIELDS:
            np.testing.assert_array_equal(getattr(one, name), getattr(other, name))


def test_tasks_are_the_same_in_any_order(player: Watched, tallies: list[Tally]) -> None:
    order = [5, 2, 0, 4, 3, 1]
    assert_same([player(TASKS[at]) for at in order], [tallies[at] for at in order])


def test_a_player_can_be_sent_and_plays_the_same_there(
    player: Watched, tallies: list[Tally]
) -> None:
    sent = pickle.loads(pickle.dumps(player))  # noqa: S301  our own words
    assert_same([sent(TASKS[3])], [tallies[3]])


def test_workers_are_as_good_as_one(player: Watched, tallies: list[Tally]) -> None:
    with ThreadPoolExecutor(2) as pool:
        assert_same(fan_out(player, TASKS[:4], executor=pool), tallies[:4])


def test_replicates_and_seeds_differ(player: Watched, tallies: list[Tally]) -> None:
    assert not np.array_equal(tallies[0].goal, tallies[1].goal)
    other = replace(player, seed=2)
    assert not np.array_equal(other(TASKS[0]).goal[1:], tallies[0].goal[1:])


def test_how_many_replicates_there_are_changes_none(tmp_path: Path) -> None:
    table = judged(tmp_path / "f", BIRDS, seen=SEEN, pens=PENS)
    few, more = (watched(table, seasons=2, replicates=number) for number in (1, 3))
    assert_same([few(Task(policy=0, replicate=0))], [more(Task(policy=0, replicate=0))])


def test_policies_meet_the_same_truth_and_the_same_luck_this_spring(player: Watched) -> None:
    seasons = [played(player, 1, policy)[1][0] for policy in range(3)]
    first, *others = seasons
    for other in others:
        assert other.world.bands == first.world.bands
        for name in ("bits", "alleles", "values", "lasting"):
            np.testing.assert_array_equal(
                getattr(other.world.birds, name), getattr(first.world.birds, name)
            )
        for event in Event:
            assert other.fate.stream(event).random() == first.fate.stream(event).random()
        assert losses(other.table.study.flock, other.fate.stream(Event.DEATHS)) == losses(
            first.table.study.flock, first.fate.stream(Event.DEATHS)
        )


def test_all_policies_stand_at_the_same_point_today(tallies: list[Tally]) -> None:
    for name in FIELDS:
        same = [getattr(tallies[at], name)[0] for at in (0, 2, 4)]
        np.testing.assert_array_equal(same[0], same[1])
        np.testing.assert_array_equal(same[0], same[2])


@pytest.fixture(scope="module")
def table(tmp_path_factory: pytest.TempPathFactory) -> PairTable:
    return judged(tmp_path_factory.mktemp("looking") / "flock", BIRDS, SURE, seen=SEEN, pens=PENS)


def test_looking_ahead_begins_with_the_plan_as_it_is_proposed(table: PairTable) -> None:
    horizon = Horizon(seasons=1, replicates=2, seed=4)
    told: list[tuple[int, int]] = []
    found = look_ahead(
        table,
        horizon,
        compare=("random", "one-line-fewer"),
        hands=Hands(workers=1, told=lambda done, of: told.append((done, of))),
    )
    assert [one.policy for one in found.outlooks] == ["plan", "random"]
    assert found.plan.sentence == NAMES["plan"]
    assert found.plan.tally.goal.shape == (2, 2)
    assert (found.seed, found.subject.springs, found.subject.seasons) == (4, (2027, 2028), 1)
    assert (found.subject.lines, found.subject.working) == (("Alder", "Pure"), (True, False))
    assert found.plan.replicates == 2
    assert told[-1] == (4, 4)
    assert found.defaults
    pens = plan_season(table).solution.pens
    eggs = [pair.chicks for pen in pens for pair in pen.pairs]
    assert found.plan.tally.eggs[:, 1] == pytest.approx(sum(eggs), abs=len(eggs))
    again = look_ahead(table, horizon, hands=Hands(workers=1))
    assert_same([again.plan.tally], [found.plan.tally])


def test_a_flock_without_a_plan_is_told_so(tmp_path: Path) -> None:
    asking = "[lines.Alder]\nwanted_min = 10000\n"
    table = judged(tmp_path / "f", BIRDS, asking, seen=SEEN, pens=PENS)
    with pytest.raises(NoPlanError):
        look_ahead(table, Horizon(seasons=1, replicates=1), hands=Hands(workers=1))


def test_birds_are_young_in_the_first_spring_of_their_lives(tmp_path: Path) -> None:
    """Inbreeding is that of young birds: none of them yet, the first chicks then."""
    birds = (
        *(row for row in BIRDS if row["line"] == "Pure"),
        chick("X", "hen", "S0", "P0", "Pure", hatched="2025-12-01"),
    )
    player = watched(judged(tmp_path / "f", birds, SURE, pens=PENS), seasons=1)
    _, (season,) = played(player)
    today = player._measured(season.world, season.table)
    later = player._measured(season.grown, season.spring)
    assert not today.young.any()
    new = [band not in season.world.bands for band in season.grown.bands]
    assert later.young.tolist() == new
    assert any(new)
