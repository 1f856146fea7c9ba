"""Why there is no plan: named requirements that clash, none of which can be spared.

A deletion filter (Chinneck and Dravnieks 1991): leave out one requirement after the other; where
the rest still clashes, it stays out. What is left clashes, and without any one of it no longer.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from matchmaker.plan.arithmetic.breaches import MINIMUMS as OF_CHICKS
from matchmaker.plan.arithmetic.result import Outcome
from matchmaker.plan.posing.layout import ProblemError
from matchmaker.plan.posing.problem import PenKind, PlanLimits
from matchmaker.plan.program.model import build
from matchmaker.plan.solvers.engine import choose_solver, run

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from matchmaker.plan.posing.problem import CockLimit, LineGoal, PlanProblem
    from matchmaker.plan.solvers.engine import SolverName

PLACES = "pens: places"
HENS_ONCE = "one place per hen"
COCK_LIMITS = "hens and pens per cock"
PEN_MINIMUMS = "pen minimums"

MINIMUMS = {
    "cocks_min": "cocks",
    "hens_min": "hens",
    **{f"{field}_min": words for field, words in OF_CHICKS.items()},
}
"""What a line's minimums count."""


@dataclass(frozen=True, slots=True)
class Requirement:
    """A requirement by name.

    ``line`` and ``field`` say which figure of a line it is; ``field`` alone which limit of the
    plan.
    """

    name: str
    line: str = ""
    field: str = ""


def find_conflict(problem: PlanProblem, *, solver: SolverName | None = None) -> tuple[str, ...]:
    """Return names of requirements that clash, none of which can be spared.

    A limit on the group's kinship is left out of account.

    Raises
    ------
    ProblemError
        If the problem has a plan.
    """
    clashing = clash(problem, choose_solver(solver))
    if clashing is None:
        msg = "no conflict: the problem has a plan"
        raise ProblemError(msg)
    return tuple(one.name for one in clashing)


def clash(problem: PlanProblem, solver: SolverName) -> tuple[Requirement, ...] | None:
    """Return requirements that clash, none of which can be spared; ``None`` if there is a plan."""
    active = list(requirements(problem))
    if has_plan(problem, active, solver):
        return None
    for one in tuple(active):
        rest = [other for other in active if other != one]
        if not has_plan(problem, rest, solver):
            active = rest
    return tuple(active)


def requirements(problem: PlanProblem) -> Iterator[Requirement]:
    """Yield every requirement that may be part of a clash.

    Those that say least come first: ``clash`` leaves out the first that it can.
    """
    for name in (PEN_MINIMUMS, HENS_ONCE, COCK_LIMITS, PLACES):
        yield Requirement(name)
    yield from _limits(problem.limits)
    if problem.moves is not None and problem.moves.most is not None:
        yield Requirement(f"at most {problem.moves.most:g} birds moved", field="moves")
    for one in problem.carriers:
        yield Requirement(f"line {one.line}: one of its carriers stays with it", line=one.line)
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
        lines=tuple(_relax_line(goal, fields) for goal in problem.lines),
        limits=_relax_limits(problem.limits, fields),
        carriers=tuple(one for one in problem.carriers if (one.line, "") in fields),
        group=None,
        moves=problem.moves if ("", "moves") in fields else None,
    )
    if PEN_MINIMUMS not in names:
        kinds = tuple(replace(kind, hens_min=0) for kind in changed.kinds)
        changed = replace(changed, kinds=kinds)
    if PLACES not in names:
        changed = replace(changed, kinds=tuple(_roomy(changed)))
    if COCK_LIMITS not in names:
        changed = replace(changed, cocks=_tireless(changed))
    return changed


def _relax_line(goal: LineGoal, fields: set[tuple[str, str]]) -> LineGoal:
    kept = {field: getattr(goal, field) for field in MINIMUMS if (goal.line, field) in fields}
    share = goal.sire_share_max if (goal.line, "sire_share_max") in fields else None
    given: dict[str, float] = {**dict.fromkeys(MINIMUMS, 0), **kept}
    return replace(goal, **given, sire_share_max=share)  # type: ignore[arg-type]


def _relax_limits(limits: PlanLimits, fields: set[tuple[str, str]]) -> PlanLimits:
    kept = {field: getattr(limits, field) for field in _WORDS if ("", field) in fields}
    return PlanLimits(**kept)


def _line_requirements(goal: LineGoal) -> Iterator[Requirement]:
    for field, of_what in MINIMUMS.items():
        least = getattr(goal, field)
        if least:
            things = of_what.removesuffix("s") if least == 1 else of_what
            name = f"line {goal.line}: at least {least:g} {things}"
            yield Requirement(name, line=goal.line, field=field)
    if goal.sire_share_max is not None:
        name = f"line {goal.line}: one cock has at most {goal.sire_share_max:g} of its pairs"
        yield Requirement(name, line=goal.line, field="sire_share_max")


_WORDS = {
    "mean_inbreeding_max": "mean inbreeding of the chicks at most {:g}",
    "sire_share_max": "one cock has at most {:g} of all pairs",
    "chicks_max": "rearing room for {:g} chicks",
    "eggs_max": "incubator room for {:g} eggs a week",
    "pairs": "exactly {:g} pairs",
}


def _limits(limits: PlanLimits) -> Iterator[Requirement]:
    for field, words in _WORDS.items():
        limit = getattr(limits, field)
        if limit is not None:
            yield Requirement(words.format(limit), field=field)


def _roomy(problem: PlanProblem) -> Iterator[PenKind]:
    """Pens with room for everybody, and spare ones for every cock in every turn.

    Where birds moved are counted there are no spare ones: each pen has a turn of its own then.
    """
    everybody = len({one.hen for one in problem.candidates}) + 1
    for kind in problem.kinds:
        yield replace(kind, hens_max=everybody)
    if problem.moves is not None:
        return
    number = sum(one.pens_max for one in problem.cocks)
    for turn in dict.fromkeys(turn for turns in problem.turns for turn in turns):
        yield PenKind(
            pens=tuple(f"spare {turn} {place}" for place in range(number)),
            hens_max=everybody,
            hens_min=0,
            line="",
            dam_known=True,
            turn=turn,
        )


def _tireless(problem: PlanProblem) -> tuple[CockLimit, ...]:
    everybody = len({one.hen for one in problem.candidates}) + 1
    pens = sum(len(kind.pens) for kind in problem.kinds)
    return tuple(
        replace(one, hens_max=max(everybody, one.hens_max), pens_max=max(pens, one.pens_max))
        for one in problem.cocks
    )
