"""What holds of pens filled without planning, on random problems and random flocks."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from matchmaker.ahead.baselines import BASELINES, random_within_rules
from matchmaker.ahead.eye import UNKNOWN_TO_HIM, known_parent
from matchmaker.flock.listing import natural
from matchmaker.plan.arithmetic.result import PlannedPen
from matchmaker.plan.posing.pose import pose_problem
from tests.keepers_flocks import breaches, flock_at_random
from tests.strategies_plan import larger_problem_by_seed, problem_by_seed

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.posing.problem import PlanProblem

NO_TABLE: PairTable = None  # type: ignore[assignment]  # random filling looks at the problem alone


def filled(problem: PlanProblem, seed: int) -> tuple[PlannedPen, ...]:
    return random_within_rules(NO_TABLE, problem, np.random.default_rng(seed))


@pytest.mark.parametrize("start", range(0, 200, 20))
def test_random_pens_break_nothing_and_have_room_for_nobody(start: int) -> None:
    """No pair that is left can be added to any pen, by plain arithmetic."""
    for seed in range(start, start + 20):
        problem = problem_by_seed(seed)
        pens = filled(problem, seed)
        assert breaches(problem, pens) == ()
        for at, pen in enumerate(pens):
            for one in (left for left in problem.candidates if not left.tested):
                more = replace(pen, pairs=(*pen.pairs, one))
                assert breaches(problem, (*pens[:at], more, *pens[at + 1 :]))
        for pen in pens_left(problem, pens):
            assert breaches(problem, (*pens, pen))


def pens_left(problem: PlanProblem, pens: tuple[PlannedPen, ...]) -> Iterator[PlannedPen]:
    """Every pen that stayed empty, with each pair that could be the first in it."""
    taken = {(pen.pen, pen.turn) for pen in pens}
    for kind in (one for one in problem.kinds if one.hens_min <= 1):
        for label in (one for one in kind.pens if (one, kind.turn) not in taken):
            for one in (left for left in problem.candidates if not left.tested):
                yield PlannedPen(pen=label, cock=one.cock, pairs=(one,), turn=kind.turn)


@pytest.mark.parametrize("seed", range(12))
def test_larger_problems_too(seed: int) -> None:
    problem = larger_problem_by_seed(seed)
    pens = filled(problem, seed)
    assert breaches(problem, pens) == ()
    assert pens == filled(problem, seed)
    assert not any(pair.tested for pen in pens for pair in pen.pairs)


def test_seeds_differ() -> None:
    problem = larger_problem_by_seed(3)
    assert len({filled(problem, seed) for seed in range(10)}) > 5


SEEDS = range(16)


@pytest.fixture(scope="module")
def flocks(tmp_path_factory: pytest.TempPathFactory) -> list[PairTable]:
    folder: Path = tmp_path_factory.mktemp("keepers")
    return [flock_at_random(folder / str(seed), seed) for seed in SEEDS]


@pytest.mark.parametrize("way", BASELINES)
def test_pens_of_random_flocks_are_possible(flocks: list[PairTable], way: str) -> None:
    full = 0
    for seed, table in enumerate(flocks):
        problem = pose_problem(table)
        pens = BASELINES[way](table, problem, np.random.default_rng(seed))
        assert breaches(problem, pens, table) == ()
        assert pens == BASELINES[way](table, problem, np.random.default_rng(seed))
        assert [pen.pen for pen in pens] == sorted((pen.pen for pen in pens), key=natural)
        full += len(pens)
    assert full > len(flocks)


@pytest.mark.parametrize("way", BASELINES)
def test_no_keeper_takes_what_he_knows_he_must_not(flocks: list[PairTable], way: str) -> None:
    known = 0
    for table in flocks:
        birds = table.study.flock.by_band()
        pairs = {pair.key: pair for pair in table.pairs}
        for pen in BASELINES[way](table, pose_problem(table), np.random.default_rng(1)):
            for one in pen.pairs:
                pair = pairs[one.hen, one.cock, one.row]
                assert all(broken.rule in UNKNOWN_TO_HIM for broken in pair.broken)
                if way == "random within the rules":
                    assert pair.allowed
                    continue
                of_hen, of_cock = (
                    {known_parent(birds[band].record.sire), known_parent(birds[band].record.dam)}
                    for band in (one.hen, one.cock)
                )
                assert not (of_hen & of_cock - {""})
                assert one.hen not in of_cock
                assert one.cock not in of_hen
                known += 1
    assert known or way == "random within the rules"
