"""Plans in which every line has all it needs with as few pairs as can be: dived for by surplus.

Where no line wants for anything, the value of the relaxed program is flat: only the number of pairs
counts, and a dive that follows the value rounds blindly. So for a given number of pairs the least
relative surplus t of any line is maximised instead (W_l >= (1 + t) enough_l): pens are rounded
where surplus is left, and hens are placed until none is missing (t >= 0). Measured at 600 hens and
60 cocks: a plan one pair from the bound in half a second, where the value alone found none within
thirty.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from matchmaker import tolerance
from matchmaker.plan.posing.problem import PAIR_COST
from matchmaker.plan.program.program import INFINITE
from matchmaker.plan.searching.dive import core, free_pens, settle_pens_whole, solve_part

if TYPE_CHECKING:
    from matchmaker.plan.program.program import Amounts, Columns, Program
    from matchmaker.plan.searching.task import LineWorth, Task
    from matchmaker.plan.solvers.live import Live
    from matchmaker.plan.solvers.watch import Watch

CORES = (60, 200, 600)
"""Pairs left open when hens are placed for surplus, one size after another."""

ATTEMPTS = ((1, 1), (0, 1), (0, 4))
"""Pairs above the fewest that the relaxed program needs, and pens among which each rounding looks
ahead, in the order tried: the first nearly always finds a plan, the others one that is proved best.
"""

LOOK_AHEAD_PAIRS = 200_000
"""With more pairs than this no rounding looks ahead: each relaxed program takes two seconds."""

PLACING = {"presolve": "on", "objective_target": 0.0, "mip_rel_gap": 0.0, "mip_max_nodes": 60}
"""The search stops at the first plan in which nothing is missing."""


def dive_for_surplus(
    task: Task, live: Live, relaxed: Amounts, best: float, watch: Watch
) -> Amounts | None:
    """Return a plan in which every line has enough, with few pairs; ``None`` where none is found.

    ``relaxed`` are the values of the relaxed program. None is looked for where some line lacks
    something there, or the plan in hand, worth ``best``, already has as few pairs as can be.
    ``live`` is left as it was, but unsolved.
    """
    if not task.lines or not all(_has_enough(line, relaxed) for line in task.lines):
        return None
    pairs = float(relaxed[task.total])
    fewest = math.ceil(pairs - tolerance.INTEGRALITY)
    most = float(np.array(task.program.cost) @ relaxed) - PAIR_COST * (fewest - pairs)
    if best >= most - tolerance.OBJECTIVE:
        return None
    measure = live.measure([(one.pairs, one.values, one.enough, one.enough) for one in task.lines])
    live.hold(task.total, 0.0, float(fewest + ATTEMPTS[0][0]))
    live.solve(primal=True)
    found: Amounts | None = None
    for more, look in ATTEMPTS:
        pairs = fewest + more
        reached = found is not None and found[task.total] < pairs + 0.5
        if watch.over or reached or (look > 1 and len(task.pairs) > LOOK_AHEAD_PAIRS):
            continue
        live.hold(task.total, 0.0, float(pairs))
        tried = _dive(task, live, (measure, pairs, look), watch)
        found = found if tried is None else tried
    lower, upper = task.program.lower[task.total], task.program.upper[task.total]
    live.hold(task.total, lower, upper)
    live.unmeasure(measure)
    return found


def _has_enough(line: LineWorth, values: Amounts) -> bool:
    counted = float(line.values @ values[line.pairs])
    return len(line.pairs) > 0 and counted >= line.enough - tolerance.INTEGRALITY


def _dive(task: Task, live: Live, goal: tuple[int, int, int], watch: Watch) -> Amounts | None:
    """Dive with a number of pairs held.

    ``goal`` is the measure's column, that number, and how many pens each rounding looks at.
    """
    measure, pairs, look = goal

    def good() -> bool:
        return live.measured(measure) >= 0.0

    found = None
    if live.solve() and good() and settle_pens_whole(task, live, good, look=look):
        found = _place(task, live, pairs, watch)
    free_pens(task, live)
    return found


def _place(task: Task, live: Live, pairs: int, watch: Watch) -> Amounts | None:
    for size in CORES:
        if watch.over:
            return None
        part, kept, values = core(task, live, size)
        place = int(np.searchsorted(kept, task.total))
        part.upper[place] = float(pairs)
        measure = _measured(task, part, kept, values)
        found = solve_part(part, kept, values, PLACING, watch)
        if found is not None and part.value_of(measure) >= -tolerance.INTEGRALITY:
            return _completed(task, found, watch)
        if size >= len(task.pairs):
            break
    return None


def _measured(task: Task, part: Program, kept: Columns, values: Amounts) -> int:
    """Let a part maximise the least surplus of a line; return that column."""
    measure = part.column(-1.0, INFINITE, whole=False)
    place = np.full(task.program.width, -1, dtype=np.int32)
    place[kept] = np.arange(len(kept), dtype=np.int32)
    for line in task.lines:
        inside = place[line.pairs] >= 0
        settled = float(line.values[~inside] @ values[line.pairs[~inside]])
        part.row_over(
            place[line.pairs[inside]],
            line.values[inside],
            {measure: -line.enough},
            line.enough - settled,
            INFINITE,
        )
    part.maximise({measure: 1.0})
    return measure


def _completed(task: Task, found: Amounts, watch: Watch) -> Amounts | None:
    """Return the best plan with these pairs and pens: what lines count follows from them."""
    free = np.ones(task.program.width, dtype=bool)
    free[task.pairs] = free[task.pens] = False
    kept = np.flatnonzero(free).astype(np.int32)
    values = np.where(free, 0.0, np.round(found))
    return solve_part(task.program.part(kept, values), kept, values, {}, watch)
