"""More room as what might have a pair chosen: one place, one hen for a cock, one pen."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from matchmaker.explain.levers import LeverKind

if TYPE_CHECKING:
    from collections.abc import Container, Iterable, Iterator

    from matchmaker.explain.forced import Posed
    from matchmaker.pairs.pair import Pair
    from matchmaker.pairs.table import Key
    from matchmaker.plan.posing.problem import PenKind, PlanProblem


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomLever:
    """One hen more in a pen or for a cock, or one pen more; ``subject`` is the pen or the cock."""

    kind: LeverKind
    subject: str
    now: float

    @property
    def steps(self) -> int:
        """One: it is asked what the next place would do."""
        return 1

    def number(self, step: int) -> float:
        """The number after so many steps."""
        return self.now + step

    def problem_at(
        self, season: Posed, step: int, only: Container[Key] | None = None
    ) -> PlanProblem:
        """The season's problem with so many more; ``only`` makes no difference to room."""
        del only
        problem = season.problem
        if self.kind is LeverKind.HENS_OF_COCK:
            cocks = tuple(
                replace(one, hens_max=one.hens_max + step) if one.cock == self.subject else one
                for one in problem.cocks
            )
            return replace(problem, cocks=cocks)
        return replace(problem, kinds=tuple(self._kinds(problem.kinds, step)))

    def _kinds(self, kinds: Iterable[PenKind], step: int) -> Iterator[PenKind]:
        for kind in kinds:
            if self.subject not in kind.pens:
                yield kind
            elif self.kind is LeverKind.PEN:
                yield replace(kind, pens=(*kind.pens, f"new pen like {self.subject}"))
            else:
                yield replace(kind, pens=(self.subject,), hens_max=kind.hens_max + step)
                rest = tuple(one for one in kind.pens if one != self.subject)
                if rest:
                    yield replace(kind, pens=rest)


def room_levers(season: Posed, pair: Pair) -> Iterator[RoomLever]:
    """What gives a pair's cock more room: a place in his full pens, a hen more, or a pen.

    Where the season has several parts, room is of a part, and none is tried.
    """
    if len({turn for together in season.problem.turns for turn in together}) > 1:
        return
    held = [pen for pen in season.best.pens if pen.cock == pair.cock]
    kinds = {pen: kind for kind in season.problem.kinds for pen in kind.pens}
    limit = next(one for one in season.problem.cocks if one.cock == pair.cock)
    if not held:
        biggest = max(season.problem.kinds, key=lambda kind: (kind.hens_max, kind.pens))
        yield RoomLever(kind=LeverKind.PEN, subject=biggest.pens[0], now=len(kinds))
        return
    if sum(len(pen.pairs) for pen in held) >= limit.hens_max:
        yield RoomLever(kind=LeverKind.HENS_OF_COCK, subject=pair.cock, now=limit.hens_max)
        return
    for pen in held:
        if len(pen.pairs) >= kinds[pen.pen].hens_max:
            now = kinds[pen.pen].hens_max
            yield RoomLever(kind=LeverKind.PLACES, subject=pen.pen, now=now)
