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

import numpy as np

from matchmaker import tolerance
from matchmaker.errors import SolverStoppedError
from matchmaker.plan.arithmetic.result import Outcome
from matchmaker.plan.posing.problem import KEEP_BONUS
from matchmaker.plan.program.decode import chosen, decode
from matchmaker.plan.program.model import build
from matchmaker.plan.searching.dive import CORES, core, plan_to_start_from
from matchmaker.plan.searching.pricing import FEW_PAIRS, first_columns
from matchmaker.plan.searching.task import task_of
from matchmaker.plan.solvers.engine import reduced_costs, run
from matchmaker.plan.solvers.live import Live
from matchmaker.plan.solvers.quiet import quiet_stdout

if TYPE_CHECKING:
    from collections.abc import Iterable

    from matchmaker.plan.arithmetic.result import PlannedPen
    from matchmaker.plan.program.model import Model
    from matchmaker.plan.program.program import Amounts, Terms
    from matchmaker.plan.solvers.engine import SolverName
    from matchmaker.plan.solvers.watch import Watch

KEEP_NODES = 20
"""Most nodes the search for the plan that keeps most of the standing one takes; with that plan
itself at hand to start from, which is the usual case, it needs none."""

SEARCHED_PAIRS = 300
"""With more allowed pairs than this the plan that a dive finds stands, unsearched: the search
takes several times as long as the whole plan and gains a pair kept here or there."""

MORE_CHICKS = 1e-3
"""What one more wanted chick counts where all else is equal."""

CORE = 60
"""Pairs left open while ties are settled: those nearest to changing (see ``dive.core``)."""

TIE_NODES = 100
"""Most nodes the search for the tie numbers takes: between plans of equal value the first found
after so many stands. A count of nodes, unlike a time limit, ends the same every time."""


