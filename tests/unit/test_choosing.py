"""What would have a pair chosen or a bird used: done literally, it does so, and no step less does.

Settings and pens are written into the files and the folder is planned anew. A bird's prediction
stands in no file: it is moved in the study, and all pairs are judged again.
"""

from __future__ import annotations

import shutil
from collections import Counter
from typing import TYPE_CHECKING

import pytest

from matchmaker import verbs
from matchmaker.explain.bird import why_bird
from matchmaker.explain.levers import LeverKind, ValueLever, with_prediction
from matchmaker.explain.pair import why_pair
from matchmaker.explain.room_levers import RoomLever
from matchmaker.pairs.table import judge_pairs
from matchmaker.plan.season.season_plan import plan_season
from tests.cli.follow import follow
from tests.cli.run import edit_rows
from tests.why_flocks import scarce_flock

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.explain.choosing import Change, Choosing
    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.season.season_plan import SeasonPlan
    from tests.cli.run import Cells

SETTINGS = {
    LeverKind.TRAIT_WEIGHT: ("traits", "trait", "weight"),
    LeverKind.IMPORTANCE: ("lines", "line", "importance"),
    LeverKind.CHICKS_WANTED: ("lines", "line", "chicks_wanted"),
}


def planned_with(folder: Path, table: PairTable, change: Change, step: int) -> SeasonPlan:
    """The season planned after so many steps of a change, done to a copy of the folder."""
    lever = change.lever
    if isinstance(lever, ValueLever) and lever.kind is LeverKind.PREDICTION:
        study = with_prediction(table.study, lever.bird, lever.trait, lever.number(step))
        return plan_season(judge_pairs(study))
    copy = folder.with_name(f"{folder.name}-{lever.kind}-{step}")
    shutil.rmtree(copy, ignore_errors=True)
    shutil.copytree(folder, copy)
    if isinstance(lever, RoomLever):
        give_room(copy, lever, step)
    else:
        assert isinstance(lever, ValueLever)
        write_setting(copy, lever, step)
    return verbs.plan(copy)


def write_setting(folder: Path, lever: ValueLever, step: int) -> None:
    """Write the number into the settings."""
    if lever.kind is LeverKind.SHARE_WEIGHT:
        key = ["weights", "recurrent_share"]
    else:
        section, name, last = SETTINGS[lever.kind]
        key = [section, getattr(lever, name), last]
    follow(folder, {"act": "write", "key": key, "to": lever.number(step)})


def give_room(folder: Path, lever: RoomLever, step: int) -> None:
    """Write the place, the hen or the pen into the tables."""
    number = str(int(lever.number(step)))
    if lever.kind is LeverKind.HENS_OF_COCK:
        edit_rows(folder / "birds.csv", lambda rows: _set(rows, "bird", lever.subject, number))
    elif lever.kind is LeverKind.PLACES:
        edit_rows(folder / "pens.csv", lambda rows: _set(rows, "pen", lever.subject, number))
    elif step:
        edit_rows(folder / "pens.csv", lambda rows: _one_more(rows, lever.subject))


def _set(rows: Cells, name: str, subject: str, number: str) -> None:
    for row in rows:
        row["hens_max"] = number if row[name] == subject else row.get("hens_max", "")


def _one_more(rows: Cells, like: str) -> None:
    rows += [{**row, "pen": "New"} for row in rows if row["pen"] == like]


def holds(plan: SeasonPlan, hen: str, cock: str) -> bool:
    """Whether a plan has a pair."""
    return any((one.hen, one.cock) == (hen, cock) for pen in plan.pens for one in pen.pairs)


def birds_of(plan: SeasonPlan) -> set[str]:
    """The birds in a plan."""
    return {bird for pen in plan.pens for one in pen.pairs for bird in (one.hen, one.cock)}


def told(choosing: Choosing) -> Counter[LeverKind]:
    """The sorts of numbers that would do it."""
    return Counter(change.lever.kind for change in choosing.changes)


EVERY_SORT = {
    LeverKind.PREDICTION,
    LeverKind.TRAIT_WEIGHT,
    LeverKind.IMPORTANCE,
    LeverKind.CHICKS_WANTED,
    LeverKind.PLACES,
    LeverKind.PEN,
}


@pytest.mark.parametrize(
    ("seed", "asked", "sorts"),
    [
        (1, ("H1 AC", "H1 BC", "H4 BC"), EVERY_SORT),  # three that tell all of them
        (7, ("H1 SD", "H3 SD", "H5 SD"), {LeverKind.IMPORTANCE, LeverKind.CHICKS_WANTED}),
    ],
)
def test_what_would_have_a_pair_chosen_does_and_no_step_less(
    tmp_path: Path, seed: int, asked: tuple[str, ...], sorts: set[LeverKind]
) -> None:
    folder = scarce_flock(tmp_path / "flock", seed)
    table, plan = verbs.pairs(folder), verbs.plan(folder)
    seen: Counter[LeverKind] = Counter()
    for pair in asked:
        hen, cock = pair.split()
        choosing = why_pair(table, plan, hen, cock).choosing
        assert choosing is not None
        seen += told(choosing)
        for change in choosing.changes:
            for step, so in ((change.steps, True), (change.steps - 1, False)):
                after = planned_with(folder, table, change, step)
                assert holds(after, hen, cock) is so, (pair, change, step)
    assert sorts <= seen.keys()


def test_what_would_have_a_bird_used_does_and_no_step_less(tmp_path: Path) -> None:
    folder = scarce_flock(tmp_path / "flock", 3)
    table, plan = verbs.pairs(folder), verbs.plan(folder)
    used = birds_of(plan)
    found = 0
    for bird in sorted({bird for pair in table.allowed for bird in (pair.hen, pair.cock)} - used):
        choosing = why_bird(table, plan, bird).choosing
        assert choosing is not None
        for change in choosing.changes:
            found += 1
            for step, so in ((change.steps, True), (change.steps - 1, False)):
                after = planned_with(folder, table, change, step)
                assert (
                    any(bird in (pen.cock, *(one.hen for one in pen.pairs)) for pen in after.pens)
                    is so
                )
    assert found


def test_a_tie_asks_for_no_change(tmp_path: Path) -> None:
    """Two cocks alike in all: with either the plan is worth as much."""
    folder = scarce_flock(tmp_path / "flock", 1)
    table, plan = verbs.pairs(folder), verbs.plan(folder)
    other = {"SC": "SD", "SD": "SC"}
    ties = [
        why_pair(table, plan, one.hen, other[pen.cock]).choosing
        for pen in plan.pens
        for one in pen.pairs
        if pen.cock in other
    ]
    assert ties
    assert all(one is not None and one.tie and not one.changes for one in ties)
