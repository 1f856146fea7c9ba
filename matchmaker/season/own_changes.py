"""Where the pens that stand are not those of the best plan: what that costs, and what it breaks."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.plan.posing.turns import season_turns
from matchmaker.plan.season.score import score_plan
from matchmaker.rebalance.diary import meet
from matchmaker.season.standing import Source
from matchmaker.tables.records import PlanRecord

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.pairs.pair import Pair
    from matchmaker.plan.season.season_plan import SeasonPlan
    from matchmaker.rebalance.diary import Stay
    from matchmaker.season.standing import Pens


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnChanges:
    """The pens that stand, by ``source``, beside the best plan.

    ``value`` is theirs and ``best_value`` that of the best plan, in wanted chicks as the plan
    counts them. ``rejected`` are their pairs that rules reject, ``broken`` says what else they
    break. ``only_standing`` are pairs of theirs that the best plan has not, ``only_best`` those
    that it has and they have not, each in order of hens.
    """

    source: Source
    value: float
    best_value: float
    rejected: tuple[Pair, ...]
    broken: tuple[str, ...]
    only_standing: tuple[Pair, ...]
    only_best: tuple[Pair, ...]

    @property
    def given_up(self) -> float:
        """What the pens that stand are worth less than the best plan, in wanted chicks."""
        return max(0.0, self.best_value - self.value)


def own_changes(pens: Pens, plan: SeasonPlan) -> OwnChanges | None:
    """How the pens that stand differ from the best plan; ``None`` where nothing does, or stands.

    Of pens that were changed in the course of the season the last ones are meant.
    """
    rows = list(_rows(pens))
    if not rows:
        return None
    score = score_plan(pens.table, rows)
    standing = _by_birds(pens.pair(row.hen, row.cock) for row in rows)
    best = _by_birds(pair for pen in plan.pens for pair in pen.pairs)
    if standing.keys() == best.keys() and not score.rejected and not score.broken:
        return None
    return OwnChanges(
        source=pens.source,
        value=score.value,
        best_value=plan.solution.proof.best_value,
        rejected=score.rejected,
        broken=score.broken,
        only_standing=tuple(pair for birds, pair in standing.items() if birds not in best),
        only_best=tuple(pair for birds, pair in best.items() if birds not in standing),
    )


def _by_birds(pairs: Iterator[Pair | None]) -> dict[tuple[str, str], Pair]:
    found = {(pair.hen, pair.cock): pair for pair in pairs if pair is not None}
    return dict(sorted(found.items()))


def _rows(pens: Pens) -> Iterator[PlanRecord]:
    """The pens that stand as rows of a plan; none where nothing stands."""
    if pens.source is Source.PLAN:
        known = pens.table.by_birds
        written = pens.table.study.flock.tables.plan
        yield from (row for row in written if (row.hen, row.cock) in known)
    elif pens.source is Source.MOVES:
        for at, (pen, hen, cock) in enumerate(sorted(_together(pens)), start=2):
            pair = pens.pair(hen, cock)
            if pair is not None:
                line = pair.line or ""
                yield PlanRecord(row=at, pen=pen, line=line, cock=cock, hen=hen, why="")


def _together(pens: Pens) -> set[tuple[str, str, str]]:
    """Pen, hen and cock of those who stand together, by the moves.

    With several turns they are those of all the season; else those of the last day.
    """
    flock, cocks = pens.table.study.flock, pens.diary.cocks
    if len(season_turns(flock.tables.pens, flock.settings)) > 1:
        return {
            (hen.pen, hen.bird, his.bird)
            for hen in pens.stays
            for his in pens.stays
            if his.bird in cocks and hen.bird not in cocks and meet(hen, his)
        }
    day = _last_day(pens)
    homes = {hen: pens.pen_of(hen, day) for hen in pens.hens}
    return {
        (pen, hen, cock)
        for hen, pen in homes.items()
        if pen is not None and (cock := _cock_in(pens, pen, day)) is not None
    }


def _cock_in(pens: Pens, pen: str, day: dt.date) -> str | None:
    """The cock in a pen on a day; the later of two."""
    here = [stay for stay in pens.diary.cocks_of(pen) if stay.covers(day)]
    return max(here, key=_begun).bird if here else None


def _last_day(pens: Pens) -> dt.date:
    """From when on nothing more is written to change, or the last day with a hen in a pen."""
    up = pens.table.study.flock.settings.pen_up
    last = max([up, *map(_begun, pens.stays)])
    ends = [one.last for one in pens.stays if one.bird in pens.hens]
    over = [day for day in ends if day is not None]
    return min(last, max(over)) if over and len(over) == len(ends) else last


def _begun(stay: Stay) -> dt.date:
    return stay.first or dt.date.min
