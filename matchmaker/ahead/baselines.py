"""How keepers fill their pens without the program: by eye, by rotation of lines, at random.

All keep what is physical (``Pens``) and never take birds that are not here, too young or unfit,
pairs kept apart by wish, or pairs whose chicks would die of a lethal gene. None uses test rows:
they breed no chicks that are kept.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.ahead.penned import Pens

if TYPE_CHECKING:
    import numpy as np

    from matchmaker.ahead.penned import PenFilled
    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.problem import PlanProblem


def random_within_rules(
    table: PairTable,  # noqa: ARG001  all ways of filling pens are called alike
    problem: PlanProblem,
    rng: np.random.Generator,
) -> tuple[PenFilled, ...]:
    """Pairs drawn at random among those that the rules allow, pen after pen.

    A pen gets the cock of the first pair drawn that may have it, and more of his pairs as they are
    drawn until it is full; where too few hens are left for it another cock is tried. The rules
    are those of pairs: limits and minimums of lines and of the whole plan are not looked at.
    """
    pens = Pens(problem)
    allowed = [one for one in problem.candidates if not one.tested]
    for pen in pens.free():
        drawn = [allowed[at] for at in rng.permutation(len(allowed)).tolist()]
        tried: set[str] = set()
        for one in drawn:
            if one.cock in tried or not pens.fits(pen, one):
                continue
            tried.add(one.cock)
            if pens.fill(pen, [one, *(other for other in drawn if other.cock == one.cock)]):
                break
    return pens.filled()
