"""What the eggs laid before today, and those that are still a lost cock's, are worth by line."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from matchmaker.rebalance.clock import days

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping

    from matchmaker.plan.problem import Candidate
    from matchmaker.rebalance.season import Season
    from matchmaker.rebalance.standing import Standing


@dataclass(frozen=True, slots=True, kw_only=True)
class Bank:
    """Pairs that have had eggs, each cut to the days it had; ``still`` those of days to come.

    ``still`` are eggs that hens lay from today on and that are surely a cock's that is gone.
    """

    had: tuple[Candidate, ...]
    still: tuple[Candidate, ...]
    worth: Mapping[str, float] = field(default_factory=dict)
    counted: Mapping[tuple[str, str], float] = field(default_factory=dict)

    @property
    def pairs(self) -> tuple[Candidate, ...]:
        """All of them."""
        return (*self.had, *self.still)


def bank(season: Season, standing: Standing) -> Bank:
    """Count the eggs kept so far and the lost cocks' to come, hen by hen.

    A hen counts for one family of a line at most, whichever cock her chicks are by: ``counted``
    says how much of that is used, by (hen, line). Of several rows open to a pair the best counts.
    """
    before: list[Candidate] = []
    after: list[Candidate] = []
    worth: dict[str, float] = defaultdict(float)
    counted: dict[tuple[str, str], float] = defaultdict(float)
    cocks = standing.diary.cocks
    hens = sorted({stay.bird for stay in standing.diary.stays if stay.bird not in cocks})
    for hen in hens:
        for found, credit in (
            (before, _so_far(season, standing, hen)),
            (after, _still_to_come(season, standing, hen)),
        ):
            for cock, amount in sorted(credit.items()):
                one = best_part(season, (hen, cock), amount, counted)
                if one is not None:
                    found.append(one)
                    worth[one.line] += one.value
                    counted[hen, one.line] += one.wanted
    return Bank(had=tuple(before), still=tuple(after), worth=dict(worth), counted=dict(counted))


def best_part(
    season: Season,
    birds: tuple[str, str],
    amount: float,
    counted: Mapping[tuple[str, str], float],
) -> Candidate | None:
    """The best of a pair's rows for so many days; ``None`` where none is open to it."""
    parts = [
        season.part(one, amount, counted=counted.get((one.hen, one.line), 0.0))
        for one in season.pairs.get(birds, ())
    ]
    return max(parts, key=lambda one: (one.value, one.test_chicks, one.row), default=None)


def _so_far(season: Season, standing: Standing, hen: str) -> dict[str, float]:
    last = min(standing.day - days(1), season.last, _last_day(standing, hen))
    return standing.diary.credit(hen, season.first, last)


def _still_to_come(season: Season, standing: Standing, hen: str) -> dict[str, float]:
    """Days on which her eggs are still a gone cock's: until the next one may come to her."""
    pen = standing.pen_of.get(hen)
    since = standing.cockless_since(hen)
    if pen is None or since is None:
        return {}
    last = min(season.last, since + days(standing.diary.waits.kept))
    return standing.diary.credit(hen, max(standing.day, season.first), last)


def _last_day(standing: Standing, hen: str) -> dt.date:
    """Her own last day if she is gone; else she lays on."""
    return min(standing.lost.get(hen, standing.day), standing.day)
