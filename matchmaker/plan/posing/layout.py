"""A planning problem put in order for a model: birds by band, pens by kind, pens a cock may get.

The same problem in any order of candidates, kinds or pens gives the same layout, hence the same
model and the same plan.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from itertools import groupby
from operator import attrgetter
from typing import TYPE_CHECKING

from matchmaker.errors import MatchmakerError
from matchmaker.flock.listing import natural
from matchmaker.plan.posing.contradictions import contradictions
from matchmaker.plan.posing.problem import BirdInPen, BirdNotInPen, HensTogether

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from matchmaker.plan.posing.problem import Candidate, CockLimit, PenKind, PlanProblem


class ProblemError(MatchmakerError):
    """A planning problem contradicts itself (a pen listed twice, a cock without limits)."""


@dataclass(frozen=True, slots=True, order=True)
class Group:
    """What a pen without known dams holds: one row, whose chicks join one line.

    ``dams_known`` says that its pairs need a pen in which dams are told apart.
    """

    row: str
    line: str
    turn: str = ""
    dams_known: bool = False


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
    turn: str = ""

    def __hash__(self) -> int:
        """By what tells slots apart: hashing all their groups each time takes long."""
        return hash((self.cock, self.kind, self.copy))


@dataclass(frozen=True, slots=True)
class Layout:
    """A problem in order.

    ``members`` gives the places in ``candidates`` of each cock's pairs in each group; ``tracked``
    are the hens of whom the model must know in which pen they are, not only with which cock.
    ``stints`` puts turns into numbered stints in each of which all turns overlap: nobody has more
    than one place (a cock: his hens and pens) in a stint.
    """

    candidates: tuple[Candidate, ...]
    kinds: tuple[PenKind, ...]
    slots: Mapping[str, tuple[Slot, ...]]
    members: Mapping[tuple[str, Group], tuple[int, ...]]
    groups: Mapping[str, tuple[Group, ...]]
    limits: Mapping[str, CockLimit]
    tracked: frozenset[str]
    turns: tuple[frozenset[str], ...]
    stints: Mapping[str, int]

    @property
    def cocks(self) -> tuple[str, ...]:
        """Cocks that have at least one candidate, in order of their bands."""
        return tuple(self.groups)

    def by_cock(self, places: Iterable[int]) -> dict[str, list[int]]:
        """Return these candidates by their cock, in the order of their first."""
        return self._grouped(places, lambda one: one.cock)

    def by_hen(self, places: Iterable[int]) -> dict[str, list[int]]:
        """Return these candidates by their hen, in the order of their first."""
        return self._grouped(places, lambda one: one.hen)

    def _grouped(
        self, places: Iterable[int], bird: Callable[[Candidate], str]
    ) -> dict[str, list[int]]:
        found: dict[str, list[int]] = {}
        for place in places:
            found.setdefault(bird(self.candidates[place]), []).append(place)
        return found

    def at_once(self, places: Sequence[int]) -> list[list[int]]:
        """Return these candidates by sets of overlapping turns, as often as they stand in one."""
        if len(self.turns) == 1:
            return [list(places)] if places else []
        sets = (
            tuple(at for at in places if self.candidates[at].turn in together)
            for together in self.turns
        )
        return [list(found) for found in dict.fromkeys(sets) if found]


def _in_order(candidates: tuple[Candidate, ...]) -> tuple[Candidate, ...]:
    """Sort by hen, cock, row and turn, one after another: millions of keys would fill memory."""
    ordered = list(candidates)
    for field in ("turn", "row", "cock", "hen"):
        ordered.sort(key=attrgetter(field))
    return tuple(ordered)


def group_of(candidate: Candidate) -> Group:
    """Return the row and line a pair belongs to."""
    return Group(candidate.row, candidate.line, candidate.turn, candidate.dams_known)


def stints_of(turns: Iterable[frozenset[str]]) -> dict[str, int]:
    """Return the number of each turn's stint: of the sets that hold it the largest, first named.

    >>> stints_of([frozenset({"March"}), frozenset({"April", "all April and May"})])["March"]
    1
    """
    found: dict[str, int] = {}
    for number, together in enumerate(sorted(turns, key=lambda one: (-len(one), sorted(one)))):
        for turn in together:
            found.setdefault(turn, number)
    return found


def fits(group: Group, kind: PenKind) -> bool:
    """Return whether a pen of this kind may hold this group."""
    return (
        kind.turn == group.turn
        and kind.line in ("", group.line)
        and (not kind.rows or group.row in kind.rows)
        and (kind.dam_known or not group.dams_known)
    )


def lay_out(problem: PlanProblem) -> Layout:
    """Put a problem in order.

    Raises
    ------
    ProblemError
        If the problem contradicts itself.
    """
    check(problem)
    candidates = _in_order(problem.candidates)
    members = _members(candidates)
    groups = {
        cock: tuple(group for _, group in keys)
        for cock, keys in groupby(sorted(members), key=lambda key: key[0])
    }
    limits = {limit.cock: limit for limit in problem.cocks}
    kinds = _kinds(problem)
    detailed = _cocks_known_pen_by_pen(problem)
    turns = tuple(frozenset(together) for together in problem.turns)
    return Layout(
        candidates=candidates,
        kinds=kinds,
        slots={
            cock: tuple(_slots(limits[cock], groups[cock], kinds, detailed=cock in detailed))
            for cock in groups
        },
        members=members,
        groups=groups,
        limits=limits,
        tracked=_tracked(problem, detailed),
        turns=turns,
        stints=stints_of(turns),
    )


def _members(candidates: Sequence[Candidate]) -> dict[tuple[str, Group], tuple[int, ...]]:
    """Places of each cock's pairs in each group; keys are plain while there are many to count."""
    found: dict[tuple[str, str, str, str, bool], list[int]] = defaultdict(list)
    for place, one in enumerate(candidates):
        found[one.cock, one.row, one.line, one.turn, one.dams_known].append(place)
    return {
        (cock, Group(row, line, turn, dams_known)): tuple(places)
        for (cock, row, line, turn, dams_known), places in found.items()
    }


