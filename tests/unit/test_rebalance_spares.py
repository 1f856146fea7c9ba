"""What the loss of each cock would cost, the spares to keep, and the plan that bears a loss best.

Losses are held against trying every response (``tests.oracle``); flocks and figures are invented.
"""

from __future__ import annotations

import datetime as dt
import random
from functools import cache
from itertools import combinations
from math import ceil
from typing import TYPE_CHECKING

import pytest

from matchmaker import verbs
from matchmaker.plan.arithmetic.verify import evaluate
from matchmaker.rebalance.before_loss import pens_on
from matchmaker.rebalance.chances import loss_chances
from matchmaker.rebalance.losses import closeness, losses
from matchmaker.rebalance.posing import pose_response, unmoved
from matchmaker.rebalance.responding import Responder
from matchmaker.rebalance.robust import robust_plan
from matchmaker.rebalance.spares import _Chooser, precautions
from matchmaker.rebalance.standing import lose
from tests.builders import cock, dna, flock_of, hen, judged
from tests.oracle.response_enumeration import Yard
from tests.oracle.response_flocks import FlockMaker, SmallFlock

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from pathlib import Path

    from matchmaker.plan.season.season_plan import SeasonPlan
    from matchmaker.rebalance.losses import CockLoss
    from matchmaker.rebalance.robust import RobustChoice
    from tests.builders import Row

CLOSE = 1e-6


@cache
def flock_by(seed: int) -> SmallFlock:
    return FlockMaker(seed, quiet=True).make()


@cache
def losses_of(seed: int) -> tuple[CockLoss, ...]:
    flock = flock_by(seed)
    return losses(flock.season, flock.before)


def outside(flock: SmallFlock) -> set[str]:
    """The cocks that stand in no pen and have a hen."""
    return {his for _, his in flock.season.pairs} - set(flock.before.cocks)


def sound_flocks(seeds: Iterable[int]) -> Iterator[int]:
    """Those whose pens as they stand keep all minimums."""
    for seed in seeds:
        season, before = flock_by(seed).season, flock_by(seed).before
        posed = pose_response(season, before)
        kept = not evaluate(posed.problem, unmoved(posed)).broken
        if kept and before.cocks:
            yield seed


def test_a_loss_is_the_whole_value_less_that_of_the_best_response() -> None:
    """Each is known to a tenth of a chick, and most of them exactly."""
    told = exact = 0
    for seed in sound_flocks(range(16)):
        flock = flock_by(seed)
        whole = Yard(flock.season, flock.before).at_most(None)
        for one in losses_of(seed):
            after = Yard(flock.season, lose(flock.before, {one.cock: one.day})).at_most(None)
            if whole is None or after is None:
                assert one.best is None or whole is None
                continue
            assert one.best is not None
            near = closeness(one.before) + CLOSE
            assert one.loss == pytest.approx(max(0.0, whole - after), abs=near), (seed, one.cock)
            assert one.at_least <= one.loss
            assert one.at_least - CLOSE <= max(0.0, whole - after)
            told += 1
            exact += abs(one.loss - max(0.0, whole - after)) < CLOSE
    assert told > 10
    assert exact > 0.8 * told


def test_the_best_response_loses_no_more_than_none() -> None:
    """Where nobody need be moved; his hens' eggs of the next days are what his pen still gives."""
    gained = 0
    for seed in range(45):
        flock = flock_by(seed)
        for one in losses_of(seed):
            posed = pose_response(flock.season, lose(flock.before, {one.cock: one.day}))
            score = evaluate(posed.problem, unmoved(posed))
            assert one.without == pytest.approx(score.value)
            if one.best is None:
                assert one.loss == max(0.0, one.before - one.without)
            elif not score.broken:
                assert one.without <= one.best.bound + CLOSE, (seed, one.cock)
                gained += one.without < one.best.value - CLOSE
                assert one.shares_out == bool(one.best.moved)
    assert gained > 20


