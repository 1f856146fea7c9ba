"""What a mend would change in the plan, measured: judged and planned again with it written."""

from __future__ import annotations

import time
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from matchmaker.checking import check_tables
from matchmaker.errors import NoPlanError, SolverStoppedError
from matchmaker.plan.season.season_plan import plan_season
from matchmaker.tables.records import PlanRecord

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from matchmaker.checking import Check
    from matchmaker.errors import Fault
    from matchmaker.mends.bench import Bench
    from matchmaker.plan.season.season_plan import SeasonPlan


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """The plan with a mend written, against the plan without.

    ``faults`` stop the plan even so. ``pairs`` are those of the plan before (0 where there was
    none), ``kept`` of them are in the plan after, which has ``pairs_after``. ``worth`` is what it
    is worth and ``gain`` what it is worth more, in wanted chicks; ``None`` where there is no such
    plan. ``proved`` says that both plans are proved best.
    """

    faults: int = 0
    pairs: int = 0
    kept: int = 0
    pairs_after: int = 0
    worth: float | None = None
    gain: float | None = None
    proved: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Effects:
    """The measured effect of each finding whose mend is told cell by cell.

    ``left_out`` were not measured, for want of time. ``together`` is, where faults stop the plan,
    what all these mends at once would lead to.
    """

    of: Mapping[Fault, Effect] = field(default_factory=dict)
    left_out: tuple[Fault, ...] = ()
    together: Effect | None = None


class Stopwatch:
    """So many seconds, from now on."""

    def __init__(self, seconds: float) -> None:
        self._end = time.monotonic() + seconds

    @property
    def left(self) -> float:
        """Seconds that are left; 0 once they are over."""
        return max(self._end - time.monotonic(), 0.0)


def measure(bench: Bench, before: Check, faults: Iterable[Fault], *, seconds: float) -> Effects:
    """Plan again with each finding mended, one at a time, in the order they are given.

    What clashes with itself, or is not told cell by cell, is passed over.
    """
    watch = Stopwatch(seconds)
    start = plan_of(before, watch)
    asked = [fault for fault in faults if bench.sorted_out([fault])[0]]
    together = _effect(bench, start, bench.sorted_out(asked)[0], watch) if before.faults else None
    found = {fault: _effect(bench, start, (fault,), watch) for fault in asked}
    return Effects(
        of={fault: effect for fault, effect in found.items() if effect is not None},
        left_out=tuple(fault for fault, effect in found.items() if effect is None),
        together=together,
    )


def _effect(
    bench: Bench, start: SeasonPlan | None, faults: tuple[Fault, ...], watch: Stopwatch
) -> Effect | None:
    if not watch.left or not faults:
        return None
    return effect_of(start, bench.check(bench.texts(faults)), watch)


def plan_of(found: Check, watch: Stopwatch) -> SeasonPlan | None:
    """Return the plan of a folder, ``None`` where none can be made or none was found in time."""
    if found.table is None or not watch.left:
        return None
    try:
        return plan_season(found.table, time_limit=max(watch.left, 0.1))
    except (NoPlanError, SolverStoppedError):
        return None


def effect_of(start: SeasonPlan | None, after: Check, watch: Stopwatch) -> Effect | None:
    """Compare the plan made after a mend with the one before; ``None`` where time ran out.

    The plan before stands while the one after is made, so that no pair is changed for nothing.
    """
    if after.table is None:
        return Effect(faults=len(after.faults))
    if not watch.left:
        return None
    plan = plan_of(after if start is None else standing(start, after), watch)
    if plan is None and not watch.left:
        return None
    pairs, pairs_after = _pairs(start), _pairs(plan)
    proofs = [one.solution.proof for one in (start, plan) if one is not None]
    worth = plan.solution.proof.best_value if plan else None
    return Effect(
        pairs=len(pairs),
        kept=len(pairs & pairs_after),
        pairs_after=len(pairs_after),
        worth=worth,
        gain=worth - start.solution.proof.best_value if start and worth is not None else None,
        proved=not any(proof.stopped for proof in proofs),
    )


def standing(plan: SeasonPlan, found: Check) -> Check:
    """Return a folder in which a plan stands, but for birds that it does not know."""
    known = {record.bird for record in found.tables.birds}
    rows = (
        PlanRecord(row=at, pen=pen.pen, line=pair.line or "", cock=pen.cock, hen=pair.hen, why="")
        for at, (pen, pair) in enumerate(
            ((pen, pair) for pen in plan.pens for pair in pen.pairs), 2
        )
    )
    kept = tuple(row for row in rows if {row.hen, row.cock} <= known)
    return check_tables(replace(found.tables, plan=kept))


def _pairs(plan: SeasonPlan | None) -> set[tuple[str, str]]:
    return {(pair.hen, pair.cock) for pen in plan.pens for pair in pen.pairs} if plan else set()
