"""What decides between plans of equal value: the standing plan, then ties by fixed numbers.

The numbers are hashes of the bands and rows themselves, so they do not depend on the order of
the tables, on the process or on the solver.
"""

from __future__ import annotations

import time
import zlib
from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, TypeAlias

from matchmaker import tolerance
from matchmaker.errors import SolverStoppedError
from matchmaker.plan.decode import chosen, decode
from matchmaker.plan.engine import reduced_costs, run
from matchmaker.plan.model import build
from matchmaker.plan.problem import KEEP_BONUS
from matchmaker.plan.result import Outcome

if TYPE_CHECKING:
    from matchmaker.plan.engine import SolverName
    from matchmaker.plan.model import Model, Terms
    from matchmaker.plan.result import PlannedPen

TIE_NODES = 100
"""Most nodes the search for the tie numbers takes: between plans of equal value the first found
after so many stands. A count of nodes, unlike a time limit, ends the same every time."""


@dataclass(frozen=True, slots=True)
class Clock:
    """Which solver runs, until when it may run, and how many nodes it may search."""

    solver: SolverName
    until: float | None
    nodes: int | None = None

    def left(self) -> float | None:
        """Seconds left, never less than a tenth; ``None`` without a limit."""
        return None if self.until is None else max(0.1, self.until - time.perf_counter())


def tie_number(*words: str) -> float:
    """Return a fixed number from 0 to 1 for these words, in steps of 2^-31.

    >>> tie_number("H07", "C02", "backcross") == tie_number("H07", "C02", "backcross")
    True
    """
    return (zlib.crc32("\x1f".join(words).encode()) >> 1) / 2**31


def settle(model: Model, best: float, clock: Clock) -> tuple[PlannedPen, ...]:
    """Return the plan of the best value that the later stages choose.

    ``model`` holds a best plan; where time runs out the plan of the last finished stage stands.
    """
    kept = [place for place, one in enumerate(model.layout.candidates) if one.kept]
    hens = {model.layout.candidates[place].hen for place in kept}
    if clock.solver == "highs":
        narrow(model, best - KEEP_BONUS * len(hens))
    held, bound = model.value, best
    if kept:
        bonus = model.value | {model.x[place]: KEEP_BONUS for place in kept}
        _stage(model, bonus, (model.value, None, best), clock)
        held, bound = bonus, _amount(bonus)
    ties: Terms = {
        model.x[place]: tie_number(one.hen, one.cock, one.row)
        for place, one in enumerate(model.layout.candidates)
    }
    _stage(model, ties, (held, bound, bound), replace(clock, nodes=TIE_NODES))
    return settle_pens(model, clock)


def narrow(model: Model, least: float) -> None:
    """Fix every whole column whose change alone would cost more than ``least`` leaves.

    Reduced-cost fixing (Dantzig, Fulkerson and Johnson 1954): exact, it only removes plans worth
    less than ``least``. ``model`` must still have the value as its objective.
    """
    bound, added = reduced_costs(model.lp)
    spare = bound - least + tolerance.OBJECTIVE
    for column in (*model.x, *model.y.values()):
        change = added.get(column.name, 0.0)
        if change < -spare:
            column.upBound = column.lowBound
        elif change > spare:
            column.lowBound = column.upBound


def settle_pens(model: Model, clock: Clock) -> tuple[PlannedPen, ...]:
    """Return the pens for pairs already chosen: fewest, then those that stand, then ties."""
    small = build(replace(model.problem, candidates=chosen(model)))
    for column in small.x:
        column.lowBound = 1
    pens = sum(len(kind.pens) for kind in small.layout.kinds) + 1
    terms: Terms = {}
    for (slot, group), column in small.y.items():
        label = small.layout.kinds[slot.kind].pens[0]
        row = "" if group is None else group.row
        terms[column] = tie_number(slot.cock, label, row, str(slot.copy)) - pens * (pens + 1)
    terms |= _standing(small, float(pens))
    return decode(small if _stage(small, terms, None, clock) else model)


def _standing(model: Model, worth: float) -> Terms:
    """Columns that count the pens a cock keeps of those he has in the standing plan."""
    kinds = {pen: place for place, kind in enumerate(model.layout.kinds) for pen in kind.pens}
    stands = Counter(
        (cock, kinds[pen]) for pen, cock in model.problem.standing_pens if pen in kinds
    )
    terms: Terms = {}
    for (cock, kind), count in sorted(stands.items()):
        slots = [slot for slot in model.layout.slots.get(cock, ()) if slot.kind == kind]
        if slots:
            keeps = model.column("keeps", 0, count, whole=False)
            model.at_most({keeps: 1.0} | model.pens_held(slots, -1.0), 0)
            terms[keeps] = worth
    return terms


_Held: TypeAlias = "tuple[Terms, float | None, float] | None"
"""An earlier objective, the least it must reach, and the most it was proved to reach."""


def _stage(model: Model, terms: Terms, held: _Held, clock: Clock) -> bool:
    """Maximise ``terms`` with an earlier objective held; say whether there is a plan.

    That an earlier stage proved its best spares this one the proof. Where time runs out before
    there is a plan, the values of the stage before stay.
    """
    before = {one.name: one.varValue for one in model.lp.variables() if one.varValue is not None}
    if held is not None:
        earlier, least, most = held
        model.at_most(earlier, most + tolerance.OBJECTIVE / 2)
        if least is not None:
            model.at_least(earlier, least - tolerance.OBJECTIVE / 2)
    model.maximise(terms)
    try:
        end = run(
            model.lp,
            clock.solver,
            time_limit=clock.left(),
            start=before,
            node_limit=clock.nodes,
        )
    except SolverStoppedError:
        return False
    return end.outcome is not Outcome.NONE


def _amount(terms: Terms) -> float:
    return sum(value * float(column.varValue or 0.0) for column, value in terms.items())
