"""Limits of a problem as sums over pairs, with what a plan leaves free of each."""

from __future__ import annotations

from dataclasses import dataclass
from operator import attrgetter
from typing import TYPE_CHECKING

from matchmaker.plan.arithmetic.breaches import MINIMUMS

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from matchmaker.plan.posing.problem import Candidate, LineGoal, PlanProblem


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """A sum over the pairs of a plan that may grow by ``slack``; ``use`` is what a pair adds."""

    use: Callable[[Candidate], float]
    slack: float


_MINIMUMS: tuple[tuple[str, Callable[[Candidate], float]], ...] = (
    ("hens_min", lambda _: 1.0),
    *((f"{field}_min", attrgetter(field)) for field in MINIMUMS),
)


def limits_of(problem: PlanProblem, pairs: Sequence[Candidate]) -> tuple[Limit, ...]:
    """Return every limit that exchanging hens could break, with what a plan leaves of it.

    What only whole pens or cocks can break is not among them; nor is the kinship of the group,
    which is no sum over pairs.
    """
    return tuple(
        Limit(use=use, slack=bound - sum(use(pair) for pair in pairs))
        for use, bound in (*_of_lines(problem, pairs), *_of_the_plan(problem, pairs))
    )


def _of_lines(
    problem: PlanProblem, pairs: Sequence[Candidate]
) -> Iterator[tuple[Callable[[Candidate], float], float]]:
    for goal in problem.lines:
        for name, amount in _MINIMUMS:
            least = getattr(goal, name)
            if least:
                yield _less_in_line(goal, amount), -float(least)
        if goal.sire_share_max is not None:
            for cock in sorted({pair.cock for pair in pairs if pair.line == goal.line}):
                yield _share(cock, goal.sire_share_max, goal.line), 0.0


def _of_the_plan(
    problem: PlanProblem, pairs: Sequence[Candidate]
) -> Iterator[tuple[Callable[[Candidate], float], float]]:
    limits = problem.limits
    if limits.mean_inbreeding_max is not None:
        mean = limits.mean_inbreeding_max
        yield lambda pair: pair.kinship - mean, 0.0
    if limits.sire_share_max is not None:
        for cock in sorted({pair.cock for pair in pairs}):
            yield _share(cock, limits.sire_share_max, None), 0.0
    if limits.chicks_max is not None:
        yield lambda pair: pair.chicks, limits.chicks_max
    if limits.eggs_max is not None:
        for turns in problem.turns:
            yield _eggs_in(turns), limits.eggs_max
    if limits.pairs is not None:
        yield lambda _: 1.0, float(limits.pairs)
        yield lambda _: -1.0, -float(limits.pairs)


def _less_in_line(
    goal: LineGoal, amount: Callable[[Candidate], float]
) -> Callable[[Candidate], float]:
    return lambda pair: -amount(pair) if pair.line == goal.line else 0.0


def _share(cock: str, most: float, line: str | None) -> Callable[[Candidate], float]:
    """Pairs of a cock beyond his share of all pairs, or of those of one line."""
    return lambda pair: (pair.cock == cock) - most if line is None or pair.line == line else 0.0


def _eggs_in(turns: tuple[str, ...]) -> Callable[[Candidate], float]:
    return lambda pair: pair.eggs if pair.turn in turns else 0.0
