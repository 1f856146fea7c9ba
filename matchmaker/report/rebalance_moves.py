"""What a response writes to ``moves.csv``: who leaves where on which day, and who comes in."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.rebalance.orders import stays_after
from matchmaker.tables.amend import Amendment, written_date

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping

    from matchmaker.rebalance.diary import Stay
    from matchmaker.rebalance.rebalancing import Rebalance


def moves_amendment(answer: Rebalance) -> Amendment:
    """The stays that end and begin, days as the keeper writes his.

    Stays written for that day or later are taken out, as they are planned anew. Where no stays are
    written those of the plan are written too: who stands where, since the pens were made up.
    """
    tables = answer.table.study.flock.tables
    settings = tables.settings
    assert settings is not None  # noqa: S101  an answer has settings

    def day(when: dt.date | None) -> str:
        return "" if when is None else written_date(when, settings)

    def row(stay: Stay) -> Mapping[str, str]:
        first, last = day(stay.first), day(stay.last)
        return {"bird": stay.bird, "pen": stay.pen, "moved_in": first, "moved_out": last}

    going, begun = stays_after(answer.standing, answer.posed, answer.response)
    if answer.standing.from_plan:
        return Amendment(added=[row(stay) for stay in (*going, *begun)])
    written = {move.row: move.moved_out for move in tables.moves}
    anew = {stay.bird for stay in answer.standing.undone}
    return Amendment(
        cells={
            (stay.row, "moved_out"): day(stay.last)
            for stay in going
            if stay.last != written[stay.row] and (stay.last is not None or stay.bird in anew)
        },
        added=[row(stay) for stay in begun],
        removed=frozenset(stay.row for stay in answer.standing.undone),
    )
