"""Chicks to rear for enough of a class. Values: exact binomial, worked out apart from the project.

The table of Sedcole 1977 (Crop Sci 17:667) is from memory; the digits below are own arithmetic.
"""

from __future__ import annotations

from math import comb

import pytest
from scipy.stats import binom

from matchmaker.route.costs import to_rear
from matchmaker.route.numbers import both_needed, expected_birds, needed
from matchmaker.route.search import Search
from matchmaker.route.steps import route_of
from tests.route_helpers import task_of

SEDCOLE = {
    (1, 1 / 2): (5, 7),
    (4, 1 / 2): (13, 17),
    (15, 1 / 2): (40, 45),
    (1, 1 / 4): (11, 17),
    (4, 1 / 4): (29, 37),
    (10, 1 / 4): (60, 70),
    (1, 1 / 8): (23, 35),
    (4, 1 / 8): (60, 77),
    (1, 1 / 16): (47, 72),
    (15, 1 / 16): (347, 402),
    (1, 1 / 32): (95, 146),
    (1, 1 / 64): (191, 293),
}


@pytest.mark.parametrize(("birds", "chance"), SEDCOLE)
def test_birds_of_a_class(birds: int, chance: float) -> None:
    assert tuple(needed(birds, chance, level) for level in (0.95, 0.99)) == SEDCOLE[birds, chance]


@pytest.mark.parametrize(
    ("parted", "expected"), [(3, (199, 305)), (4, (149, 228)), (5, (119, 182))]
)
def test_a_recombinant_on_purpose(parted: int, expected: tuple[int, int]) -> None:
    chance = parted / 200
    assert tuple(needed(1, chance, level) for level in (0.95, 0.99)) == expected


def test_a_class_that_never_comes_has_no_number() -> None:
    assert needed(1, 0.0, 0.95) is None
    assert both_needed(1, 0.5, 0.0, 0.95) is None
    assert needed(1, 1e-9, 0.95) is None


@pytest.mark.parametrize(("birds", "chance"), [(100, 0.0015), (400, 0.01)])
def test_many_birds_of_a_rare_class(birds: int, chance: float) -> None:
    """Beside scipy's binomial distribution."""
    found = needed(birds, chance, 0.95)
    assert found is not None
    assert binom.sf(birds - 1, found, chance) >= 0.95 > binom.sf(birds - 1, found - 1, chance)


def test_a_class_that_always_comes() -> None:
    assert needed(3, 1.0, 0.99) == 3


@pytest.mark.parametrize(("birds", "one", "two"), [(1, 0.5, 0.5), (2, 0.25, 0.25), (3, 0.125, 0.4)])
def test_both_sexes_by_adding_up_every_outcome(birds: int, one: float, two: float) -> None:
    rest = 1 - one - two

    def chance(trials: int) -> float:
        return sum(
            comb(trials, a) * comb(trials - a, b) * one**a * two**b * rest ** (trials - a - b)
            for a in range(birds, trials + 1)
            for b in range(birds, trials - a + 1)
        )

    least = both_needed(birds, one, two, 0.95)
    assert least is not None
    assert chance(least) >= 0.95 > chance(least - 1)


def test_expected_birds_are_rounded_up() -> None:
    assert expected_birds(29, 0.25) == 8
    assert expected_birds(28, 0.25) == 7


def test_eggs_are_exact_and_not_chicks_divided() -> None:
    task = task_of({"O": 2}, backcrosses=1)
    step = route_of(task, Search(task).find()[0]).steps[0]
    cells = [(kept.way.sex, kept.cell) for kept in step.kept]
    eggs = to_rear(task, cells, 4, 0.95, task.reared)
    assert eggs == needed(4, 0.5 * task.reared, 0.95) == step.working.set_[0.95]
    assert eggs is not None
    assert eggs > (step.working.rear[0.95] or 0) / task.reared