@dataclass(frozen=True, slots=True)
class Clock:
    """Which solver runs, until when it may run, how many nodes it may search, who may stop it."""

    solver: SolverName
    until: float | None
    nodes: int | None = None
    pens_fixed: bool = False
    watch: Watch | None = None

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
    Of equal plans the one with the greater worth of all pairs is taken (what lines have beyond
    their needs counts nothing in the value, but a better bird is a better bird), then the fixed
    numbers decide.
    """
    candidates = model.layout.candidates
    kept = [place for place, one in enumerate(candidates) if one.kept]
    places = {(candidates[place].hen, candidates[place].turn) for place in kept}
    large = len(candidates) > FEW_PAIRS
    if clock.solver == "highs" and not large:
        narrow(model, best - KEEP_BONUS * len(places))
    held, bound = model.value, best
    if kept:
        bonus = model.value | {_counted(model, kept): KEEP_BONUS}
        _start_from_standing(model, bonus, clock)
        nodes = KEEP_NODES if len(candidates) <= SEARCHED_PAIRS else 0
        if not large:
            _stage(model, bonus, (model.value, None, best), replace(clock, nodes=nodes))
        held, bound = bonus, model.amount(bonus)
    few = replace(clock, nodes=TIE_NODES, pens_fixed=True)
    worth = _worth(model)
    _fix(model, model.numbers)
    if not large:
        _look_for_worth(model, worth, (held, bound, bound), clock)
    _fix(model, model.y.values())
    _stage(model, worth, (held, bound, bound), few)
    ties: Terms = {
        model.x[place]: tie_number(one.hen, one.cock, one.row, *filter(None, (one.turn,)))
        for place, one in enumerate(candidates)
    }
    _stage(model, ties, (worth, model.amount(worth), None), few)
    return settle_pens(model, clock)


def _worth(model: Model) -> Terms:
    """What all pairs are worth, counted in full, as terms.

    Of pairs worth the same the one with more wanted chicks: the less related raise more.
    """
    importance = {goal.line: goal.importance for goal in model.problem.lines}
    return {
        model.x[place]: importance.get(one.line, 0.0) * (one.value + MORE_CHICKS * one.wanted)
        + MORE_CHICKS * one.test_chicks
        for place, one in enumerate(model.layout.candidates)
    }


def _look_for_worth(
    model: Model, worth: Terms, held: tuple[Terms, float, float], clock: Clock
) -> None:
    """Dive for an equal plan whose pairs are worth more; taken if one is found, not proved."""
    if clock.solver != "highs":
        return
    earlier, least, _ = held
    model.at_least(earlier, least - tolerance.OBJECTIVE / 2)
    model.maximise(worth)
    _adopt(model, worth, plan_to_start_from(model, cores=CORES[:1]))


def _fix(model: Model, columns: Iterable[int]) -> None:
    """Let whole columns stand as they are: ties are settled among the rest.

    Fixed are first the numbers of pairs, without which the hens are nearly a matter of transport,
    then the pens. (Left free at 60 hens, 8 cocks, these stages took three times as long as the best
    value itself.)
    """
    program = model.program
    for column in columns:
        program.lower[column] = program.upper[column] = round(program.value_of(column))


def _start_from_standing(model: Model, bonus: Terms, clock: Clock) -> None:
    """Take a plan that keeps more of the standing one, where diving finds a better one."""
    if clock.solver == "highs":
        model.maximise(bonus)
        _adopt(model, bonus, plan_to_start_from(model))


def _adopt(model: Model, terms: Terms, found: Amounts | None) -> None:
    """Put a plan found by diving in place of the one in hand if it is better by these terms."""
    if found is None:
        return
    if sum(value * found[column] for column, value in terms.items()) > model.amount(terms):
        model.program.values = found


def _counted(model: Model, places: list[int]) -> int:
    """Count these pairs in one whole column."""
    number = model.count(model.taken(places), len(places))
    if model.program.values is not None:
        held = round(model.amount(model.taken(places)))
        model.program.values = np.append(model.program.values, held)
    return number


def narrow(model: Model, least: float) -> None:
    """Fix every whole column whose change alone would cost more than ``least`` leaves.

    Reduced-cost fixing (Dantzig, Fulkerson and Johnson 1954): exact, it only removes plans worth
    less than ``least``. ``model`` must still have the value as its objective.
    """
    program = model.program
    bound, added = reduced_costs(program)
    spare = bound - least + tolerance.OBJECTIVE
    for column in (*model.x, *model.y.values()):
        if added[column] < -spare:
            program.upper[column] = program.lower[column]
        elif added[column] > spare:
            program.lower[column] = program.upper[column]


def settle_pens(model: Model, clock: Clock) -> tuple[PlannedPen, ...]:
    """Return the pens for pairs already chosen: fewest, then those that stand, then ties."""
    small = build(replace(model.problem, candidates=chosen(model)))
    for column in small.x:
        small.program.lower[column] = 1
    pens = sum(len(kind.pens) for kind in small.layout.kinds) + 1
    terms: Terms = {}
    for (slot, group), column in small.y.items():
        label = small.layout.kinds[slot.kind].pens[0]
        row = "" if group is None else group.row
        words = (slot.cock, label, row, str(slot.copy), *filter(None, (slot.turn,)))
        terms[column] = tie_number(*words) - pens * (pens + 1)
    terms |= dict.fromkeys(standing_pens(small), float(pens))
    return decode(small if _stage(small, terms, None, clock) else model)


def standing_pens(model: Model) -> Terms:
    """Return columns that count the pens a cock keeps of those he has in the standing plan.

    Pens alike are one kind: of so many he had of a kind he keeps as many as he holds. A pen with
    several turns counts in each.
    """
    stands = Counter(
        (cock, place)
        for pen, cock in model.problem.standing_pens
        for place, kind in enumerate(model.layout.kinds)
        if pen in kind.pens
    )
    terms: Terms = {}
    for (cock, place), count in sorted(stands.items()):
        slots = [slot for slot in model.layout.slots.get(cock, ()) if slot.kind == place]
        if slots:
            keeps = model.column(0, count, whole=False)
            model.at_most({keeps: 1.0} | model.pens_held(slots, -1.0), 0)
            terms[keeps] = 1.0
    return terms


_Held: TypeAlias = "tuple[Terms, float | None, float | None] | None"
"""An earlier objective, the least it must reach, and the most it is known to reach."""


def _stage(model: Model, terms: Terms, held: _Held, clock: Clock) -> bool:
    """Maximise ``terms`` with an earlier objective held; say whether there is a plan.

    That an earlier stage proved its best spares this one the proof. Where time runs out before
    there is a plan, the values of the stage before stay.
    """
    before = model.program.values
    if held is not None:
        earlier, least, most = held
        if most is not None:
            model.at_most(earlier, most + tolerance.OBJECTIVE / 2)
        if least is not None:
            model.at_least(earlier, least - tolerance.OBJECTIVE / 2)
    model.maximise(terms)
    try:
        if clock.solver == "highs" and clock.pens_fixed and before is not None:
            return _improve(model, before, clock)
        end = run(
            model.program,
            clock.solver,
            time_limit=clock.left(),
            start=before,
            node_limit=clock.nodes,
            pens_fixed=clock.pens_fixed,
            watch=clock.watch,
        )
    except SolverStoppedError:
        return False
    return end.outcome is not Outcome.NONE


def _improve(model: Model, before: Amounts, clock: Clock) -> bool:
    """Look for a better plan than the one in hand among the pairs that matter most.

    With the pens settled a search over all pairs takes ten times as long and seldom finds another.
    """
    task = task_of(model)
    with quiet_stdout():
        columns = None
        if len(task.pairs) > FEW_PAIRS:
            columns = np.union1d(first_columns(task), np.flatnonzero(before)).astype(np.int32)
        live = Live(model.program, columns, clock.watch)
        if not live.solve():
            return True
        part, kept, values = core(task, live, CORE, before)
    end = run(
        part,
        clock.solver,
        time_limit=clock.left(),
        start=before[kept],
        node_limit=clock.nodes,
        pens_fixed=True,
        watch=clock.watch,
    )
    if end.outcome is not Outcome.NONE and part.values is not None:
        values[kept] = part.values
        model.program.values = values
    return True
