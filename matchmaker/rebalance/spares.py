"""Spare cocks, chosen before anything happens: by what the loss of each cock would cost."""

from __future__ import annotations

import contextlib
import math
from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker.errors import SolverStoppedError
from matchmaker.pairs.value import DAYS_TO_FERTILE
from matchmaker.rebalance.before_loss import pens_on, season_of
from matchmaker.rebalance.chances import loss_chances
from matchmaker.rebalance.clock import days
from matchmaker.rebalance.losses import NODES, CockLoss, closeness, losses

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Mapping

    from matchmaker.plan.season.season_plan import SeasonPlan
    from matchmaker.plan.solvers.watch import Watch

LEAST_SPARES: Final = 2
"""Spare males to keep at least; beyond that half as many as there are breeding males (Russell, of
the Society for the Preservation of Poultry Antiquities, "Rolling matings")."""


def spares_for(cocks: int) -> int:
    """Spare cocks to keep beside so many in the pens: half as many, two at least (Russell).

    Examples
    --------
    >>> spares_for(3), spares_for(4), spares_for(7)
    (2, 2, 4)
    """
    return max(LEAST_SPARES, math.ceil(cocks / 2))


@dataclass(frozen=True, slots=True, kw_only=True)
class LineSpare:
    """The spare cock whose being kept costs a line's cocks least if one of them is lost.

    ``expected`` is the loss to be expected with him, in wanted chicks, each cock's weighed by the
    chance that he is lost.
    """

    line: str
    cock: str
    expected: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Precautions:
    """What is to be known of losses before they happen.

    ``losses`` are those of each cock on ``day``, with his chance of being lost in ``chances``;
    ``left_out`` are cocks for whom no time was left. ``wanted`` spares are to be kept by the rule
    of thumb; ``kept`` are the best so many of those that any response uses. ``expected`` is what is
    lost if one cock is lost at random, weighed by the chances.
    """

    day: dt.date
    losses: tuple[CockLoss, ...]
    chances: Mapping[str, float]
    wanted: int
    kept: tuple[str, ...]
    lines: tuple[LineSpare, ...]
    left_out: tuple[str, ...] = ()

    @property
    def expected(self) -> float:
        """Wanted chicks to be expected lost in a season in which one cock may be lost."""
        return sum(self.chances[one.cock] * one.loss for one in self.losses)

    def of(self, cock: str) -> CockLoss | None:
        """The loss of a cock, if it was worked out."""
        return next((one for one in self.losses if one.cock == cock), None)


def precautions(plan: SeasonPlan, *, watch: Watch | None = None) -> Precautions:
    """What the loss of each cock of a plan would cost, and the spares to keep.

    Each is taken to be lost on the first day on which eggs are kept: later less is lost. Where the
    watch ends the work some cocks are left out.
    """
    settings = plan.table.study.flock.settings
    day = max(settings.collect_from, settings.pen_up + days(DAYS_TO_FERTILE))
    standing, season = pens_on(plan, day), season_of(plan, day)
    found = losses(season, standing, watch=watch)
    cocks = standing.cocks
    chances = loss_chances(plan.table.study.flock, cocks)
    outside = {cock for _, cock in season.pairs} - set(cocks)
    chooser = _Chooser(outside, found, chances)
    wanted = spares_for(len(cocks))
    return Precautions(
        day=day,
        losses=found,
        chances=chances,
        wanted=wanted,
        kept=chooser.best_of(wanted),
        lines=tuple(chooser.by_line()),
        left_out=tuple(cock for cock in cocks if cock not in {one.cock for one in found}),
    )


class _Chooser:
    """Chooses spares by the loss to be expected with them alone."""

    def __init__(
        self,
        outside: set[str],
        found: tuple[CockLoss, ...],
        chances: Mapping[str, float],
    ) -> None:
        self._losses, self._chances = found, chances
        self._outside = outside
        self._with: dict[tuple[str, frozenset[str]], float] = {}

    def best_of(self, number: int) -> tuple[str, ...]:
        """The spares, so many at most, with which least is to be expected lost.

        With all that the best responses use each loss is as small as it can be. Of more than the
        number the one is dropped that is missed least, one after another.
        """
        used = frozenset(spare for one in self._losses for spare in one.spares)
        while len(used) > number:
            missed = min(sorted(used), key=lambda spare: self._sum(self._losses, used - {spare}))
            used -= {missed}
        return tuple(sorted(used))

    def by_line(self) -> Iterable[LineSpare]:
        """For each line the spare that is best for the cocks that serve it."""
        of_line: dict[str, list[CockLoss]] = defaultdict(list)
        for one in self._losses:
            for line in one.lines:
                of_line[line].append(one)
        for line, own in sorted(of_line.items()):
            spares = sorted({spare for one in own for spare in one.spares})
            sums = {cock: self._sum(own, frozenset({cock})) for cock in spares}
            if sums:
                best = min(spares, key=lambda cock: (sums[cock], cock))
                yield LineSpare(line=line, cock=best, expected=sums[best])

    def _sum(self, own: Iterable[CockLoss], kept: frozenset[str]) -> float:
        return sum(self._chances[one.cock] * self._loss(one, kept) for one in own)

    def _loss(self, one: CockLoss, kept: frozenset[str]) -> float:
        """What the loss of a cock costs with these spares alone."""
        if one.spares <= kept:
            return one.loss
        if (one.cock, kept) not in self._with:
            answer = None
            with contextlib.suppress(SolverStoppedError):
                answer = one.responder.best(
                    close=closeness(one.before), nodes=NODES, without=sorted(self._outside - kept)
                )
            value = one.without if answer is None else max(one.without, answer.value)
            self._with[one.cock, kept] = max(one.before - value, one.loss)
        return self._with[one.cock, kept]