def test_a_spare_stands_in_no_pen_and_comes_into_one() -> None:
    seen = several = 0
    for seed in range(45):
        for one in losses_of(seed):
            if one.spare is not None:
                assert one.best is not None
                assert one.spare in outside(flock_by(seed))
                brought = {pen.cock for pen in one.best.pens} & outside(flock_by(seed))
                assert one.spare in brought
                assert one.spares == brought, "all of them are told"
                several += len(brought) > 1
                seen += 1
            else:
                assert one.spares == frozenset()
    assert seen > 20
    assert several > 3


def test_a_loss_lies_between_what_it_is_at_least_and_at_most() -> None:
    for seed in range(45):
        for one in losses_of(seed):
            assert one.before <= one.bound + CLOSE
            assert one.after == max(one.without, one.best.value if one.best else one.without)
            assert one.loss == max(0.0, one.before - one.after)
            assert one.at_least - CLOSE <= one.loss <= one.at_most + CLOSE, (seed, one.cock)


def test_a_loss_with_one_of_two_spares_kept_is_not_that_with_both() -> None:
    """What is to be expected lost is lower with all that a response brings in than with one."""
    worse = 0
    for seed in range(45):
        chooser = _Chooser(outside(flock_by(seed)), losses_of(seed), chances_of(seed))
        for one in losses_of(seed):
            if len(one.spares) < 2:
                continue
            assert chooser._loss(one, one.spares) == one.loss
            for spare in one.spares:
                kept = chooser._loss(one, frozenset({spare}))
                assert kept >= one.loss - CLOSE
                worse += kept > one.loss + CLOSE
    assert worse > 3


# Which spares to keep.


def chances_of(seed: int) -> dict[str, float]:
    rng = random.Random(f"chances {seed}")  # noqa: S311
    return {one.cock: rng.choice((0.03, 0.05, 0.12)) for one in losses_of(seed)}


def expected_with(seed: int, kept: Iterable[str]) -> float:
    """The loss to be expected if these spares are kept and no other cock outside the pens."""
    flock = flock_by(seed)
    sold = sorted(outside(flock) - set(kept))
    total = 0.0
    for one in losses_of(seed):
        posed = pose_response(flock.season, lose(flock.before, {one.cock: one.day}))
        best = Responder(posed.problem).best(without=sold)
        value = one.without if best is None else best.value
        total += chances_of(seed)[one.cock] * max(0.0, one.before - value)
    return total


def kept_by(seed: int, number: int) -> tuple[str, ...]:
    chooser = _Chooser(outside(flock_by(seed)), losses_of(seed), chances_of(seed))
    return chooser.best_of(number)


def least_of_all(seed: int, number: int) -> float:
    """The least loss to be expected with any so many spares."""
    spares = sorted(outside(flock_by(seed)))
    return min(expected_with(seed, own) for own in combinations(spares, min(number, len(spares))))


def near(seed: int) -> float:
    """To what the loss to be expected is known, each being known to a tenth of a chick."""
    return sum(chances_of(seed).values()) * 0.1 + CLOSE


@pytest.mark.parametrize("number", [1, 2])
def test_the_spares_kept_are_the_best_of_all_so_many(number: int) -> None:
    fewer = 0
    for seed in range(30):
        kept = kept_by(seed, number)
        assert set(kept) <= outside(flock_by(seed))
        assert len(kept) <= number
        fewer += len({spare for one in losses_of(seed) for spare in one.spares}) > number
        assert expected_with(seed, kept) <= least_of_all(seed, number) + near(seed), seed
    assert fewer >= (2 if number == 1 else 0)


# How likely a cock is to be lost.

AGES = {"2026-02-02": "young", "2026-02-01": "grown", "2024-02-02": "grown", "2024-01-31": "old"}
"""By the day of hatching, for pens made up on 1 February 2027."""


