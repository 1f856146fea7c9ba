"""What is read off the replicates of an outlook, checked by hand on a few and by loops on many."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from matchmaker.ahead.figures import (
    LINE_KINDS,
    died_in,
    first_true,
    of_flock,
    of_lines,
    trait_change,
)
from tests.outlooks import ahead, changed, outlook

if TYPE_CHECKING:
    from matchmaker.ahead.outlook import Outlook


@pytest.fixture(scope="module")
def plan() -> Outlook:
    return outlook()


def test_shares_are_those_of_all_birds_of_the_working_lines(plan: Outlook) -> None:
    tally, found = plan.tally, of_flock(plan)
    for replicate in range(plan.replicates):
        for spring in range(7):
            birds = [
                tally.share[replicate, spring, line]
                for line in range(3)
                for _ in range(int(tally.birds[replicate, spring, line]))
            ]
            assert math.isclose(found["share"][replicate, spring], sum(birds) / len(birds))


def test_inbreeding_takes_in_the_pure_line_too(plan: Outlook) -> None:
    pure = np.zeros_like(plan.tally.inbreeding)
    pure[..., 3] = 0.5
    found = of_flock(replace(plan, tally=replace(plan.tally, inbreeding=pure)))["inbreeding"]
    birds = plan.tally.birds
    assert np.allclose(found, 0.5 * birds[..., 3] / birds.sum(axis=-1))


def test_a_flock_breeds_true_where_one_working_line_does_and_lives_where_all_do(
    plan: Outlook,
) -> None:
    flock, lines = of_flock(plan), of_lines(plan)
    assert (flock["fixed"] == lines["breeds_true"][..., :3].max(axis=-1)).all()
    assert (flock["all_alive"] == lines["alive"].min(axis=-1)).all()
    assert set(lines) == set(LINE_KINDS)
    assert 0 < flock["all_alive"][:, -1].mean() < 1


def test_a_pure_line_with_the_target_does_not_count_as_reached(plan: Outlook) -> None:
    some = np.zeros_like(plan.tally.whole_cocks)
    some[..., 3] = 2
    tally = replace(plan.tally, whole_cocks=some, whole_hens=some)
    assert of_flock(replace(plan, tally=tally))["fixed"].max() == 0


def test_no_season_was_bred_before_the_first_spring(plan: Outlook) -> None:
    for name in ("chicks", "eggs"):
        assert np.isnan(of_flock(plan)[name][:, 0]).all()
        assert (of_flock(plan)[name][:, 1:] == getattr(plan.tally, name)[:, 1:]).all()
        assert (getattr(plan.tally, name)[:, 0] == 0).all(), "the tally itself is left as it is"


def test_without_any_bird_there_is_no_share(plan: Outlook) -> None:
    none = replace(
        plan.tally,
        birds=np.zeros_like(plan.tally.birds),
        share=np.full_like(plan.tally.share, np.nan),
        inbreeding=np.full_like(plan.tally.inbreeding, np.nan),
    )
    found = of_flock(replace(plan, tally=none))
    assert np.isnan(found["share"]).all()
    assert np.isnan(found["inbreeding"]).all()


def test_a_line_that_comes_back_has_not_died() -> None:
    carriers = np.array([[2, 0, 3, 1, 0, 0, 0], [2, 0, 3, 1, 0, 0, 1], [0, 0, 0, 0, 0, 0, 0]])
    found = outlook(replicates=3)
    alder = np.array(found.tally.carriers)
    alder[:, :, 0] = carriers
    found = replace(found, tally=replace(found.tally, carriers=alder))
    when = died_in(found, 0)
    assert when[0] == 2031
    assert math.isnan(when[1])
    assert when[2] == 2027


def test_true_from_the_first_spring_in_which_half_are() -> None:
    found = outlook(replicates=4)
    cocks = np.zeros_like(found.tally.whole_cocks)
    cocks[:1, 3:, 0] = 1
    cocks[:2, 5:, 0] = 1
    one = replace(found, tally=replace(found.tally, whole_cocks=cocks, whole_hens=cocks))
    assert (first_true(one, 0), first_true(one, 1)) == (2032, None)
    hens = replace(one, tally=replace(one.tally, whole_hens=np.zeros_like(cocks)))
    assert first_true(hens, 0) is None


def test_a_trait_moves_within_lines_not_by_their_numbers() -> None:
    found = changed(ahead(replicates=2)).plan
    levels = np.full_like(found.tally.levels, np.nan)
    levels[:, 0, :3, 0] = [[1.0, 2.0, 6.0], [1.0, 2.0, 6.0]]
    levels[0, -1, :3, 0] = [1.5, 2.5, np.nan]
    moved = trait_change(replace(found, tally=replace(found.tally, levels=levels)), 0)
    assert moved.today[0] == 1.5
    assert moved.change[0] == 0.5
    assert np.isnan(moved.change[1])
    assert np.isnan(moved.today[1])


def test_where_nothing_is_brought_in_all_lines_are_told_of() -> None:
    found = outlook(replicates=2)
    pure = replace(found, subject=replace(found.subject, working=(False,) * 4))
    levels = found.tally.levels[:, :, :, 0]
    there = ~np.isnan(levels[:, -1])
    expected = [levels[at, -1, there[at]].mean() for at in range(2)]
    assert np.allclose(trait_change(pure, 0).last, expected)
    birds, share = found.tally.birds, np.nan_to_num(found.tally.share)
    assert np.allclose(of_flock(pure)["share"], (birds * share).sum(-1) / birds.sum(-1))
    assert (of_flock(pure)["fixed"] == found.tally.fixed.max(axis=-1)).all()
