"""What a plan changes against the standing one, why, and what each change is worth."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING

from matchmaker.plan.arithmetic.result import Outcome
from matchmaker.plan.searching.solve import best_value

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from matchmaker.pairs.rules import Broken
    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.arithmetic.result import Solution
    from matchmaker.plan.posing.problem import Candidate, PlanProblem

MOST_PRICED = 12
"""Up to so many changes are priced by solving anew; with more the season is a new one, and only
their causes matter."""


class Cause(StrEnum):
    """Why a hen of the standing plan is no longer with her cock, or a new hen is penned."""

    RULE = "rule"
    GONE = "gone"
    BETTER = "better"
    NEW = "new"


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One hen's change: her cocks and pens before and after (``None`` = unused).

    ``worth`` is what keeping her old pair would cost, in wanted chicks, where that was solved.
    """

    hen: str
    cock_before: str | None
    cock_after: str | None
    pen_before: str | None
    pen_after: str | None
    cause: Cause
    broken: tuple[Broken, ...] = ()
    worth: float | None = None


def changes_from(table: PairTable, problem: PlanProblem, solution: Solution) -> tuple[Change, ...]:
    """Every hen whose cock differs from the standing plan, in order of their bands.

    Empty where no plan stands.
    """
    standing = table.study.flock.tables.plan
    if not standing:
        return ()
    before = {row.hen: (row.cock, row.pen) for row in standing}
    after = {pair.hen: (pen.cock, pen.pen) for pen in solution.pens for pair in pen.pairs}
    moved = [
        hen
        for hen in sorted(before.keys() | after.keys())
        if before.get(hen, (None,))[0] != after.get(hen, (None,))[0]
    ]
    found = [_change(table, hen, before.get(hen), after.get(hen)) for hen in moved]
    return tuple(_priced(found, problem, solution))


def _change(
    table: PairTable, hen: str, before: tuple[str, str] | None, after: tuple[str, str] | None
) -> Change:
    cause, broken = _cause(table, hen, before[0]) if before else (Cause.NEW, ())
    return Change(
        hen=hen,
        cock_before=before[0] if before else None,
        pen_before=before[1] if before else None,
        cock_after=after[0] if after else None,
        pen_after=after[1] if after else None,
        cause=cause,
        broken=broken,
    )


def _cause(table: PairTable, hen: str, cock: str) -> tuple[Cause, tuple[Broken, ...]]:
    entries = table.by_birds.get((hen, cock), ())
    if any(pair.allowed for pair in entries):
        return Cause.BETTER, ()
    broken = entries[0].broken if entries else ()
    gone = any(rule.final and rule.rule == "not-available" for rule in broken)
    return (Cause.GONE if gone else Cause.RULE), broken


def _priced(
    changes: Sequence[Change], problem: PlanProblem, solution: Solution
) -> Iterator[Change]:
    """Put a price on the changes made for a better plan: what the old pair, forced, would cost.

    None is known where the best plan itself is not proved, and where the group's kinship has a
    limit or a price, since forcing a pair then moves both.
    """
    proved = solution.outcome is Outcome.OPTIMAL and problem.group is None
    if len(changes) > MOST_PRICED or not proved:
        yield from changes
        return
    old_pairs = _best_by_birds(problem)
    for change in changes:
        if change.cause is not Cause.BETTER:
            yield change
            continue
        forced = best_value(problem, (old_pairs[change.hen, change.cock_before or ""],))
        best = solution.proof.best_value
        yield replace(change, worth=None if forced is None else best - forced)


def _best_by_birds(problem: PlanProblem) -> Mapping[tuple[str, str], Candidate]:
    best: dict[tuple[str, str], Candidate] = {}
    for candidate in problem.candidates:
        key = (candidate.hen, candidate.cock)
        if key not in best or candidate.value > best[key].value:
            best[key] = candidate
    return best
