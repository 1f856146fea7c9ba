"""What eggs are worth by line that do not hang on what is done today.

They are those laid before today, and those that a hen goes on laying by the cock she is with or was
with last when she is taken from him, or he from her: they are surely his for a while.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from matchmaker.rebalance.clock import Clock, days, sure_sire

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping

    from matchmaker.plan.posing.problem import Candidate
    from matchmaker.rebalance.rows import Rows
    from matchmaker.rebalance.season import Season
    from matchmaker.rebalance.standing import Standing


@dataclass(frozen=True, slots=True, kw_only=True)
class Bank:
    """Pairs cut to the days they had, and those that each hen still lays whatever is done.

    ``still`` are by hen: of her present cock, as if she were taken from him today. ``before`` and
    ``counted`` are wanted chicks by (hen, line), without and with them.
    """

    had: tuple[Candidate, ...]
    still: Mapping[str, Candidate]
    before: Mapping[tuple[str, str], float] = field(default_factory=dict)
    counted: Mapping[tuple[str, str], float] = field(default_factory=dict)

    @property
    def pairs(self) -> tuple[Candidate, ...]:
        """All of them."""
        return (*self.had, *self.still.values())


def bank(season: Season, standing: Standing, rows: Rows, until: Mapping[str, dt.date]) -> Bank:
    """Count the eggs kept so far and those still to come, hen by hen.

    A hen counts for one family of a line at most, whichever cock her chicks are by. ``until`` is
    the last day of each pen.
    """
    had: list[Candidate] = []
    still: dict[str, Candidate] = {}
    before: dict[tuple[str, str], float] = defaultdict(float)
    cocks = standing.diary.cocks
    hens = sorted({stay.bird for stay in standing.diary.stays if stay.bird not in cocks})
    for hen in hens:
        for cock, amount in sorted(_so_far(season, standing, hen).items()):
            one = _part(season, rows, (hen, cock), amount, before)
            if one is not None:
                had.append(one)
                before[hen, one.line] += one.wanted
    counted = dict(before)
    for hen in hens:
        for cock, amount in _still_to_come(season, standing, hen, until).items():
            one = _part(season, rows, (hen, cock), amount, before)
            if one is not None:
                still[hen] = one
                counted[hen, one.line] = counted.get((hen, one.line), 0.0) + one.wanted
    return Bank(had=tuple(had), still=still, before=dict(before), counted=counted)


def _part(
    season: Season,
    rows: Rows,
    birds: tuple[str, str],
    amount: float,
    counted: Mapping[tuple[str, str], float],
) -> Candidate | None:
    one = rows.of(*birds)
    if one is None:
        return None
    return season.part(one, amount, counted=counted.get((one.hen, one.line), 0.0))


def _so_far(season: Season, standing: Standing, hen: str) -> dict[str, float]:
    last = min(standing.day - days(1), season.last, standing.lost.get(hen, standing.day))
    return standing.diary.credit(hen, season.first, last)


def _still_to_come(
    season: Season, standing: Standing, hen: str, until: Mapping[str, dt.date]
) -> dict[str, float]:
    """Days on which her eggs are surely the cock's that she is with, or was with last.

    They end where the next one may come to her.
    """
    first = max(standing.day, season.first)
    pen = standing.stands(hen)
    here = None if pen is None else standing.cock_in(pen)
    if pen is not None and here is not None:
        last = until.get(pen, season.last)
        amount = still_laid(standing, hen, here, (first, last), neighbours=True)
        return {here: amount} if amount > 0 else {}
    if hen in standing.lost or hen in standing.missing:
        return {}
    since = standing.cockless_since(hen)
    if since is None:
        return {}
    last = min(season.last, since + days(standing.diary.waits.kept))
    return standing.diary.credit(hen, first, last)


def still_laid(
    standing: Standing,
    hen: str,
    cock: str,
    span: tuple[dt.date, dt.date],
    *,
    neighbours: bool = False,
) -> float:
    """Days of a span on which eggs of a hen taken from everybody today are surely a cock's.

    Each counts as it is fertile; they end where the next cock may come to her. With ``neighbours``
    she stays in her pen, the cock being gone: where eggs are not told apart all there must be sure.
    """
    clock = apart(standing.diary.clock(hen), standing.day)
    ends = [one.last for one in clock.contacts if one.cock == cock and one.last is not None]
    if not ends:
        return 0.0
    pen = standing.pen_of.get(hen)
    clocks = [clock]
    if neighbours and pen is not None and pen not in standing.diary.told_apart:
        own = standing.diary.clock
        clocks += [apart(own(other), standing.day) for other in standing.hens_in(pen)]
    last = min(span[1], max(ends) + days(standing.diary.waits.kept))
    amount = 0.0
    for number in range((last - span[0]).days + 1):
        day = span[0] + days(number)
        if sure_sire(clocks, day) == cock:
            amount += clock.fertility(cock, day)
    return amount


def apart(clock: Clock, day: dt.date) -> Clock:
    """The clock of a hen that is taken from whoever she is with on a day."""
    return replace(
        clock,
        contacts=tuple(
            replace(one, last=day) if one.last is None else one for one in clock.contacts
        ),
    )
