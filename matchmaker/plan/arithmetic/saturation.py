"""What the worth of a line's pairs counts, once it has what it needs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.plan.posing.problem import SECOND_HELPING

if TYPE_CHECKING:
    from matchmaker.plan.posing.problem import LineGoal


def saturate(worth: float, chicks_wanted: float) -> float:
    """Return what a line's worth counts: in full to its need, a quarter to twice it, then nothing.

    >>> saturate(8.0, 10.0), saturate(14.0, 10.0), saturate(99.0, 10.0)
    (8.0, 11.0, 12.5)
    """
    beyond = min(max(worth - chicks_wanted, 0.0), chicks_wanted)
    return min(worth, chicks_wanted) + SECOND_HELPING * beyond


def counted(goal: LineGoal, worth: float) -> float:
    """Return what a line counts: the worth of its pairs with what it has already."""
    return saturate(goal.banked + worth, goal.chicks_wanted)