@pytest.mark.parametrize(
    ("settings", "risks"),
    [
        ("", {"young": 0.03, "grown": 0.05, "old": 0.12}),
        (
            "[risk]\ncock_young = 0.01\ncock_grown = 0.2\ncock_old = 0.5\n",
            {"young": 0.01, "grown": 0.2, "old": 0.5},
        ),
    ],
)
def test_chances_are_those_of_the_settings_by_age(
    tmp_path: Path, settings: str, risks: dict[str, float]
) -> None:
    birds = [cock(f"S{place}", hatched=day) for place, day in enumerate(AGES)]
    birds += [cock("S9", hatched=""), hen("H1")]
    flock = flock_of(tmp_path, birds, settings)
    found = loss_chances(flock, [f"S{place}" for place in (0, 1, 2, 3, 9)])
    expected = [risks[age] for age in AGES.values()]
    assert list(found.values()) == [*expected, risks["grown"]]


# The plan of a folder.

YEAR = "[year]\npen_up = 2027-02-01\ncollect_from = 2027-02-08\ncollect_until = 2027-04-18\n"
RISK = "[risk]\ncock_young = 0.05\ncock_grown = 0.1\ncock_old = 0.4\n"
ALDER = "sussex:0.5|araucana:0.5"
HATCHED = ("2026-05-01", "2025-03-01", "2023-03-01")


def risky(path: Path, seed: int) -> SeasonPlan:
    """A plan of two or three pens for two lines; cocks of all ages, some more than have a pen."""
    rng = random.Random(f"risky {seed}")  # noqa: S311
    birds = [
        *(
            cock(f"S{n}", hatched=rng.choice(HATCHED), fertility=rng.choice(("0.8", "0.9")))
            for n in range(rng.randint(2, 4))
        ),
        *(
            cock(f"A{n}", "Alder", ALDER, hatched=rng.choice(HATCHED))
            for n in range(rng.randint(1, 3))
        ),
        *(hen(f"H{n}") for n in range(rng.randint(4, 7))),
        *(hen(f"K{n}", "Alder", ALDER) for n in range(rng.randint(1, 3))),
    ]
    pens: list[Row] = [
        {"pen": pen, "hens_max": str(rng.randint(2, 4))}
        for pen in ("Yard", "Orchard", "Coop")[: rng.randint(2, 3)]
    ]
    needs = (
        f"[lines.Pure]\nchicks_wanted = {rng.randint(20, 80)}\nfamilies = 3\n"
        f"[lines.Alder]\nchicks_wanted = {rng.randint(10, 50)}\nfamilies = 2\n"
    )
    seen = [dna(one["bird"], "O", 1) for one in birds if one["line"] == "Alder"]
    return verbs.plan(judged(path, birds, YEAR + needs + RISK, seen=seen, pens=pens))


@pytest.fixture(scope="module")
def choices(tmp_path_factory: pytest.TempPathFactory) -> dict[int, RobustChoice]:
    """The robust plans of a few flocks."""
    return {seed: robust_plan(risky(tmp_path_factory.mktemp("risky"), seed)) for seed in range(7)}


def test_the_spare_of_a_line_is_never_in_a_pen(choices: dict[int, RobustChoice]) -> None:
    lines = spares = 0
    for choice in choices.values():
        care, penned = choice.best.precautions, {pen.cock for pen in choice.best.plan.pens}
        assert {one.cock for one in care.losses} == penned
        assert not penned & set(care.kept)
        for one in care.lines:
            assert one.cock not in penned
            assert one.line in {line for loss in care.losses for line in loss.lines}
            assert one.expected >= 0
            lines += 1
        spares += len(care.kept)
        assert care.wanted == max(2, ceil(len(penned) / 2))
        assert len(care.kept) <= care.wanted
        assert care.left_out == ()
    assert min(lines, spares) > 3


def test_what_is_to_be_expected_is_the_value_less_each_loss_by_its_chance(
    choices: dict[int, RobustChoice],
) -> None:
    risks = dict(zip(HATCHED, (0.05, 0.1, 0.4), strict=True))
    for choice in choices.values():
        for tried in (choice.best, choice.chosen):
            birds = tried.plan.table.study.flock.by_band()
            lost = 0.0
            for one in tried.precautions.losses:
                hatched = birds[one.cock].record.hatched
                lost += risks[str(hatched)] * one.loss
            score = evaluate(choice.best.plan.problem, tried.plan.solution.pens)
            assert score.broken == ()
            assert tried.value == pytest.approx(score.value)
            assert tried.expected == pytest.approx(score.value - lost)
            assert tried.largest == max(one.loss for one in tried.precautions.losses)
            worst = tried.precautions.of(tried.cock or "")
            assert worst is not None
            assert worst.loss == tried.largest


