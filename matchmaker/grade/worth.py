"""What a plan loses without a bird: the best plan with it less the best plan without it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker.errors import SolverStoppedError
from matchmaker.rebalance.losses import NODES, closeness
from matchmaker.rebalance.responding import Responder

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from matchmaker.grade.rounds import Round
    from matchmaker.plan.solvers.watch import Watch
    from matchmaker.rebalance.responding import Answer


@dataclass(frozen=True, slots=True, kw_only=True)
class Worth:
    """What the plan that took a bird loses without it, in wanted chicks as the plan counts them.

    Between ``at_least`` and ``at_most``, both proved; ``line``, for which it breeds, loses most of
    it ("" where none does). ``needed`` says that without it no plan gives the lines what they ask
    for at least: the two are then infinite.
    """

    at_least: float
    at_most: float
    line: str
    needed: bool = False

    @property
    def told(self) -> bool:
        """Whether it is known that something is lost that counts."""
        return self.needed or self.at_least >= 0.05


NEEDED: Final = Worth(at_least=float("inf"), at_most=float("inf"), line="", needed=True)


def worths(rounds: Sequence[Round], *, watch: Watch, exact: bool = False) -> Mapping[str, Worth]:
    """What each plan loses without each of its young birds, the first plan's first.

    Each is worked out to 0.1 wanted chicks, or to 0.2 % of the plan's value if that is more, unless
    ``exact``; where the watch ends it birds are missing.
    """
    found: dict[str, Worth] = {}
    for one in rounds:
        responder = Responder(one.problem, watch)
        for band in sorted(one.chosen):
            if watch.over:
                return found
            worth = _without(one, band, responder, exact=exact)
            if worth is not None:
                found[band] = worth
    return found


def _without(one: Round, band: str, responder: Responder, *, exact: bool) -> Worth | None:
    """What a plan loses without a bird; ``None`` where the search was stopped before that."""
    value = one.value
    try:
        answer = responder.best(
            close=0.0 if exact else closeness(value),
            nodes=None if exact else NODES,
            without=[band],
        )
    except SolverStoppedError:
        return None
    if answer is None:
        return NEEDED
    least = max(0.0, value - answer.bound)
    most = max(least, one.bound - answer.value)
    return Worth(at_least=_clean(least), at_most=_clean(most), line=_line(one, band, answer))


def _line(one: Round, band: str, answer: Answer) -> str:
    """The line, of those that the bird breeds for, which loses half of it or more; "" without one.

    Other lines may lose too, or win: the pens are filled anew.
    """
    own = {pair.line for pen in one.pens for pair in pen.pairs if band in (pair.hen, pair.cock)} - {
        ""
    }
    importance = {goal.line: goal.importance for goal in one.problem.lines}
    after = {total.line: total.counted for total in answer.lines}
    lost = {
        total.line: importance[total.line] * (total.counted - after.get(total.line, 0.0))
        for total in one.lines
        if total.line in own
    }
    worst = max(sorted(lost), key=lambda line: lost[line], default="")
    return worst if worst and 2 * lost[worst] >= one.value - answer.value > 0 else ""


def _clean(amount: float) -> float:
    """An amount without rounding noise."""
    return 0.0 if amount < 1e-6 else round(amount, 6)
