"""What the loss of each cock would cost, with the best response to it: asked before it happens."""

from __future__ import annotations

import contextlib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker.errors import SolverStoppedError
from matchmaker.plan.arithmetic.verify import evaluate
from matchmaker.rebalance.clock import days
from matchmaker.rebalance.posing import pose_response, unmoved
from matchmaker.rebalance.responding import Responder
from matchmaker.rebalance.standing import lose

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping

    from matchmaker.plan.solvers.watch import Watch
    from matchmaker.rebalance.responding import Answer
    from matchmaker.rebalance.season import Season
    from matchmaker.rebalance.standing import Standing


CLOSE: Final = 0.1
"""A loss that has not happened is worked out to so many wanted chicks, or to ``CLOSE_PART`` of the
plan's value if that is more; the bound says how near it is."""

CLOSE_PART: Final = 0.002

NODES: Final = 60
"""Most nodes of the search for one loss."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CockLoss:
    """The loss of one cock on a day and the best response.

    ``before`` is the value of the pens had he lived (and birds been moved where that is better, so
    that what has nothing to do with him makes no loss smaller), ``bound`` what they can be worth at
    most, ``without`` what is left if nobody is moved (his eggs of the next days counted), in wanted
    chicks as the plan counts them; ``best`` is the best response, ``None`` where none keeps every
    minimum. ``spare`` is the cock from outside the pens that it brings in, if any, into his pen if
    there is one; ``spares`` are all such cocks. ``at_risk`` are lines that have no more hens with a
    cock under it although they had some, ``on_one_cock`` those that had several cocks and then
    have one. ``responder`` answers for the same loss with fewer cocks at hand.
    """

    cock: str
    pens: tuple[str, ...]
    lines: tuple[str, ...]
    day: dt.date
    eggs_until: dt.date
    sure_from: dt.date
    before: float
    bound: float
    without: float
    best: Answer | None
    spare: str | None
    spares: frozenset[str]
    at_risk: tuple[str, ...]
    on_one_cock: tuple[str, ...]
    responder: Responder

    @property
    def loss(self) -> float:
        """What is lost in spite of the best response; all but his eggs where there is none."""
        return max(0.0, self.before - self.after)

    @property
    def after(self) -> float:
        """What is left with the best response that is known."""
        return self.without if self.best is None else max(self.without, self.best.value)

    @property
    def at_most(self) -> float:
        """What is lost at most: the pens are worth no more than the bound if he lives."""
        return max(0.0, self.bound - self.after)

    @property
    def at_least(self) -> float:
        """What is lost at least: no response is worth more than the bound.

        Nobody moved may be worth more than that where it keeps fewer minimums.
        """
        if self.best is None:
            return self.loss
        return max(0.0, self.before - max(self.without, self.best.bound))

    @property
    def certain(self) -> bool:
        """Whether the loss is known to the digit that is told."""
        return round(self.at_most, 1) == round(self.at_least, 1)

    @property
    def shares_out(self) -> bool:
        """Whether the best response moves hens or other cocks."""
        return self.best is not None and self.best.moves > 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Whole:
    """The pens if nobody is lost: what they are worth, the hens and the cocks of each line."""

    value: float
    bound: float
    hens: Mapping[str, int]
    cocks: Mapping[str, int]


def losses(
    season: Season, standing: Standing, *, watch: Watch | None = None
) -> tuple[CockLoss, ...]:
    """The loss of each cock that stands in a pen, one at a time, in order of their bands.

    Where the watch ends the work those done by then are returned; cocks with more hens come first.
    """
    whole = whole_plan(season, standing, watch)
    cocks = sorted(
        standing.cocks,
        key=lambda cock: (-sum(len(standing.hens_in(pen)) for pen in standing.homes(cock)), cock),
    )
    found = []
    for cock in cocks:
        if watch is not None and watch.over:
            break
        with contextlib.suppress(SolverStoppedError):
            found.append(loss_of(season, standing, cock, whole, watch=watch))
    return tuple(sorted(found, key=lambda one: one.cock))


def closeness(value: float) -> float:
    """To how many wanted chicks losses against a plan of this value are worked out."""
    return max(CLOSE, CLOSE_PART * value)


def whole_plan(season: Season, standing: Standing, watch: Watch | None = None) -> Whole:
    """The pens if nobody is lost, birds moved where that is better."""
    whole = pose_response(season, standing)
    now = evaluate(whole.problem, unmoved(whole))
    best = None
    with contextlib.suppress(SolverStoppedError):
        best = Responder(whole.problem, watch).best(close=closeness(now.value), nodes=NODES)
    return Whole(
        value=now.value if best is None else max(now.value, best.value),
        bound=now.value if best is None else max(now.value, best.bound),
        hens={total.line: total.hens for total in now.lines},
        cocks={total.line: total.cocks for total in now.lines},
    )


def loss_of(
    season: Season,
    standing: Standing,
    cock: str,
    whole: Whole,
    *,
    watch: Watch | None = None,
) -> CockLoss:
    """The loss of one cock.

    Raises
    ------
    SolverStoppedError
        If the search was stopped before there was a response.
    """
    waits, day = standing.diary.waits, standing.day
    after = lose(standing, {cock: day})
    posed = pose_response(season, after)
    responder = Responder(posed.problem, watch)
    best = responder.best(close=closeness(whole.value), nodes=NODES)
    pens = standing.homes(cock)
    left = {} if best is None else {total.line: total for total in best.lines}
    return CockLoss(
        cock=cock,
        pens=pens,
        lines=_lines_of(season, standing, cock),
        day=day,
        eggs_until=day + days(waits.kept),
        sure_from=day + days(waits.clean_out),
        before=whole.value,
        bound=whole.bound,
        without=evaluate(posed.problem, unmoved(posed)).value,
        best=best,
        spare=_spare(standing, best, pens),
        spares=_spares(standing, best),
        at_risk=tuple(
            line
            for line, hens in sorted(whole.hens.items())
            if hens and (line not in left or not left[line].hens)
        ),
        on_one_cock=tuple(
            line
            for line, count in sorted(whole.cocks.items())
            if count > 1 and line in left and left[line].cocks == 1
        ),
        responder=responder,
    )


def _lines_of(season: Season, standing: Standing, cock: str) -> tuple[str, ...]:
    """The lines that the chicks of a cock's pens join."""
    found = {
        one.line
        for pen in standing.homes(cock)
        for hen in standing.hens_in(pen)
        for one in season.of_birds(hen, cock)[:1]
    }
    return tuple(sorted(found - {""}))


def _spares(standing: Standing, best: Answer | None) -> frozenset[str]:
    """The cocks from outside that a response brings in."""
    cocks = () if best is None else (pen.cock for pen in best.pens)
    return frozenset(cock for cock in cocks if cock not in standing.cocks)


def _spare(standing: Standing, best: Answer | None, pens: tuple[str, ...]) -> str | None:
    """The cock from outside that comes into one of these pens, or into any."""
    if best is None:
        return None
    new = [pen for pen in best.pens if pen.cock not in standing.cocks]
    here = [pen.cock for pen in new if pen.pen in pens] or [pen.cock for pen in new]
    return min(here, default=None)
