"""Who is with whom this season: by the moves, else by the written plan, else by the best one."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cached_property
from typing import TYPE_CHECKING

from matchmaker.plan.arithmetic.result import Outcome
from matchmaker.plan.season.season_plan import plan_season
from matchmaker.rebalance.before_loss import stays_of_plan
from matchmaker.rebalance.clock import days
from matchmaker.rebalance.diary import Diary, Stay, meet
from matchmaker.rebalance.morning import diary_of, written_stays
from matchmaker.season.this_season import why_not_this_season
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from matchmaker.flock.flock import Flock
    from matchmaker.pairs.pair import Pair
    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.season.season_plan import SeasonPlan
    from matchmaker.plan.solvers.watch import Watch
    from matchmaker.tables.records import PlanRecord


class Source(StrEnum):
    """What the pens of the season are taken from."""

    MOVES = "moves"
    PLAN = "plan"
    BEST = "best"


@dataclass(frozen=True, kw_only=True)
class Pens:
    """The pens of a season as stays, and in which row of matings each pair counts.

    ``not_the_plan`` says why a written plan is not taken, ``proved`` is false where the best plan
    that was found may not be the best. ``lines`` are the lines that are written
    for a pen with a cock and a hen.
    """

    table: PairTable
    source: Source
    diary: Diary
    lines: Mapping[tuple[str, str], str]
    not_the_plan: str = ""
    proved: bool = True

    @cached_property
    def stays(self) -> tuple[Stay, ...]:
        """The stays of this season, in order of pens and birds."""
        up = self.table.study.flock.settings.pen_up
        own = (one for one in self.diary.stays if one.last is None or one.last > up)
        return tuple(sorted(own, key=lambda one: (one.pen, one.bird, one.first or dt.date.min)))

    @cached_property
    def hens(self) -> tuple[str, ...]:
        """The hens of this season's pens."""
        cocks = self.diary.cocks
        return tuple(sorted({one.bird for one in self.stays if one.bird not in cocks}))

    @cached_property
    def pairs(self) -> tuple[Pair, ...]:
        """The pairs that are together in one pen at some time this season, each once."""
        cocks = self.diary.cocks
        met = {
            (hen.bird, his.bird)
            for hen in self.stays
            if hen.bird not in cocks
            for his in self.stays
            if his.bird in cocks and meet(hen, his)
        }
        found = (self.pair(hen, cock) for hen, cock in sorted(met))
        return tuple(pair for pair in found if pair is not None)

    def pen_of(self, hen: str, day: dt.date) -> str | None:
        """Where a hen is on a day; the later of two pens where she is moved on it."""
        here = [one for one in self.diary.stays_of(hen) if one.covers(day)]
        return max(here, key=lambda one: one.first or dt.date.min).pen if here else None

    def pair(self, hen: str, cock: str) -> Pair | None:
        """The pair in the row whose chicks join the line written, else where it is worth most."""
        entries = self.table.by_birds.get((hen, cock), ())
        if not entries:
            return None
        line = self.lines.get((hen, cock), "")
        meant = [pair for pair in entries if pair.line == line] if line else []
        return max(meant or entries, key=lambda pair: (pair.allowed, pair.value or 0.0))


