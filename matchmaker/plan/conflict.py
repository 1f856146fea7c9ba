"""Why there is no plan: a smallest set of named requirements that cannot hold together.

A deletion filter (Chinneck and Dravnieks 1991): leave out one requirement after the other; where
the rest still clashes, it stays out. What is left clashes, and without any one of it no longer.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from matchmaker.plan.engine import choose_solver, run
from matchmaker.plan.layout import ProblemError
from matchmaker.plan.model import build
from matchmaker.plan.problem import PenKind
from matchmaker.plan.result import Outcome

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from matchmaker.plan.engine import SolverName
    from matchmaker.plan.problem import CockLimit, LineGoal, PlanProblem

PLACES = "pens: places"
HENS_ONCE = "one place per hen"
COCK_LIMITS = "hens and pens per cock"
PEN_MINIMUMS = "pen minimums"


@dataclass(frozen=True, slots=True)
class Requirement:
    """A requirement by name; ``line`` and ``field`` say which minimum of a line it is."""

    name: str
    line: str = ""
    field: str = ""


def find_conflict(problem: PlanProblem, *, solver: SolverName | None = None) -> tuple[str, ...]:
    """Return names of requirements that clash, none of which can be spared.

    Raises
    ------
    ProblemError
        If the problem has a plan.
    """
    name = choose_solver(solver)
    active = list(requirements(problem))
    if has_plan(problem, active, name):
        msg = "no conflict: the problem has a plan"
        raise ProblemError(msg)
    for one in tuple(active):
        rest = [other for other in active if other != one]
        if not has_plan(problem, rest, name):
            active = rest
    return tuple(one.name for one in active)


def requirements(problem: PlanProblem) -> Iterator[Requirement]:
    """Yield every requirement that may be part of a clash, those spared most gladly last."""
    for name in (PEN_MINIMUMS, HENS_ONCE, COCK_LIMITS, PLACES):
        yield Requirement(name)
    for goal in problem.lines:
        yield from _line_requirements(goal)
    for name in dict.fromkeys(demand.name for demand in problem.demands):
        yield Requirement(name)


def has_plan(problem: PlanProblem, active: Iterable[Requirement], solver: SolverName) -> bool:
    """Return whether any plan satisfies these requirements of a problem."""
    kept = frozenset(active)
    names = {one.name for one in kept}
    model = build(relax(problem, kept), hens_once=HENS_ONCE in names)
    model.maximise({})
    return run(model.program, solver).outcome is not Outcome.NONE


def relax(problem: PlanProblem, active: frozenset[Requirement]) -> PlanProblem:
    """Return the problem without the requirements that are not active."""
    names = {one.name for one in active}
    fields = {(one.line, one.field) for one in active}
    changed = replace(
        problem,
        demands=tuple(one for one in problem.demands if one.name in names),
        lines=tuple(
            replace(
                goal,
                cocks_min=goal.cocks_min if (goal.line, "cocks_min") in fields else 0,
                hens_min=goal.hens_min if (goal.line, "hens_min") in fields else 0,
                wanted_min=goal.wanted_min if (goal.line, "wanted_min") in fields else 0.0,
            )
            for goal in problem.lines
        ),
    )
    if PEN_MINIMUMS not in names:
        kinds = tuple(replace(kind, hens_min=0) for kind in changed.kinds)
        changed = replace(changed, kinds=kinds)
    if PLACES not in names:
        changed = replace(changed, kinds=_roomy(changed))
    if COCK_LIMITS not in names:
        changed = replace(changed, cocks=_tireless(changed))
    return changed


def _line_requirements(goal: LineGoal) -> Iterator[Requirement]:
    for field, least, of_what in (
        ("cocks_min", goal.cocks_min, "cocks"),
        ("hens_min", goal.hens_min, "hens"),
        ("wanted_min", goal.wanted_min, "wanted chicks"),
    ):
        if least:
            name = f"line {goal.line}: at least {least:g} {of_what}"
            yield Requirement(name, line=goal.line, field=field)


def _roomy(problem: PlanProblem) -> tuple[PenKind, ...]:
    """Pens with room for everybody, and spare ones for every cock."""
    everybody = len({one.hen for one in problem.candidates}) + 1
    spare = PenKind(
        pens=tuple(f"spare {place}" for place in range(sum(one.pens_max for one in problem.cocks))),
        hens_max=everybody,
        hens_min=0,
        line="",
        dam_known=True,
    )
    return (*(replace(kind, hens_max=everybody) for kind in problem.kinds), spare)


def _tireless(problem: PlanProblem) -> tuple[CockLimit, ...]:
    everybody = len({one.hen for one in problem.candidates}) + 1
    pens = sum(len(kind.pens) for kind in problem.kinds)
    return tuple(
        replace(one, hens_max=max(everybody, one.hens_max), pens_max=max(pens, one.pens_max))
        for one in problem.cocks
    )
