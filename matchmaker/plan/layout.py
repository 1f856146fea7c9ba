"""A planning problem put in order for a model: birds by band, pens by kind, pens a cock may get.

The same problem in any order of candidates, kinds or pens gives the same layout, hence the same
model and the same plan.
"""

from __future__ import annotations

import re
from collections import defaultdict
from dataclasses import dataclass, replace
from itertools import groupby
from typing import TYPE_CHECKING

from matchmaker.errors import MatchmakerError
from matchmaker.plan.problem import BirdInPen, BirdNotInPen, HensTogether

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from matchmaker.plan.problem import Candidate, CockLimit, PenKind, PlanProblem


class ProblemError(MatchmakerError):
    """A planning problem contradicts itself (a pen listed twice, a cock without limits)."""


@dataclass(frozen=True, slots=True, order=True)
class Group:
    """What a pen without known dams holds: one row, whose chicks join one line."""

    row: str
    line: str


@dataclass(frozen=True, slots=True)
class Slot:
    """Up to ``pens_max`` pens of one kind that one cock may get.

    ``hens_max`` and ``hens_min`` are per pen. ``copy`` tells slots of one kind apart where the
    model must know each pen of a cock by itself.
    """

    cock: str
    kind: int
    copy: int
    pens_max: int
    hens_max: int
    hens_min: int
    groups: tuple[Group, ...]
    dam_known: bool


@dataclass(frozen=True, slots=True)
class Layout:
    """A problem in order.

    ``members`` gives the places in ``candidates`` of each cock's pairs in each group; ``tracked``
    are the hens of whom the model must know in which pen they are, not only with which cock.
    """

    candidates: tuple[Candidate, ...]
    kinds: tuple[PenKind, ...]
    slots: Mapping[str, tuple[Slot, ...]]
    members: Mapping[tuple[str, Group], tuple[int, ...]]
    groups: Mapping[str, tuple[Group, ...]]
    limits: Mapping[str, CockLimit]
    tracked: frozenset[str]

    @property
    def cocks(self) -> tuple[str, ...]:
        """Cocks that have at least one candidate, in order of their bands."""
        return tuple(self.groups)


def natural(label: str) -> tuple[tuple[int, int, str], ...]:
    """Sort key that puts "Pen 2" before "Pen 10".

    >>> sorted(["Pen 10", "Pen 2", "Barn"], key=natural)
    ['Barn', 'Pen 2', 'Pen 10']
    """
    parts = re.findall(r"[0-9]+|[^0-9]+", label)
    return tuple((0, int(part), part) if part.isdecimal() else (1, 0, part) for part in parts)


def group_of(candidate: Candidate) -> Group:
    """Return the row and line a pair belongs to."""
    return Group(candidate.row, candidate.line)


def lay_out(problem: PlanProblem) -> Layout:
    """Put a problem in order.

    Raises
    ------
    ProblemError
        If the problem contradicts itself.
    """
    check(problem)
    candidates = tuple(sorted(problem.candidates, key=lambda one: (one.hen, one.cock, one.row)))
    members: dict[tuple[str, Group], list[int]] = defaultdict(list)
    for place, candidate in enumerate(candidates):
        members[candidate.cock, group_of(candidate)].append(place)
    groups = {
        cock: tuple(group for _, group in keys)
        for cock, keys in groupby(sorted(members), key=lambda key: key[0])
    }
    limits = {limit.cock: limit for limit in problem.cocks}
    kinds = _kinds(problem)
    detailed = _cocks_known_pen_by_pen(problem)
    return Layout(
        candidates=candidates,
        kinds=kinds,
        slots={
            cock: tuple(_slots(limits[cock], groups[cock], kinds, detailed=cock in detailed))
            for cock in groups
        },
        members={key: tuple(places) for key, places in members.items()},
        groups=groups,
        limits=limits,
        tracked=_tracked(problem, detailed),
    )


