"""How many plans of a family are worth enough: counted by dynamic programming, never too many.

What hens left out or exchanged take from their line is summed on a grid, every amount rounded
against the count; a line's loss follows from its sum exactly (its value is concave, so losses do
not simply add up), and losses of lines are summed on a second grid, rounded up.
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass
from statistics import median
from typing import TYPE_CHECKING, Final, TypeAlias

import numpy as np

from matchmaker import tolerance
from matchmaker.plan.arithmetic.saturation import counted as line_counts
from matchmaker.plan.nearly_best.near_family import family_of
from matchmaker.plan.nearly_best.near_model import minds_kinship
from matchmaker.plan.posing.problem import PAIR_COST

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from matchmaker.plan.arithmetic.result import PlannedPen
    from matchmaker.plan.nearly_best.near_family import Cluster
    from matchmaker.plan.posing.problem import LineGoal, PlanProblem

Counts: TypeAlias = "NDArray[np.float64]"

STEPS: Final = 256
"""Grid steps between no loss of a line's worth and the most that the budget bears, and as many
on the other side."""

LOSS_STEPS: Final = 1000
"""Grid steps of the budget."""

PAIRS_APART: Final = 6
"""Plans with more pairs than this above or below the plan's number in a line are not counted."""

EXACT: Final = 2.0**53
"""Whole numbers up to this are exact as floats; beyond it a billionth is taken off."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Line:
    """A line, its worth in the plan, and how its grid runs."""

    goal: LineGoal
    worth: float
    step: float

    def loss(self, steps: int, more: int) -> float:
        """What the value loses where the worth falls by so many steps and pairs are more."""
        left = line_counts(self.goal, self.worth - steps * self.step)
        counted = line_counts(self.goal, self.worth)
        return self.goal.importance * (counted - left) + PAIR_COST * more


def count_at_least(problem: PlanProblem, pens: Sequence[PlannedPen], budget: float) -> int:
    """Return a number of plans that there are at least, each at most ``budget`` below this one.

    A valid bound: all plans counted belong to ``family_of`` the plan, so they break no rule and
    are different; and each one's loss is rounded up, never down. The plan itself counts. Where the
    kinship of the group has a limit or a price the family is not known to keep to it, and only the
    plan itself counts.
    """
    if minds_kinship(problem):
        return 1
    lines: dict[str, list[Cluster]] = defaultdict(list)
    for cluster in family_of(problem, pens):
        lines[cluster.line].append(cluster)
    goals = {goal.line: goal for goal in problem.lines}
    total = np.ones(1)
    for name, clusters in sorted(lines.items()):
        worth = sum(p.value for pen in pens for p in pen.pairs if p.line == name)
        losses = _losses(_line(goals[name], worth, budget), clusters, budget)
        total = np.convolve(total, losses)[: LOSS_STEPS + 1]
    count = float(total.sum())
    return round(count) if count < EXACT else int(count * (1 - 1e-9))


def _line(goal: LineGoal, worth: float, budget: float) -> _Line:
    """The grid of a line: as far down as the budget bears, with a few pairs' cost saved."""
    least = line_counts(goal, worth)
    least -= (budget + PAIRS_APART * PAIR_COST) / goal.importance
    low, high = min(least, 0.0) - 1.0, worth
    for _ in range(60):
        middle = (low + high) / 2
        if line_counts(goal, middle) < least:
            low = middle
        else:
            high = middle
    return _Line(goal=goal, worth=worth, step=max((worth - low) / STEPS, tolerance.VALUE_STEP))


def _losses(line: _Line, clusters: Sequence[Cluster], budget: float) -> Counts:
    """Plans of a line by what they lose, in steps of the budget, rounded up."""
    table = np.zeros((2 * PAIRS_APART + 1, 2 * STEPS + 1))
    table[PAIRS_APART, STEPS] = 1.0
    for cluster in clusters:
        table = _combined(table, _choices(line, cluster))
    counts = np.zeros(LOSS_STEPS + 1)
    for more, falls in zip(*np.nonzero(table), strict=True):
        loss = line.loss(int(falls) - STEPS, int(more) - PAIRS_APART)
        at = _loss_step(max(loss, 0.0), budget)
        if at <= LOSS_STEPS:
            counts[at] += table[more, falls]
    return counts


