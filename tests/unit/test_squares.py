"""Squares of a group's kinship: what rounding leaves over must not blow up a weight."""

from __future__ import annotations

from matchmaker.plan.posing.problem import GroupKinship
from matchmaker.plan.program.squares import squares_of


def test_a_weight_that_is_dust_is_left_out() -> None:
    """Invented: C's second root has a weight that only rounding can have left."""
    group = GroupKinship(
        parents=((), (), ((0, 0.5),), ((0, 0.5), (1, 1e-17))),
        within=(0.5, 0.5, 0.25, 0.25),
        birds=(("B", 2), ("C", 3)),
    )
    found = squares_of(group, ["B", "C"])
    assert all(1e-3 < abs(weight) < 1e3 for one in found for weight in one.parts.values())


def test_a_small_share_of_a_forebear_counts() -> None:
    """Invented: a forebear passed on by a thousandth is no dust."""
    group = GroupKinship(
        parents=((), (), ((0, 0.5), (1, 0.001)), ((0, 0.5), (1, 0.499))),
        within=(0.5, 0.5, 0.25, 0.25),
        birds=(("B", 2), ("C", 3)),
    )
    found = squares_of(group, ["B", "C"])
    assert len(found) == 4
