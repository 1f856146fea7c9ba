"""Eggs, goals and rooms made up from a few numbers."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from matchmaker.pairs.pair import Pair
from matchmaker.season.goals import Ask, Goal
from matchmaker.season.lots import Lot, Portion, weeks_of
from matchmaker.season.reaching import survival
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from matchmaker.season.lots import Week

SURE = survival(1.0, 0.0)
"""Every egg becomes a raised chick."""

FIRST = dt.date(2027, 2, 8)


def week(number: int) -> Week:
    """The week of a season of 20 weeks."""
    return weeks_of(FIRST, FIRST + dt.timedelta(days=139))[number - 1]


def lot(
    *,
    week: int = 1,
    pen: str = "1",
    eggs: int = 10,
    sons: float = 0.25,
    daughters: float = 0.25,
    lives: float = 1.0,
    line: str = "Alder",
    tested: str = "",
) -> Lot:
    """Eggs of one hen, named after her pen; chances are per chick raised."""
    pair = Pair(
        hen=f"H{pen}",
        cock=f"C{pen}",
        crossing=None,
        kinship=0.0,
        recurrent_share=0.5,
        merit=0.0,
        chicks=1.0,
        wanted_by_sex={Sex.COCK: sons, Sex.HEN: daughters},
    )
    return Lot(
        week=globals()["week"](week),
        pen=pen,
        hen=pair.hen,
        cock=pair.cock,
        line=line,
        tested=tested,
        portions=(Portion(pair=pair, eggs=float(eggs), lives=lives),),
        eggs=eggs,
    )


def goal(
    wanted: int,
    certainty: float = 0.95,
    *,
    line: str = "Alder",
    importance: float = 1.0,
    most_per_hen: float = float("inf"),
    sons: int = 0,
) -> Goal:
    """So many wanted chicks of a line, of them so many sons."""
    asks = [Ask(count=wanted, certainty=certainty)]
    if sons:
        asks.append(Ask(count=sons, certainty=certainty, sex=Sex.COCK))
    return Goal(
        line=line,
        tested="",
        mean=float(wanted),
        asks=tuple(asks),
        importance=importance,
        most_per_hen=most_per_hen,
    )
