"""What a cross costs: chicks to rear for enough birds of every class kept, and test chicks."""

from __future__ import annotations

from math import ceil
from typing import TYPE_CHECKING, Final

from matchmaker.route.numbers import both_needed, needed
from matchmaker.route.task import PROOFS

if TYPE_CHECKING:
    from fractions import Fraction

    from matchmaker.route.task import Task
    from matchmaker.route.telling import Cell
    from matchmaker.tables.records import Sex

MOST_CHICKS: Final = 5000
"""A cross that needs more chicks reared than this is no step of a route."""


def good_chance(task: Task, cell: Cell) -> Fraction:
    """Chance that a chick is of the class's sex, told to be of it and truly carries."""
    return cell.chance * task.carrying(cell.mix) / 2


def to_rear(
    task: Task, cells: list[tuple[Sex, Cell]], birds: int, level: float, rate: float = 1.0
) -> int | None:
    """Chicks to rear from a cross for so many birds of every class kept that truly carry.

    Of several classes of one sex the rarest decides, as if the others came with it. With ``rate``,
    the chance that an egg set becomes a chick reared, eggs to set.
    """
    best: dict[Sex, float] = {}
    for sex, cell in cells:
        chance = float(good_chance(task, cell)) * rate
        best[sex] = min(best.get(sex, 1.0), chance)
    chances = list(best.values())
    if len(chances) == 1:
        return needed(birds, chances[0], level)
    return both_needed(birds, chances[0], chances[1], level)


def cross_chicks(task: Task, cells: list[tuple[Sex, Cell]]) -> int | None:
    """Chicks to rear from one cross with the test chicks of its birds; None if far too many."""
    reared = to_rear(task, cells, task.birds, task.level)
    if reared is None or reared > MOST_CHICKS:
        return None
    tests = sum(
        ceil(reared * cell.tested / 2) * cell.test_chicks
        for _, cell in cells
        if cell.telling in PROOFS
    )
    return reared + tests
