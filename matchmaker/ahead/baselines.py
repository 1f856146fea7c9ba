"""How keepers fill their pens without the program: by eye, by rotation of lines, at random.

All keep what is physical (``Pens``) and never take birds that are not here, too young or unfit,
pairs kept apart by wish, or pairs whose chicks would die of a lethal gene. None uses test rows:
they breed no chicks that are kept.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, TypeAlias

from matchmaker.ahead.morning import Morning
from matchmaker.ahead.penned import Pens
from matchmaker.ahead.rotation import rotation_of_lines
from matchmaker.flock.listing import natural

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    import numpy as np

    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.arithmetic.result import PlannedPen
    from matchmaker.plan.posing.problem import PlanProblem


__all__ = ["BASELINES", "best_to_best", "random_within_rules", "rotation_of_lines"]

Baseline: TypeAlias = (
    "Callable[[PairTable, PlanProblem, np.random.Generator], tuple[PlannedPen, ...]]"
)
"""A way to fill the pens of a problem; it gives no pens where no pair can be put into one."""


def best_to_best(
    table: PairTable, problem: PlanProblem, rng: np.random.Generator
) -> tuple[PlannedPen, ...]:
    """The best cocks get the best hens, by looks and latest scores.

    The lines have a pen each in turn, the most important first, round after round: the best cock
    that has none yet gets one of the line's rows, that in which he has most hens, and its best hens
    until the pen is full. Who looks best is settled by ``raw_scores``, ties by lot; which pairs he
    thinks of by ``keepers_pairs``: kinship beyond parents, chances and predictions are unknown to
    him. (Best to best is common practice, no source.)
    """
    morning = Morning(table, problem)
    bands = sorted(morning.eye.birds, key=natural)
    lot = dict(zip(bands, rng.permutation(len(bands)).tolist(), strict=True))
    place = {band: (-morning.eye.scores[band], lot[band]) for band in bands}

    def serve(line: str) -> bool:
        rows = morning.rows[line].values()
        cocks = sorted({cock for row in rows for cock in row} - morning.used, key=place.__getitem__)
        return any(_penned(morning, line, cock, place) for cock in cocks)

    morning.line_after_line(serve)
    return morning.pens.filled()


def _penned(morning: Morning, line: str, cock: str, place: Mapping[str, tuple[float, int]]) -> bool:
    """Give a cock the row of the line in which he has most hens free, and the best of them."""
    rows = [morning.free_of(row[cock]) for row in morning.rows[line].values() if cock in row]
    for row in sorted(rows, key=len, reverse=True):
        if morning.pen_up(cock, sorted(row, key=lambda pair: place[pair.hen])):
            return True
    return False


def random_within_rules(
    table: PairTable,  # noqa: ARG001  all ways of filling pens are called alike
    problem: PlanProblem,
    rng: np.random.Generator,
) -> tuple[PlannedPen, ...]:
    """Pairs drawn at random among those that the rules allow, pen after pen.

    A pen gets the cock of the first pair drawn that may have it, and more of his pairs as they are
    drawn until it is full; where too few hens are left for it, another cock or row is tried. The
    rules are those of pairs: limits and minimums of lines and of the whole plan are not looked at.
    """
    pens = Pens(problem)
    allowed = [one for one in problem.candidates if not one.tested]
    for pen in pens.free():
        drawn = [allowed[at] for at in rng.permutation(len(allowed)).tolist()]
        tried: set[tuple[str, str]] = set()
        for one in drawn:
            if (one.cock, one.row) in tried or not pens.fits(pen, one):
                continue
            tried.add((one.cock, one.row))
            if pens.fill(pen, [one, *(other for other in drawn if other.cock == one.cock)]):
                break
    return pens.filled()


BASELINES: Final[Mapping[str, Baseline]] = {
    "best to best by eye": best_to_best,
    "rotation of lines": rotation_of_lines,
    "random within the rules": random_within_rules,
}
"""The ways in which keepers fill their pens without the program, by name."""