def _kinds(problem: PlanProblem) -> tuple[PenKind, ...]:
    """Pens that are alike together, but each pen that a demand names by itself.

    Places that no cock may fill make no difference between pens.
    """
    most = max((one.hens_max for one in problem.cocks), default=0)
    named = {one.pen for one in problem.demands if isinstance(one, BirdInPen | BirdNotInPen)}
    alike: dict[tuple[object, ...], list[PenKind]] = defaultdict(list)
    for kind in problem.kinds:
        for pen in kind.pens:
            size = (min(kind.hens_max, most), kind.hens_min)
            nature = (*size, kind.line, tuple(sorted(kind.rows)), kind.dam_known, kind.turn)
            own = pen if pen in named else ""
            alike[*nature, own].append(replace(kind, pens=(pen,)))
    merged = [
        replace(pens[0], pens=tuple(sorted((pen.pens[0] for pen in pens), key=natural)))
        for pens in alike.values()
    ]
    return tuple(sorted(merged, key=lambda kind: (natural(kind.pens[0]), kind.turn)))


def _slots(
    limit: CockLimit, groups: tuple[Group, ...], kinds: tuple[PenKind, ...], *, detailed: bool
) -> Iterable[Slot]:
    for place, kind in enumerate(kinds):
        fitting = tuple(group for group in groups if fits(group, kind))
        hens_max = min(kind.hens_max, limit.hens_max)
        hens_min = max(1, kind.hens_min)
        pens = min(len(kind.pens), limit.pens_max)
        if not fitting or hens_min > hens_max or not pens:
            continue
        for copy in range(pens if detailed else 1):
            yield Slot(
                cock=limit.cock,
                kind=place,
                copy=copy,
                pens_max=1 if detailed else pens,
                hens_max=hens_max,
                hens_min=hens_min,
                groups=fitting,
                dam_known=kind.dam_known,
                turn=kind.turn,
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
    for words in contradictions(problem):
        raise ProblemError(words)
