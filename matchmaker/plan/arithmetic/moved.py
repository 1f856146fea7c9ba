"""Which birds a plan moves, where pens stand already: by plain arithmetic."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from matchmaker.plan.arithmetic.result import PlannedPen
    from matchmaker.plan.posing.problem import PlanProblem


def birds_moved(
    problem: PlanProblem, plan: Sequence[PlannedPen]
) -> tuple[tuple[str, str | None], ...]:
    """Return each bird that is moved, with its new pen or ``None`` if it must only leave its own.

    Cocks come first. None where no pens stand.
    """
    if problem.moves is None:
        return ()
    stands = set(problem.moves.places)
    held = {pen.pen for pen in plan} | _kept(problem, plan)
    paired = {(pair.hen, pen.pen) for pen in plan for pair in pen.pairs}
    cocks = [(pen.cock, pen.pen) for pen in plan if (pen.cock, pen.pen) not in stands]
    hens = [(hen, pen) for hen, pen in sorted(paired) if (hen, pen) not in stands]
    away = {hen for hen, _ in hens}
    leave = [
        (hen, None)
        for hen, pen in sorted(stands)
        if not _is_cock(problem, hen)
        and hen not in away
        and pen in held
        and (hen, pen) not in paired
    ]
    return (*cocks, *hens, *leave)


def _kept(problem: PlanProblem, plan: Sequence[PlannedPen]) -> set[str]:
    """The pens in which a cock stands who gets no other pen than those he has."""
    places = problem.moves.places if problem.moves else ()
    homes = set(places)
    goes = {pen.cock for pen in plan if (pen.cock, pen.pen) not in homes}
    return {pen for bird, pen in places if _is_cock(problem, bird) and bird not in goes}


def _is_cock(problem: PlanProblem, bird: str) -> bool:
    return any(limit.cock == bird for limit in problem.cocks)


def hens_left(problem: PlanProblem, plan: Sequence[PlannedPen]) -> tuple[str, ...]:
    """The hens whose cock goes to another pen and who are left where they are, in order."""
    if problem.moves is None:
        return ()
    held = {pen.pen for pen in plan}
    paired = {pair.hen for pen in plan for pair in pen.pairs}
    stay = _kept(problem, plan)
    left_by = {pen for bird, pen in problem.moves.places if _is_cock(problem, bird)} - held - stay
    return tuple(
        sorted(
            bird
            for bird, pen in problem.moves.places
            if pen in left_by and bird not in paired and not _is_cock(problem, bird)
        )
    )


def work(problem: PlanProblem, plan: Sequence[PlannedPen]) -> int:
    """How often a plan costs work: its pairs, or where pens stand birds moved and hens left."""
    if problem.moves is None:
        return sum(len(pen.pairs) for pen in plan)
    return len(birds_moved(problem, plan)) + len(hens_left(problem, plan))


def broken_moves(problem: PlanProblem, plan: Sequence[PlannedPen]) -> Iterator[str]:
    """Say if more birds are moved than may be."""
    if problem.moves is None or problem.moves.most is None:
        return
    moved = len(birds_moved(problem, plan))
    if moved > problem.moves.most:
        yield f"{moved} birds are moved, at most {problem.moves.most}"
