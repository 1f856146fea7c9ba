"""Why a flock has no plan, in numbers, and the ways out of it that work.

Each way is a set of edits of the keeper's files. It is offered only if the flock, judged and posed
again with just these edits, has a plan.
"""

from __future__ import annotations

import time
from dataclasses import dataclass, replace
from itertools import chain
from typing import TYPE_CHECKING, Final

from matchmaker.errors import InputError, NoPlanError, SolverStoppedError
from matchmaker.plan.arithmetic.result import Outcome
from matchmaker.plan.no_plan.circumstances import Circumstances, circumstances
from matchmaker.plan.no_plan.loosened import KINSHIP_MOST, Kind, Loosened, Loosening, round_up
from matchmaker.plan.no_plan.rejected import openings
from matchmaker.plan.no_plan.relevant import relevant_rules
from matchmaker.plan.no_plan.repair import asked, repaired
from matchmaker.plan.no_plan.repair_edits import edits_of
from matchmaker.plan.no_plan.ways import Trial, trial_of, ways_out
from matchmaker.plan.posing.pose import pose_problem
from matchmaker.plan.searching.conflict import requirements
from matchmaker.plan.searching.kinship_plan import KinshipSolver, solve_group, with_pairs_fixed
from matchmaker.plan.solvers.engine import choose_solver
from matchmaker.plan.solvers.watch import Watch

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.no_plan.repair import Edit
    from matchmaker.plan.posing.problem import PlanProblem

ABOVE_LEAST: Final = (1.0, 1.02, 1.05)
"""Limits on the group's kinship that are tried, in parts of the least found: at the least itself a
search for the best may find nothing in the time there is."""

GROUP_SECONDS = 10.0
"""Seconds that a plan of little kinship of the group may take to be found."""

GROUP_DIGITS = 4
"""Digits in which that limit is written."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WayOut:
    """Edits after which there is a plan, and how good that is."""

    loosened: tuple[Loosened, ...]
    edits: tuple[Edit, ...]
    trial: Trial


@dataclass(frozen=True, slots=True, kw_only=True)
class Diagnosis:
    """What clashes, the numbers around it, and ways out, those that change least first.

    ``further`` are clashes that would be left if only the first were settled.
    """

    problem: PlanProblem
    conflict: tuple[str, ...]
    further: tuple[tuple[str, ...], ...]
    circumstances: Circumstances
    ways: tuple[WayOut, ...]


def diagnose(
    table: PairTable,
    problem: PlanProblem,
    conflict: tuple[str, ...] = (),
) -> Diagnosis:
    """Return why a problem posed from a flock has no plan, and what would give it one.

    Parameters
    ----------
    table
        Every pair of the flock, judged.
    problem
        The problem posed from it, which has no plan (or no allowed pair).
    conflict
        Names of what clashes, as ``NoPlanError`` carries them.
    """
    known = {one.name for one in requirements(problem)}
    further: tuple[tuple[str, ...], ...] = ()
    if problem.candidates and known.isdisjoint(conflict):
        ways = tuple(_of_the_group(table, problem))
    else:
        ways, further = _of_the_rules(table, problem, conflict)
    return Diagnosis(
        problem=problem,
        conflict=conflict,
        further=further,
        circumstances=circumstances(table, problem, [*conflict, *chain.from_iterable(further)]),
        ways=ways,
    )


def _of_the_rules(
    table: PairTable, problem: PlanProblem, conflict: tuple[str, ...]
) -> tuple[tuple[WayOut, ...], tuple[tuple[str, ...], ...]]:
    """Ways out of what clashes, and what would clash further."""
    opened = openings(table, problem)
    relevant = relevant_rules(opened.loosenable, conflict, choose_solver(None))
    known = {one.name for one in requirements(problem)}

    def posed_again(loosened: tuple[Loosened, ...]) -> Trial | None:
        return _tried(table, problem, edits_of(table, loosened, opened.rows))

    ways = ways_out(opened.loosenable, relevant, tried=posed_again)
    found = tuple(
        WayOut(
            loosened=way.loosened,
            edits=edits_of(table, way.loosened, opened.rows),
            trial=way.trial,
        )
        for way in ways
    )
    return found, tuple(one for one in relevant.clashes[1:] if known.issuperset(one))


def _of_the_group(table: PairTable, problem: PlanProblem) -> Iterator[WayOut]:
    """The way out of a limit on the group's kinship that no plan keeps: the least there may be.

    It is offered only if the same search that the keeper will run then finds a plan.
    """
    group = problem.group
    if group is None or group.limit is None:
        return
    watch = Watch(until=time.perf_counter() + GROUP_SECONDS)
    try:
        fixed = with_pairs_fixed(problem, watch=watch)
        search = KinshipSolver(fixed, group, watch=watch)
        least = search.least().kinship
    except SolverStoppedError:
        return
    for part in ABOVE_LEAST:
        to = round_up(least * part, GROUP_DIGITS)
        trial = _tried_within(replace(problem, group=replace(group, limit=to)))
        if trial is not None and to <= KINSHIP_MOST:
            rule = Loosening(kind=Kind.GROUP_KINSHIP, now=group.limit)
            loosened = (Loosened(rule=rule, to=to),)
            yield WayOut(loosened=loosened, edits=edits_of(table, loosened, {}), trial=trial)
            return


def _tried(table: PairTable, problem: PlanProblem, edits: tuple[Edit, ...]) -> Trial | None:
    """The plan that the flock has after these edits, if it has one."""
    try:
        again = repaired(table, edits)
    except InputError:
        return None
    if not again.allowed:
        return None
    posed = pose_problem(again, fresh=True)
    pairs = asked(edits, problem.limits.pairs)
    posed = replace(posed, limits=replace(posed.limits, pairs=pairs))
    apart = replace(posed, group=None)
    trial = trial_of(apart, some=True)
    if trial is None or posed.group is None or posed.group.limit is None:
        return trial
    return _tried_within(posed)


def _tried_within(problem: PlanProblem) -> Trial | None:
    """A plan within the limit on the group's kinship, if one is found in the time there is."""
    try:
        found = solve_group(problem, time_limit=GROUP_SECONDS)
    except (NoPlanError, SolverStoppedError):
        return None
    return Trial(
        value=found.value,
        pairs=sum(len(pen.pairs) for pen in found.pens),
        proved=found.outcome is Outcome.OPTIMAL,
    )
