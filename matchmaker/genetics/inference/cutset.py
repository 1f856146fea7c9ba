"""Which variables to hold fixed so that the rest of a network is narrow."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.genetics.inference.elimination import eliminated

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from matchmaker.genetics.inference.elimination import Neighbours, Step


SETS_MIN = 3

REPEATED = 0.8
"""How much less a variable's neighbours count for each earlier set that fixed it."""


@dataclass(frozen=True, slots=True)
class CutSet:
    """Variables held fixed, and the steps that sum out all others."""

    cut: tuple[int, ...]
    steps: tuple[Step, ...]


def cut_sets(near: Neighbours, sizes: Mapping[int, int], clique_max: int) -> list[CutSet]:
    """Return cut sets, in turn, such that every variable is free in one of them at least.

    Given the variables of a cut set, no clique of the rest has over ``clique_max`` cells (more
    only where a variable would otherwise never be free). Each set rather fixes what the earlier
    ones left free, so that what is bound in one is drawn with its neighbours in another. A single
    empty set is returned where nothing need be fixed.

    Examples
    --------
    A square of variables of three states falls apart when two opposite corners are given:

    >>> square = {0: {1, 3}, 1: {0, 2}, 2: {1, 3}, 3: {0, 2}}
    >>> [one.cut for one in cut_sets(square, dict.fromkeys(range(4), 3), 9)]
    [(0,), (1,), (2,)]
    """
    uses = dict.fromkeys(near, 0)
    found: list[CutSet] = []
    bound: list[int] = []
    while len(found) < SETS_MIN or bound:
        by_neighbours = sorted(bound, key=lambda one: (-len(near[one]), one))
        cheap = {variable: REPEATED**count for variable, count in uses.items()}
        fresh = cut_set(near, sizes, clique_max, cheap, by_neighbours)
        found.append(fresh)
        if not fresh.cut:
            break
        for variable in fresh.cut:
            uses[variable] += 1
        bound = [variable for variable, count in uses.items() if count == len(found)]
    return found


def cut_set(
    near: Neighbours,
    sizes: Mapping[int, int],
    clique_max: int,
    weight: Mapping[int, float],
    wanted_free: Iterable[int],
) -> CutSet:
    """Return variables to fix, and the steps that sum out the rest.

    What is narrow is summed out; where nothing is, the variable whose neighbours times its
    ``weight`` are most is fixed, and so on. Of ``wanted_free`` those are never fixed that share no
    neighbour with an earlier one; where nothing else is left to fix, they are summed out however
    wide that is.

    Examples
    --------
    >>> square = {0: {1, 3}, 1: {0, 2}, 2: {1, 3}, 3: {0, 2}}
    >>> cut_set(square, dict.fromkeys(range(4), 3), 9, dict.fromkeys(range(4), 0), [0]).cut
    (1,)
    """
    left = {variable: set(others) for variable, others in near.items()}
    held = _apart(wanted_free, near)
    cut: set[int] = set()
    while True:
        eliminated(left, sizes, clique_max)
        able = [variable for variable in left if variable not in held]
        if not able:
            break
        chosen = max(able, key=lambda one: (len(left[one]) * weight[one], -one))
        cut.add(chosen)
        for other in left.pop(chosen):
            left[other].discard(chosen)
    # Taken out beforehand the fixed variables join none of their neighbours.
    rest = {variable: others - cut for variable, others in near.items() if variable not in cut}
    return CutSet(tuple(sorted(cut)), tuple(eliminated(rest, sizes, _NO_LIMIT)[0]))


def _apart(variables: Iterable[int], near: Neighbours) -> set[int]:
    """Return those that are no neighbours of, nor share one with, any returned before them."""
    chosen: set[int] = set()
    taken: set[int] = set()
    for variable in variables:
        around = near[variable] | {variable}
        if not around & taken:
            chosen.add(variable)
            taken |= around
    return chosen


_NO_LIMIT = 10**18