def _kinds(problem: PlanProblem) -> tuple[PenKind, ...]:
    """Pens that are alike together, but each pen that a demand names by itself.

    Places that no cock may fill make no difference between pens.
    """
    most = max((one.hens_max for one in problem.cocks), default=0)
    named = {one.pen for one in problem.demands if isinstance(one, BirdInPen | BirdNotInPen)}
    alike: dict[tuple[object, ...], list[PenKind]] = defaultdict(list)
    for kind in problem.kinds:
        for pen in kind.pens:
            nature = (min(kind.hens_max, most), kind.hens_min, kind.line, kind.dam_known)
            own = pen if pen in named else ""
            alike[*nature, own].append(replace(kind, pens=(pen,)))
    merged = [
        replace(pens[0], pens=tuple(sorted((pen.pens[0] for pen in pens), key=natural)))
        for pens in alike.values()
    ]
    return tuple(sorted(merged, key=lambda kind: natural(kind.pens[0])))


def _slots(
    limit: CockLimit, groups: tuple[Group, ...], kinds: tuple[PenKind, ...], *, detailed: bool
) -> Iterable[Slot]:
    for place, kind in enumerate(kinds):
        fits = tuple(group for group in groups if kind.line in ("", group.line))
        hens_max = min(kind.hens_max, limit.hens_max)
        hens_min = max(1, kind.hens_min)
        pens = min(len(kind.pens), limit.pens_max)
        if not fits or hens_min > hens_max or not pens:
            continue
        for copy in range(pens if detailed else 1):
            yield Slot(
                cock=limit.cock,
                kind=place,
                copy=copy,
                pens_max=1 if detailed else pens,
                hens_max=hens_max,
                hens_min=hens_min,
                groups=fits,
                dam_known=kind.dam_known,
            )


def _cocks_known_pen_by_pen(problem: PlanProblem) -> frozenset[str]:
    """Cocks with several pens whose hens a demand wants in the same one."""
    several = {limit.cock for limit in problem.cocks if limit.pens_max > 1}
    paired = {one for one in problem.demands if isinstance(one, HensTogether)}
    birds = {one.first for one in paired} | {one.second for one in paired}
    return frozenset(one.cock for one in problem.candidates if one.hen in birds) & several


def _tracked(problem: PlanProblem, detailed: frozenset[str]) -> frozenset[str]:
    in_pens = {one.bird for one in problem.demands if isinstance(one, BirdInPen | BirdNotInPen)}
    together: set[str] = set()
    if detailed:
        for one in problem.demands:
            if isinstance(one, HensTogether):
                together |= {one.first, one.second}
    return frozenset(in_pens | together) & {one.hen for one in problem.candidates}


def check(problem: PlanProblem) -> None:
    """Refuse a problem that contradicts itself.

    Raises
    ------
    ProblemError
        With the first contradiction in words.
    """
    _refuse_twins("pair", ((one.hen, one.cock, one.row) for one in problem.candidates))
    _refuse_twins("pen", (pen for kind in problem.kinds for pen in kind.pens))
    _refuse_twins("cock", (limit.cock for limit in problem.cocks))
    _refuse_twins("line", (goal.line for goal in problem.lines))
    _refuse_unknown("cock", {one.cock for one in problem.candidates}, problem)
    _refuse_unknown("line", {one.line for one in problem.candidates}, problem)
    both = {one.hen for one in problem.candidates} & {one.cock for one in problem.candidates}
    if both:
        msg = f"hen and cock at once: {sorted(both)}"
        raise ProblemError(msg)


def _refuse_twins(what: str, keys: Iterable[object]) -> None:
    seen: set[object] = set()
    for key in keys:
        if key in seen:
            msg = f"{what} listed twice: {key}"
            raise ProblemError(msg)
        seen.add(key)


def _refuse_unknown(what: str, used: set[str], problem: PlanProblem) -> None:
    known = {limit.cock for limit in problem.cocks}
    if what == "line":
        known = {goal.line for goal in problem.lines}
    if used - known:
        msg = f"no limits or goals given for {what}: {sorted(used - known)}"
        raise ProblemError(msg)
