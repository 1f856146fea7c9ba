"""A good plan to start the search from: pens are settled one by one on the relaxed program.

The relaxed program, in which parts of pens and birds are allowed, is solved; the pen with the
most hens at stake is given whole to its cock, and so on until all pens are whole; then the hens
are placed. No proof comes of it, but a search that starts from its plan needs few of its own
attempts at plans, which take most of a search's time.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from matchmaker import tolerance
from matchmaker.plan.searching.pricing import Relaxed
from matchmaker.plan.searching.task import task_of
from matchmaker.plan.solvers.highs import FEW_SIDE_SEARCHES
from matchmaker.plan.solvers.highs_run import run_highs
from matchmaker.plan.solvers.quiet import quiet_stdout

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from matchmaker.plan.program.model import Model
    from matchmaker.plan.program.program import Amounts, Columns, Program
    from matchmaker.plan.searching.task import Task
    from matchmaker.plan.solvers.live import Live
    from matchmaker.plan.solvers.watch import Watch

CORES = (40, 160)
"""Pairs that are left open when the hens are placed: those nearest to being taken or left. Measured
at 60 to 600 hens: a core is searched in 0.01 to 0.1 s, all pairs in one to four seconds."""

MOST_NODES = 40
"""Nodes of the search that places the hens once the pens are settled."""

CLOSE = 1e-5
"""A plan this near, in parts of its value, to what its pens could have at most is not improved."""

PLACING = {
    "presolve": "on",
    "mip_rel_gap": CLOSE,
    "mip_max_nodes": MOST_NODES,
    **FEW_SIDE_SEARCHES,
}
"""Close to the best plan, in little time."""


def plan_to_start_from(model: Model, *, cores: tuple[int, ...] = CORES) -> Amounts | None:
    """A plan of the model, as values by column; ``None`` if the dive finds none.

    Rows of ``room_cuts`` that it needed stay in the program.
    """
    with quiet_stdout():
        task = task_of(model)
        relaxed = Relaxed(task)
        relaxed.solve()
        return dive(task, relaxed.live, cores=cores) if relaxed.live.solved else None


def dive(
    task: Task,
    live: Live,
    watch: Watch | None = None,
    *,
    cores: tuple[int, ...] = CORES,
    close: float = CLOSE,
) -> Amounts | None:
    """Settle the pens and place the hens, from a solved live program; its pens are left free again.

    Returns the plan, ``None`` where none was found.
    """
    whole = settle_pens_whole(task, live)
    found = place_hens(task, live, watch, cores=cores, close=close) if whole else None
    free_pens(task, live)
    return found


def settle_pens_whole(
    task: Task, live: Live, good: Callable[[], bool] = lambda: True, *, look: int = 1
) -> bool:
    """Round pens one by one until all are whole: up, or down where that leaves no good plan.

    ``good`` may ask more of the solved live program than that it has an optimum. Of the ``look``
    pens with the most hens at stake the one is rounded up that leaves the best value.
    """
    lower, upper = (np.array(of)[task.pens] for of in (task.program.lower, task.program.upper))
    while True:
        held = live.solution()[task.pens]
        parts = held - np.floor(held + tolerance.INTEGRALITY)
        stake = np.where(parts > tolerance.INTEGRALITY, parts * task.places, 0.0)
        nearest = np.argsort(-stake, kind="stable")[:look]
        open_ = [int(at) for at in nearest if stake[at] > 0.0]
        if not open_:
            break
        least = np.floor(held + tolerance.INTEGRALITY)
        at = _best_to_round_up(task, live, open_, (lower, upper, least))
        pen = int(task.pens[at])
        live.hold(pen, least[at] + 1, upper[at])
        if live.solve() and good():
            lower[at] = least[at] + 1
            continue
        upper[at] = least[at]
        live.hold(pen, lower[at], upper[at])
        if not (live.solve() and good()):
            return False
    whole = np.round(live.solution()[task.pens])
    live.hold_all(task.pens, whole, whole)
    return live.solve()


def _best_to_round_up(
    task: Task, live: Live, open_: list[int], bounds: tuple[Amounts, Amounts, Amounts]
) -> int:
    """Return which of these pens, rounded up, leaves the best value; the first if they tie.

    ``bounds`` are the least and most of each pen, and the whole number below what is held.
    """
    if len(open_) == 1:
        return open_[0]
    lower, upper, least = bounds
    values = []
    for at in open_:
        live.hold(int(task.pens[at]), least[at] + 1, upper[at])
        values.append(live.value if live.solve() else float("-inf"))
        live.hold(int(task.pens[at]), lower[at], upper[at])
    return open_[int(np.argmax(values))]


def free_pens(task: Task, live: Live) -> None:
    """Let every pen be held as the program allows."""
    lower, upper = np.array(task.program.lower), np.array(task.program.upper)
    live.hold_all(task.pens, lower[task.pens], upper[task.pens])


def place_hens(
    task: Task,
    live: Live,
    watch: Watch | None = None,
    *,
    cores: tuple[int, ...] = CORES,
    close: float = CLOSE,
) -> Amounts | None:
    """Place the hens with the pens as ``live`` holds them, by searching growing cores of pairs.

    A plan as ``close`` to what its pens could have at most, in parts of its value, is not improved.
    """
    most, cost = live.value, np.array(task.program.cost)
    best: Amounts | None = None
    for size in cores if len(task.pairs) > CORES[-1] else cores[:1]:
        part, kept, values = core(task, live, size)
        found = solve_part(part, kept, values, PLACING | {"mip_rel_gap": close}, watch)
        if found is not None and (best is None or cost @ found > cost @ best):
            best = found
        if best is not None and cost @ best >= most - close * max(1.0, abs(most)):
            break
    return best


def core(
    task: Task, live: Live, size: int, plan: Amounts | None = None, *, pens_open: bool = False
) -> tuple[Program, Columns, Amounts]:
    """Return the part of the program with whole pens and so many open pairs, its columns, the rest.

    Open are the pairs taken in part, those in which a ``plan`` differs from the live program, and
    those that cost least to change (their reduced cost); the others stand as the live program has
    them.
    """
    values = live.solution()
    taken = values[task.pairs]
    near = np.abs(live.added()[task.pairs])
    near[~live.inside()[task.pairs]] = np.inf
    near[np.abs(taken - np.round(taken)) > tolerance.INTEGRALITY] = -1.0
    if plan is not None:
        near[np.abs(taken - plan[task.pairs]) > tolerance.INTEGRALITY] = -1.0
    count = max(size, int(np.count_nonzero(near < 0)))
    open_pairs = task.pairs[np.argsort(near, kind="stable")[:count]]
    free = np.ones(task.program.width, dtype=bool)
    free[task.pairs] = False
    free[task.pens] = pens_open
    free[open_pairs] = True
    kept = np.flatnonzero(free).astype(np.int32)
    values[~free] = np.round(values[~free])
    return task.program.part(kept, values), kept, values


def solve_part(
    part: Program,
    kept: Columns,
    values: Amounts,
    options: Mapping[str, Any],
    watch: Watch | None,
) -> Amounts | None:
    """Search a part and put what it finds among the other values; ``None`` where it finds none."""
    run_highs(part, options if watch is None else {**options, **_time(watch)}, watch=watch)
    if part.values is None:
        return None
    found = values.copy()
    found[kept] = part.values[: len(kept)]
    return found


def _time(watch: Watch) -> dict[str, float]:
    left = watch.left()
    return {} if left is None else {"time_limit": left}
