"""What a keeper may do every spring: the plan, the same under other settings, and by hand."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Final

from matchmaker.ahead.baselines import best_to_best, random_within_rules, rotation_of_lines
from matchmaker.ahead.changed import HalfKinship, ShareTwice, Unchanged, Without
from matchmaker.ahead.keeping_by_eye import keep_by_eye
from matchmaker.ahead.retaining import grade_all
from matchmaker.errors import NoPlanError
from matchmaker.grade.prospect import prospects_of
from matchmaker.plan.searching.quick import quick_plan
from matchmaker.plan.season.season_frontier import season_frontier
from matchmaker.rebalance.loosening import without_minimums, without_wishes

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence

    import numpy as np

    from matchmaker.ahead.places import Size
    from matchmaker.ahead.retaining import NextFlock
    from matchmaker.pairs.table import PairTable, Survey
    from matchmaker.plan.arithmetic.result import PlannedPen
    from matchmaker.plan.posing.problem import PlanProblem
    from matchmaker.tables.folder import FolderTables

PLAN: Final = "plan"

NAMES: Final[Mapping[str, str]] = {
    PLAN: "the best plan every spring, this spring's as it is proposed",
    "less-kinship": "this spring the frontier's plan half-way to the least kinship of the parents; "
    "then the best plans",
    "least-kinship": "this spring the frontier's plan of least kinship; then the best plans",
    "share-twice": "the best plans, the breed share counting twice as much",
    "half-kinship": "the best plans under half the limit on the kinship of a pair",
    "one-line-fewer": "the best plans without one line, the others taking its room",
    "parted-twice": "the best plans, pairs of birds counting twice in which a wanted gene has "
    "parted from a near unwanted one",
    "by-eye": "without the program: best to best by looks and own scores, no sibs, no parent with "
    "child; young birds kept by looks and scores",
    "pens-by-eye": "pens by eye as there, young birds kept by grade's rules",
    "rotation": "without the program: cocks go round the lines and families by a fixed rule; young "
    "birds kept by looks and scores",
    "random": "any pairs that the rules allow, young birds kept by grade's rules",
}
"""Every policy and what it does."""

NEAR: Final = 0.01
"""The part of its value by which a later spring's plan may surely fall short of the best; where the
bound is no nearer it stands all the same (on the examples it is 0.4 to 1.7 % off on average)."""


def by_plan(
    _table: PairTable, problem: PlanProblem, _rng: np.random.Generator
) -> Sequence[PlannedPen]:
    """The pens that the program gives, near enough to the best that the proof is left undone.

    Without what lines ask for at least where no plan has that, and without this spring's wishes
    where they cannot be met even so; none where no pair is allowed.
    """
    looser = (problem, without_minimums(problem), without_wishes(problem))
    for one in looser if problem.candidates else ():
        try:
            return quick_plan(one, gap=NEAR, nodes=0, why=False).pens
        except NoPlanError:
            continue
    return ()


def by_plan_for_parted(
    table: PairTable, problem: PlanProblem, rng: np.random.Generator
) -> Sequence[PlannedPen]:
    """The program's pens where pairs with a parted bird (``Prospect.parted``) count twice."""
    parted = {one.band for one in prospects_of(table.study.flock.living, table) if one.parted}
    candidates = tuple(
        replace(one, value=2 * one.value) if {one.hen, one.cock} & parted else one
        for one in problem.candidates
    )
    return by_plan(table, replace(problem, candidates=candidates), rng)


@dataclass(frozen=True, slots=True, kw_only=True)
class Policy:
    """What is done every spring.

    ``change`` turns the books into those that it plans from, ``pens`` fills the pens of a spring,
    ``first`` are this spring's where they are decided, ``size`` says how many birds are kept and
    ``keep`` which. ``sees_all`` says that it looks at pairs, too, that the rules reject.
    """

    name: str
    sentence: str
    size: Size
    change: Callable[[FolderTables], FolderTables] = field(default_factory=Unchanged)
    pens: Callable[[PairTable, PlanProblem, np.random.Generator], Sequence[PlannedPen]] = by_plan
    keep: Callable[[Survey, Size], NextFlock] = grade_all
    first: Sequence[PlannedPen] | None = None
    sees_all: bool = False


def policies(
    names: Sequence[str], table: PairTable, size: Size, first: Sequence[PlannedPen]
) -> Iterator[Policy]:
    """The policies of some names, in their order; one that this flock cannot have is left out.

    ``first`` are this spring's pens under the plan.
    """
    wanted = set(names)
    frontier = _frontier(table) if wanted & {"less-kinship", "least-kinship"} else {}
    made: dict[str, Policy | None] = {
        PLAN: _named(PLAN, size, first=first),
        "less-kinship": _at(frontier, "less-kinship", size),
        "least-kinship": _at(frontier, "least-kinship", size),
        "share-twice": _named("share-twice", size, change=ShareTwice()),
        "half-kinship": _named("half-kinship", size, change=HalfKinship()),
        "one-line-fewer": _one_line_fewer(table, size),
        "parted-twice": _named("parted-twice", size, pens=by_plan_for_parted),
        "by-eye": _named("by-eye", size, pens=best_to_best, keep=keep_by_eye, sees_all=True),
        "pens-by-eye": _named("pens-by-eye", size, pens=best_to_best, sees_all=True),
        "rotation": _named(
            "rotation", size, pens=rotation_of_lines, keep=keep_by_eye, sees_all=True
        ),
        "random": _named("random", size, pens=random_within_rules),
    }
    for name in names:
        policy = made[name]
        if policy is not None:
            yield policy


def _named(name: str, size: Size, **how: object) -> Policy:
    return Policy(name=name, sentence=NAMES[name], size=size, **how)  # type: ignore[arg-type]


def _at(frontier: Mapping[str, Sequence[PlannedPen]], name: str, size: Size) -> Policy | None:
    return _named(name, size, first=frontier[name]) if name in frontier else None


def _frontier(table: PairTable) -> Mapping[str, Sequence[PlannedPen]]:
    """Pens of the first spring by the frontier's plans half-way in kinship and at its end."""
    points = season_frontier(table).points
    if len(points) < 2:
        return {}
    most, least = points[0].kinship, points[-1].kinship
    middle = min(points[1:], key=lambda point: abs(point.kinship - (most + least) / 2))
    return {"less-kinship": middle.solution.pens, "least-kinship": points[-1].solution.pens}


def _one_line_fewer(table: PairTable, size: Size) -> Policy | None:
    """Without the working line of the fewest birds of this spring's; ``None`` with a single one."""
    living = table.study.flock.living
    lines = sorted({*table.steps.backcross, *table.steps.intercross})
    if len(lines) < 2:
        return None
    birds = {line: sum(bird.line == line for bird in living) for line in lines}
    given_up = min(lines, key=lambda line: (birds[line], line))
    others = [line for line in lines if line != given_up]
    wanted = {line: table.needs[line].chicks_wanted for line in lines}
    more = 1 + wanted[given_up] / sum(wanted[line] for line in others)
    return _named(
        "one-line-fewer",
        size.without(given_up, others),
        change=Without(given_up, tuple((line, wanted[line] * more) for line in others)),
    )
