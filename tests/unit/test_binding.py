"""What a plan uses up, against counts made in another way."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import pytest

from matchmaker import verbs
from matchmaker.plan.season.binding import Resource, Used, what_binds, what_rules_reject
from matchmaker.report.binding_words import binding_sentences, binding_table, rejects_table
from tests.builders import HOME, HOME_SEEN, TOP, hen, write_flock
from tests.cli.run import EXAMPLES_FOLDER
from tests.keepers_flocks import flock_at_random

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.plan.season.season_plan import SeasonPlan

EXAMPLES = ("holm-fen", "skarn-farm", "tarn-croft")


@pytest.fixture(scope="module", params=EXAMPLES)
def plan(request: pytest.FixtureRequest) -> SeasonPlan:
    return verbs.plan(EXAMPLES_FOLDER / request.param)


def _of(plan: SeasonPlan, resource: Resource) -> list[Used]:
    return [one for one in what_binds(plan) if one.resource is resource]


def test_pens_and_places_are_those_of_the_table(plan: SeasonPlan) -> None:
    records = {pen.pen: pen for pen in plan.table.study.flock.tables.pens if pen.open}
    (pens,) = _of(plan, Resource.PENS)
    assert (pens.used, pens.limit) == (len(plan.pens), len(records))
    for pen, one in zip(plan.pens, _of(plan, Resource.PLACES), strict=True):
        assert (one.subject, one.used) == (pen.pen, len(pen.pairs))
        assert one.limit == records[pen.pen].hens_max
        assert one.full == (one.used == one.limit)


def test_each_cock_of_the_plan_is_told_once_and_within_his_limit(plan: SeasonPlan) -> None:
    hens = Counter(pair.cock for pen in plan.pens for pair in pen.pairs)
    told = {one.subject: one for one in _of(plan, Resource.COCK)}
    assert {cock: one.used for cock, one in told.items()} == hens
    assert all(one.used <= one.limit for one in told.values())


def test_the_closest_pair_is_the_one_with_least_room_below_its_limit(plan: SeasonPlan) -> None:
    (closest,) = _of(plan, Resource.PAIR_KINSHIP)
    pairs = [pair for pen in plan.pens for pair in pen.pairs]
    settings = plan.table.study.flock.settings
    rooms = []
    for pair in pairs:
        own = settings.line(pair.line or "").kinship_max
        rooms.append((settings.limits.kinship_max if own is None else own) - pair.kinship)
    assert closest.limit - closest.used == pytest.approx(min(rooms))


def test_every_rejected_pair_is_counted_under_each_rule_of_its_best_row(plan: SeasonPlan) -> None:
    pairs: Counter[str] = Counter()
    alone: Counter[str] = Counter()
    for entries in plan.table.by_birds.values():
        if not any(pair.allowed for pair in entries):
            rules = min(([b.rule for b in p.broken] for p in entries), key=len)
            pairs.update(set(rules))
            alone.update(set(rules) if len(set(rules)) == 1 else ())
    found = what_rules_reject(plan.table)
    assert sum(one.alone for one in found) == sum(alone.values())
    assert [one.pairs for one in found] == sorted((one.pairs for one in found), reverse=True)
    if all(len(entries) == 1 for entries in plan.table.by_birds.values()):
        assert {str(one.rule): one.pairs for one in found} == {str(k): n for k, n in pairs.items()}


@pytest.mark.parametrize("seed", range(12))
def test_nothing_is_used_beyond_its_limit(tmp_path: Path, seed: int) -> None:
    plan = verbs.plan(flock_at_random(tmp_path, seed))
    assert all(one.used <= one.limit + 1e-6 for one in what_binds(plan))


LIMITS = """
[limits]
mean_inbreeding_max = 0.1
sire_share_max = 0.9
[year]
rearing_room = 40
incubator_per_week = 30
"""


def test_rooms_and_limits_are_told_only_where_the_settings_give_them(tmp_path: Path) -> None:
    birds = (*HOME, hen("SI"))
    given = verbs.plan(write_flock(tmp_path / "a", birds, LIMITS, TOP, seen=HOME_SEEN))
    rooms = (Resource.CHICKS, Resource.EGGS, Resource.MEAN_INBREEDING, Resource.SIRE_SHARE)
    assert all(len(_of(given, room)) == 1 for room in rooms)
    (chicks,) = _of(given, Resource.CHICKS)
    assert chicks.used == pytest.approx(given.needs.chicks)
    assert chicks.limit == 40
    free = verbs.plan(write_flock(tmp_path / "b", birds, "", TOP, seen=HOME_SEEN))
    assert not any(_of(free, room) for room in rooms)


def test_the_words_name_what_is_used_up_and_only_that(plan: SeasonPlan) -> None:
    used = what_binds(plan)
    first = next(iter(binding_sentences(plan, used)))
    for one in used:
        if one.resource is Resource.COCK:
            assert (one.subject in first) == one.full
    table = binding_table(used)
    assert len(table.rows) == len(used)
    assert [row[-1] == "nothing left" for row in table.rows] == [one.full for one in used]
    assert all(len(row) == 3 for row in rejects_table(what_rules_reject(plan.table)).rows)


def test_a_plan_with_room_for_all_says_so(tmp_path: Path) -> None:
    pens = [{"pen": name, "hens_max": "60", "hens_min": "0"} for name in ("Yard", "Barn", "Shed")]
    plan = verbs.plan(write_flock(tmp_path, HOME, "", TOP, seen=HOME_SEEN, pens=pens))
    left = [one for one in what_binds(plan) if not one.full]
    assert next(iter(binding_sentences(plan, left))).startswith("Nothing is used up")
