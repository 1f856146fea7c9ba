"""What a search knows of a model beside its program: which columns say what.

Everything here holds for whatever other rows a model has: it names columns, it bounds nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from matchmaker.plan.posing.layout import Group
    from matchmaker.plan.program.model import Model
    from matchmaker.plan.program.program import Amounts, Columns, Program


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """One cock's pairs of one group, and his pens in which they may live, with their places."""

    pairs: Columns
    pens: Columns
    most: Amounts


@dataclass(frozen=True, slots=True, kw_only=True)
class LineWorth:
    """A line's pairs, their values, and the worth from which more counts nothing."""

    pairs: Columns
    values: Amounts
    enough: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """A program, its pairs, its pens with their places, and its numbers of pairs, total last.

    ``birds`` holds for each pair the numbers of its hen and its cock.
    """

    program: Program
    pairs: Columns
    birds: tuple[Columns, Columns]
    pens: Columns
    places: Amounts
    totals: Columns
    rooms: tuple[Room, ...]
    lines: tuple[LineWorth, ...]

    @property
    def total(self) -> int:
        """The column that counts all pairs."""
        return int(self.totals[-1])


def task_of(model: Model) -> Task:
    """Return what a search has to know of a model."""
    candidates = model.layout.candidates
    pairs = np.array(model.x, dtype=np.int32)
    hens = {hen: number for number, hen in enumerate(model.by_hen)}
    cocks = {cock: number for number, cock in enumerate(model.by_cock)}
    return Task(
        program=model.program,
        pairs=pairs,
        birds=(
            np.array([hens[one.hen] for one in candidates], dtype=np.int32),
            np.array([cocks[one.cock] for one in candidates], dtype=np.int32),
        ),
        pens=np.array(list(model.y.values()), dtype=np.int32),
        places=np.array([float(slot.hens_max) for slot, _ in model.y]),
        totals=np.array([*model.numbers, model.total], dtype=np.int32),
        rooms=tuple(_room(model, cock, group) for cock, group in model.layout.members),
        lines=_worths(model, pairs),
    )


def _room(model: Model, cock: str, group: Group) -> Room:
    slots = [slot for slot in model.layout.slots[cock] if group in slot.groups]
    held = [model.y[slot, None if slot.dam_known else group] for slot in slots]
    members = model.layout.members[cock, group]
    return Room(
        pairs=np.array([model.x[place] for place in members], dtype=np.int32),
        pens=np.array(held, dtype=np.int32),
        most=np.array([float(slot.hens_max) for slot in slots]),
    )


def _worths(model: Model, pairs: Columns) -> tuple[LineWorth, ...]:
    candidates = model.layout.candidates
    order = {goal.line: number for number, goal in enumerate(model.problem.lines)}
    line_of = np.array([order.get(one.line, -1) for one in candidates], dtype=np.int32)
    values = np.array([one.value for one in candidates])
    return tuple(
        LineWorth(
            pairs=pairs[line_of == number],
            values=values[line_of == number],
            enough=max(0.0, 2 * goal.chicks_wanted - goal.banked),
        )
        for number, goal in enumerate(model.problem.lines)
    )
