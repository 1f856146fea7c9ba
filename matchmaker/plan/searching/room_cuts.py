"""Rows that no whole plan breaks, but parts of pens do: so many hens need so many places.

Of any set H of a cock's pairs of one group his pens can hold at most
Σ min(|H|, places of the pen) · pens held. With |H| = 1 that is "a pair needs a pen", with all of
them the row of the model; all of them together describe exactly what mixtures of whole pens can
hold, for one cock and group. There are too many to write down, so those are added that the relaxed
program breaks: for each size the set of the pairs most taken breaks it most, so one sort finds it.

Measured on the bench's flocks that want more than the pens give: 20 to 65 such rows leave a tenth
of the distance between the relaxed program and the best plan, and hardly a pen held in part.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from matchmaker import tolerance
from matchmaker.plan.program.program import INFINITE

if TYPE_CHECKING:
    from matchmaker.plan.program.program import Amounts, Columns
    from matchmaker.plan.searching.task import Room, Task
    from matchmaker.plan.solvers.live import Live

MOST_ROUNDS = 20
"""After these rounds what is left to gain is not worth the time: the usual number is five."""


def add_room_cuts(task: Task, live: Live, rounds: int = MOST_ROUNDS) -> int:
    """Add the rows that the live program breaks, to it and to the program, until none is broken.

    ``live`` must be solved. Returns how many rows were added in so many rounds at most; the live
    program is solved again.
    """
    count = 0
    for _ in range(rounds):
        found = cuts(task, live.solution())
        for columns, coefficients in found:
            live.row(columns, coefficients, -INFINITE, 0.0)
            task.program.row_over(columns, coefficients, {}, -INFINITE, 0.0)
        count += len(found)
        if not found or not live.solve():
            break
    return count


def cuts(task: Task, values: Amounts) -> list[tuple[Columns, Amounts]]:
    """Return the rows, columns and coefficients that sum to 0 at most, broken by these values."""
    found = []
    for room in task.rooms:
        columns = _most_broken(room, values)
        if columns is not None:
            found.append(columns)
    return found


def _most_broken(room: Room, values: Amounts) -> tuple[Columns, Amounts] | None:
    held = values[room.pens]
    if not np.any(np.abs(held - np.round(held)) > tolerance.INTEGRALITY):
        return None
    taken = values[room.pairs]
    order = np.argsort(-taken, kind="stable")[: int(np.count_nonzero(taken)) + 1]
    sizes = np.arange(1, len(order) + 1)
    room_for = np.minimum(sizes[:, None], room.most[None, :]) @ held
    over = (np.cumsum(taken[order]) - room_for) / np.sqrt(sizes + 1.0)
    worst = int(np.argmax(over))
    if over[worst] <= tolerance.INTEGRALITY:
        return None
    size = worst + 1
    return (
        np.concatenate((room.pairs[order[:size]], room.pens)).astype(np.int32),
        np.concatenate((np.ones(size), -np.minimum(size, room.most))),
    )