def test_the_robust_plan_is_to_be_expected_worth_no_less(choices: dict[int, RobustChoice]) -> None:
    """No plan can be expected to be worth more than the best one is if nothing is lost."""
    for seed, choice in choices.items():
        assert choice.gains >= 0, seed
        assert choice.costs >= -CLOSE, seed
        assert choice.at_most >= 0, seed
        assert choice.chosen.expected + choice.at_most >= choice.best.value - CLOSE, seed


def test_some_plan_pays_for_being_safer(choices: dict[int, RobustChoice]) -> None:
    """It gives up chicks if nothing is lost, and is to be expected worth more all the same."""
    dearer = [choice for choice in choices.values() if choice.costs > 0.01]
    assert dearer
    for choice in dearer:
        assert choice.gains > 0
        assert choice.chosen.plan.solution.pens != choice.best.plan.solution.pens
        assert choice.tried > 1
        saved = choice.best.precautions.expected - choice.chosen.precautions.expected
        assert choice.gains == pytest.approx(saved - choice.costs)
    assert any(choice.tried == 1 for choice in choices.values())


# Cocks in succession.

SUCCESSION: list[Row] = [
    {"pen": "Yard", "hens_max": "4", "until": "2027-03-07"},
    {"pen": "Yard", "hens_max": "4", "from": "2027-03-08"},
    {"pen": "Orchard", "hens_max": "4"},
]


@pytest.fixture(scope="module")
def in_turns(tmp_path_factory: pytest.TempPathFactory) -> SeasonPlan:
    birds = [*(cock(f"S{n}") for n in range(1, 5)), *(hen(f"H{n}") for n in range(1, 9))]
    needs = "[lines.Pure]\nchicks_wanted = 200\nfamilies = 4\ncocks_min = 3\n"
    return verbs.plan(
        judged(tmp_path_factory.mktemp("turns"), birds, YEAR + needs, pens=SUCCESSION)
    )


def test_with_turns_the_pens_that_have_begun_stand(in_turns: SeasonPlan) -> None:
    """The second cock of the Yard is in no pen before 8 March, the first in none after."""
    early, late = (
        {
            pen.cock
            for pen in in_turns.pens
            if pen.turn.startswith(f"2027-{day}") and pen.pen == "Yard"
        }
        for day in ("02-01", "03-08")
    )
    whole = {pen.cock for pen in in_turns.pens if pen.pen == "Orchard"}
    assert early
    assert late
    assert early != late
    then = pens_on(in_turns, dt.date(2027, 2, 20))
    assert (set(then.homes(*early)), set(then.cocks)) == ({"Yard"}, early | whole)
    after = pens_on(in_turns, dt.date(2027, 3, 20))
    assert set(after.cocks) == late | whole
    last = pens_on(in_turns, dt.date(2027, 3, 7))
    assert set(last.cocks) == early | whole, "the last day is one of them"


def test_with_turns_losses_are_those_of_the_first_day_of_eggs(in_turns: SeasonPlan) -> None:
    care = precautions(in_turns)
    stand = pens_on(in_turns, care.day)
    assert care.day == dt.date(2027, 2, 8)
    assert tuple(one.cock for one in care.losses) == stand.cocks
    assert all(one.loss > 0 for one in care.losses)
    assert all(one.pens == stand.homes(one.cock) for one in care.losses)


def test_with_turns_a_cock_of_a_later_turn_is_no_spare(in_turns: SeasonPlan) -> None:
    care = precautions(in_turns)
    planned = {pen.cock for pen in in_turns.pens}
    assert not planned & {*care.kept, *(one.cock for one in care.lines)}