def _loss_step(loss: float, budget: float) -> int:
    if budget < tolerance.OBJECTIVE:
        return 0 if loss < tolerance.OBJECTIVE else LOSS_STEPS + 1
    return math.ceil(loss / budget * LOSS_STEPS - tolerance.OBJECTIVE)


def _choices(line: _Line, cluster: Cluster) -> Counts:
    """Choices of a cluster by pairs more than the plan has and by fall of worth, in steps.

    While hens are added one by one, a place counts for what a usual hen of the plan is worth: so
    the sums stay on the grid although half the hens may have left before others come.
    """
    sizes = [block.most - len(block.fixed) for block in cluster.blocks]
    counts = np.zeros((*(size + 1 for size in sizes), 2 * STEPS + 1))
    counts[(*(0 for _ in sizes), STEPS)] = 1.0
    values = [cluster.options[hen][at].value for hen, at in cluster.home.items()]
    usual = median(values) if values else 0.0
    for hen in (*cluster.guests, *cluster.home):
        counts = _with_hen(counts, line, (cluster, hen), usual)
    return _by_pairs(counts, line, cluster, usual)


def _with_hen(counts: Counts, line: _Line, whose: tuple[Cluster, str], usual: float) -> Counts:
    """Every choice so far with the hen in each place she may have, or in none."""
    cluster, hen = whose
    home = cluster.home.get(hen)
    before = usual if home is None else cluster.options[hen][home].value
    out = 0 if home is None else _steps(line, before - usual)
    found = _fallen(counts, out)
    for at, pair in cluster.choices(hen).items():
        room = counts.shape[at]
        inside = np.zeros_like(counts)
        source = np.take(counts, range(room - 1), axis=at)
        target = [slice(None)] * counts.ndim
        target[at] = slice(1, room)
        fall = 0 if at == home else _steps(line, before - pair.value)
        inside[tuple(target)] = _fallen(source, fall)
        found += inside
    return found


def _steps(line: _Line, fall: float) -> int:
    """A fall of worth in steps, rounded up (a rise, down)."""
    return math.ceil(fall / line.step - tolerance.OBJECTIVE)


def _fallen(counts: Counts, steps: int) -> Counts:
    """The counts with worth fallen by so many steps more; beyond the grid they are dropped.

    Rises beyond the grid count as the largest rise on it.
    """
    moved = np.zeros_like(counts)
    width = counts.shape[-1]
    if steps >= width:
        return moved
    if steps >= 0:
        moved[..., steps:] = counts[..., : width - steps]
        return moved
    rise = min(-steps, width - 1)
    moved[..., : width - rise] = counts[..., rise:]
    moved[..., 0] += counts[..., :rise].sum(axis=-1)
    return moved


def _by_pairs(counts: Counts, line: _Line, cluster: Cluster, usual: float) -> Counts:
    """Sum over sizes of blocks that are allowed, by how many pairs more than the plan's."""
    table = np.zeros((2 * PAIRS_APART + 1, 2 * STEPS + 1))
    for sizes in np.ndindex(*counts.shape[:-1]):
        enough = all(
            size + len(block.fixed) >= block.least
            for size, block in zip(sizes, cluster.blocks, strict=True)
        )
        more = sum(sizes) - len(cluster.home)
        if enough and abs(more) <= PAIRS_APART:
            table[more + PAIRS_APART] += _fallen(counts[sizes], _steps(line, -more * usual))
    return table


def _combined(one: Counts, other: Counts) -> Counts:
    """Choices of two clusters together, pairs and falls added; what leaves the grid is dropped."""
    table = np.zeros_like(one)
    for here, there in np.ndindex(len(one), len(other)):
        more = here + there - PAIRS_APART
        if 0 <= more < len(table) and one[here].any() and other[there].any():
            both = np.convolve(one[here], other[there])
            table[more] += both[STEPS : 3 * STEPS + 1]
            table[more, 0] += both[:STEPS].sum()
    return table
