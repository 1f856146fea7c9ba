"""Plans for a forced pair whose pens are those of a plan in hand but for one that changes hands.

What a pair needs is mostly no more than a place in a pen its cock has, or one pen of another cock.
With the pens given the relaxed program is nearly whole, so each such change takes one solve.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from matchmaker.plan.posing.layout import group_of
from matchmaker.plan.searching.dive import free_pens, place_hens

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from matchmaker.plan.arithmetic.result import PlannedPen
    from matchmaker.plan.posing.layout import Group, Slot
    from matchmaker.plan.posing.problem import Candidate
    from matchmaker.plan.program.model import Model
    from matchmaker.plan.program.program import Amounts
    from matchmaker.plan.searching.task import Task
    from matchmaker.plan.solvers.live import Live
    from matchmaker.plan.solvers.watch import Watch

PLACED: Final = 2
"""Of the changes the best so many have their hens placed."""


def plan_by_pens(
    task: Task, live: Live, changes: Sequence[Amounts], watch: Watch
) -> Amounts | None:
    """Return the best plan found whose pens are one of ``changes``; ``None`` where none is found.

    ``changes`` hold how many pens of each of ``task.pens`` are held. The live program is left with
    its pens free and unsolved.
    """
    worth = []
    for number, held in enumerate(changes):
        if watch.over:
            break
        live.hold_all(task.pens, held, held)
        if live.solve():
            worth.append((-live.value, number))
    best, cost = None, np.array(task.program.cost)
    for _, number in sorted(worth)[:PLACED]:
        live.hold_all(task.pens, changes[number], changes[number])
        found = place_hens(task, live, watch) if live.solve() else None
        if found is not None and (best is None or cost @ found > cost @ best):
            best = found
    free_pens(task, live)
    return best


def pens_for_pair(model: Model, pens: Sequence[PlannedPen], candidate: Candidate) -> list[Amounts]:
    """Return ways to hold the pens of a plan, and one for a pair: as they are, or with one change.

    Amounts are in the order of ``model.y``.
    """
    held = held_pens(model, pens)
    found = {tuple(one): one for one in _changes(model, list(model.y), held, candidate)}
    return list(found.values())


def held_pens(model: Model, pens: Sequence[PlannedPen]) -> Amounts:
    """How many pens of each slot a plan holds; those that the model does not know are left out."""
    keys = list(model.y)
    held = np.zeros(len(keys))
    upper = np.array([model.program.upper[column] for column in model.y.values()])
    for pen in pens:
        group = group_of(pen.pairs[0])
        for at, (slot, of) in enumerate(keys):
            kind = model.layout.kinds[slot.kind]
            fits = of in (None, group) and pen.pen in kind.pens and pen.turn == slot.turn
            if slot.cock == pen.cock and fits and held[at] < upper[at]:
                held[at] += 1
                break
    return held


def _changes(
    model: Model, keys: list[tuple[Slot, Group | None]], held: Amounts, one: Candidate
) -> Iterator[Amounts]:
    group = group_of(one)
    own = [at for at, (slot, _) in enumerate(keys) if slot.cock == one.cock and held[at]]
    targets = [
        at
        for at, (slot, of) in enumerate(keys)
        if slot.cock == one.cock and group in slot.groups and of in (None, group)
    ]
    if any(held[at] for at in targets):
        yield held
    for target in targets:
        for giver in _givers(model, keys, held, target):
            for left in (None, *(at for at in own if at not in (giver, target))):
                changed = held.copy()
                changed[target] += 1
                changed[[at for at in (giver, left) if at is not None]] -= 1
                yield changed


def _givers(
    model: Model, keys: list[tuple[Slot, Group | None]], held: Amounts, target: int
) -> list[int | None]:
    """Return who may give up a pen of the kind of a slot; ``None`` where one is free."""
    kind = keys[target][0].kind
    same = [at for at, (slot, _) in enumerate(keys) if slot.kind == kind]
    givers: list[int | None] = [at for at in same if held[at] and at != target]
    free = held[same].sum() < len(model.layout.kinds[kind].pens)
    return [*givers, None] if free else givers