def season_pens(
    table: PairTable, *, plan: SeasonPlan | None = None, watch: Watch | None = None
) -> Pens:
    """The pens of the season.

    The moves, if they tell of a pen of this season; else the written plan, if all its birds are
    here and every pair of it lies in a row of matings that is open; else the best plan. Who was
    where before the pens are made up counts in every case: hens bring sperm with them. ``plan`` is
    the best plan, where it is known already.

    Raises
    ------
    NoPlanError
        If there is no other pen, and no plan satisfies the rules and wishes.
    SolverStoppedError
        If time ran out before any plan was found.
    """
    flock = table.study.flock
    stays = _written(flock)
    written = {(row.hen, row.cock): row.line for row in flock.tables.plan}
    if _is_made_up(flock, stays):
        lines = _lines_of_pens(flock, stays) | written
        return Pens(table=table, source=Source.MOVES, diary=diary_of(flock, stays), lines=lines)
    why, proved = _why_not(table), True
    if flock.tables.plan and not why:
        source, lines, penned = Source.PLAN, written, _of_rows(flock)
    else:
        plan = plan or plan_season(table, watch=watch)
        source, penned = Source.BEST, stays_of_plan(plan)
        proved = plan.solution.outcome is Outcome.OPTIMAL
        lines = {(p.hen, p.cock): p.line or "" for pen in plan.pens for p in pen.pairs}
    before = [_until(stay, flock.settings.pen_up) for stay in stays]
    diary = diary_of(flock, (*before, *penned))
    return Pens(
        table=table, source=source, diary=diary, lines=lines, not_the_plan=why, proved=proved
    )


def _written(flock: Flock) -> tuple[Stay, ...]:
    """The written stays that can matter to an egg of this season, ended where a bird is gone."""
    limits = flock.settings.limits
    since = flock.settings.pen_up - days(limits.clean_out_days + limits.eggs_after_days + 1)
    stays = (_ended(flock, stay) for stay in written_stays(flock.tables))
    return tuple(stay for stay in stays if stay.last is None or stay.last >= since)


def _ended(flock: Flock, stay: Stay) -> Stay:
    """A stay ends with its bird, by what the books say."""
    bird = flock.by_band()[stay.bird]
    if bird.alive_here:
        return stay
    gone = bird.record.left_on or flock.today
    return _until(stay, gone)


def _until(stay: Stay, last: dt.date) -> Stay:
    return stay if stay.last is not None and stay.last <= last else replace(stay, last=last)


def _cocks(flock: Flock) -> frozenset[str]:
    return frozenset(bird.band for bird in flock.birds if bird.sex is Sex.COCK)


def _of_season(flock: Flock, stays: Iterable[Stay]) -> list[Stay]:
    """The stays that reach into the season, by the moves themselves."""
    up = flock.settings.pen_up
    return [stay for stay in stays if stay.last is None or stay.last > up]


def _is_made_up(flock: Flock, stays: Iterable[Stay]) -> bool:
    """Whether a cock and a hen stand in one pen this season by the moves."""
    now, cocks = _of_season(flock, stays), _cocks(flock)
    held = {stay.pen for stay in now if stay.bird in cocks}
    return any(stay.pen in held for stay in now if stay.bird not in cocks)


def _lines_of_pens(flock: Flock, stays: Iterable[Stay]) -> dict[tuple[str, str], str]:
    """The lines that pens are kept for, by hen and cock."""
    lines = {pen.pen: pen.line for pen in flock.tables.pens if pen.line}
    now, cocks = _of_season(flock, stays), _cocks(flock)
    return {
        (hen.bird, cock.bird): lines[hen.pen]
        for hen in now
        for cock in now
        if hen.pen == cock.pen and hen.pen in lines
        if cock.bird in cocks and hen.bird not in cocks
    }


def _why_not(table: PairTable) -> str:
    def in_open_row(row: PlanRecord) -> bool:
        entries = table.by_birds.get((row.hen, row.cock), ())
        return any(pair.crossing for pair in entries)

    return why_not_this_season(table.study.flock, in_open_row)


def _of_rows(flock: Flock) -> list[Stay]:
    """The written plan as stays; of a pen with several turns its first is meant."""
    spans = {
        pen.pen: (pen.first_day, pen.last_day) for pen in reversed(flock.tables.pens) if pen.open
    }
    up = flock.settings.pen_up
    found = {}
    for row in flock.tables.plan:
        first, last = spans.get(row.pen, (None, None))
        for bird in (row.cock, row.hen):
            found[bird, row.pen] = Stay(
                bird=bird, pen=row.pen, first=max(up, first or up), last=last, row=row.row
            )
    return list(found.values())
