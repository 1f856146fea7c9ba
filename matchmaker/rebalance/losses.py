"""What the loss of each cock would cost, with the best response to it: asked before it happens."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker import tolerance
from matchmaker.plan.verify import evaluate
from matchmaker.rebalance.clock import days
from matchmaker.rebalance.posing import pose_response, unmoved
from matchmaker.rebalance.responding import Responder
from matchmaker.rebalance.standing import lose

if TYPE_CHECKING:
    import datetime as dt

    from matchmaker.rebalance.posing import Posed
    from matchmaker.rebalance.responding import Answer
    from matchmaker.rebalance.season import Season
    from matchmaker.rebalance.standing import Standing


CLOSE: Final = 0.1
"""A loss that has not happened is worked out to so many wanted chicks, or to ``CLOSE_PART`` of the
plan's value if that is more; the bound says how near it is."""

CLOSE_PART: Final = 0.001

NODES: Final = 20
"""Most nodes of the search for one loss."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CockLoss:
    """The loss of one cock on a day and the best response.

    ``before`` is the value of the pens had he lived (and birds been moved where that is better, so
    that what has nothing to do with him makes no loss smaller), ``without`` what is left if nobody
    is moved (his eggs of the next days counted), both in wanted chicks as the plan counts them;
    ``best`` the best response, ``None`` where none keeps every minimum. ``spare`` is the cock from
    outside the pens that it brings in, if any; ``at_risk`` are lines that have no more hens with a
    cock under it although they had some.
    """

    cock: str
    pens: tuple[str, ...]
    lines: tuple[str, ...]
    day: dt.date
    eggs_until: dt.date
    sure_from: dt.date
    before: float
    without: float
    best: Answer | None
    spare: str | None
    at_risk: tuple[str, ...]
    posed: Posed

    @property
    def loss(self) -> float:
        """What is lost in spite of the best response; all but his eggs where there is none."""
        after = self.without if self.best is None else self.best.value
        return max(0.0, self.before - after)


def losses(season: Season, standing: Standing) -> tuple[CockLoss, ...]:
    """The loss of each cock that stands in a pen, one at a time, in order of their bands.

    Raises
    ------
    SolverStoppedError
        If a search was stopped before there was a response.
    """
    whole = pose_response(season, standing)
    now = evaluate(whole.problem, unmoved(whole))
    before = {total.line: total.hens for total in now.lines}
    best = Responder(whole.problem).best(close=CLOSE, nodes=NODES)
    value = now.value if best is None else max(now.value, best.value)
    cocks = sorted(bird for bird in standing.pen_of if bird in standing.diary.cocks)
    return tuple(loss_of(season, standing, cock, (value, before)) for cock in cocks)


def loss_of(
    season: Season,
    standing: Standing,
    cock: str,
    whole: tuple[float, dict[str, int]],
    *,
    only: frozenset[str] | None = None,
) -> CockLoss:
    """The loss of one cock; ``whole`` is the value with him and the hens of each line.

    ``only`` are the cocks outside the pens that may be used, if not all.
    """
    value, hens_before = whole
    waits, day = standing.diary.waits, standing.day
    after = lose(standing, {cock: day})
    posed = pose_response(season, after, only=only)
    responder = Responder(posed.problem)
    close = max(CLOSE, CLOSE_PART * value)
    best = responder.best(close=close, nodes=NODES)
    pens = tuple(sorted(s.pen for s in standing.diary.stays_of(cock) if s.last is None))
    lines = {
        one.line
        for pen in pens
        for hen in standing.hens_in(pen)
        for one in season.of_birds(hen, cock)[:1]
    }
    hens_after = {} if best is None else {total.line: total.hens for total in best.lines}
    return CockLoss(
        cock=cock,
        pens=pens,
        lines=tuple(sorted(lines - {""})),
        day=day,
        eggs_until=day + days(waits.kept),
        sure_from=day + days(waits.clean_out),
        before=value,
        without=evaluate(posed.problem, unmoved(posed)).value,
        best=best,
        spare=_spare(standing, best, pens),
        at_risk=tuple(
            line for line, hens in sorted(hens_before.items()) if hens and not hens_after.get(line)
        ),
        posed=posed,
    )


def _spare(standing: Standing, best: Answer | None, pens: tuple[str, ...]) -> str | None:
    """The cock from outside that comes into one of these pens, or into any."""
    if best is None:
        return None
    new = [pen for pen in best.pens if pen.cock not in standing.pen_of]
    here = [pen.cock for pen in new if pen.pen in pens] or [pen.cock for pen in new]
    return min(here, default=None)


def is_loss(amount: float) -> bool:
    """Whether an amount is more than rounding."""
    return amount > tolerance.OBJECTIVE
