"""One question, whatever it is about: two birds, a bird, a pen or the plan."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.errors import UsageError
from matchmaker.explain.bird import why_bird
from matchmaker.explain.pair import asked_pair, why_pair
from matchmaker.explain.pen import why_pen
from matchmaker.explain.whole import why_plan

if TYPE_CHECKING:
    from matchmaker.explain.bird import BirdAnswer
    from matchmaker.explain.pair import PairAnswer
    from matchmaker.explain.patience import Patience
    from matchmaker.explain.pen import PenAnswer
    from matchmaker.explain.whole import Fact
    from matchmaker.plan.season.season_plan import SeasonPlan


def why(
    plan: SeasonPlan, *bands: str, pen: str | None = None, patience: Patience | None = None
) -> PairAnswer | BirdAnswer | PenAnswer | tuple[Fact, ...]:
    """Why two birds are paired or not, a bird is where it is, a pen or a whole plan is as it is.

    Two ``bands`` ask for a pair, in either order, one for a bird, ``pen`` for a pen, none of them
    for the facts that shape the plan most. ``patience`` says how long the searches may take.
    ``why_pair`` and ``why_bird`` answer where there is no plan, too.

    Raises
    ------
    UsageError
        If more is asked than one thing, the two are no hen and cock, or there is no such pen.
    KeyError
        If no bird has such a band.
    """
    if len(bands) > 2 or (bands and pen is not None):
        raise UsageError("ask about one thing: two birds, a bird, a pen or the plan")
    if pen is not None:
        return why_pen(plan, pen, patience=patience)
    if not bands:
        return why_plan(plan)
    if len(bands) == 1:
        return why_bird(plan.table, plan, *bands, patience=patience)
    table, hen, cock = asked_pair(plan.table, *bands)
    return why_pair(table, plan, hen, cock, patience=patience)
