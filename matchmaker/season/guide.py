"""The whole of a season for the pens that stand: dates, eggs to set, chicks to expect."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from functools import cached_property
from string import ascii_lowercase
from typing import TYPE_CHECKING, Final

from matchmaker.season.brood import Batch, Brood, broods
from matchmaker.season.dates import Due, EggSet, season_dates
from matchmaker.season.goals import season_goals
from matchmaker.season.lots import Laid
from matchmaker.season.rates import Rates, rates
from matchmaker.season.reaching import survival
from matchmaker.season.safe import Safe, safe_eggs
from matchmaker.season.set_already import (
    booked_sets,
    counted_lots,
    known_eggs,
    set_batches,
    still_to_set,
    uncounted,
    week_laid,
)
from matchmaker.season.setting import Room, Settled, settle
from matchmaker.season.standing import Pens, season_pens

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Mapping, Sequence

    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.season.season_plan import SeasonPlan
    from matchmaker.plan.solvers.watch import Watch
    from matchmaker.season.lots import Lot, Week
    from matchmaker.season.setting import Reached
    from matchmaker.tables.records import EggRecord

CERTAINTY: Final = 0.95
"""The chance with which wanted chicks are to be reached, unless asked otherwise."""


@dataclass(frozen=True, kw_only=True)
class SeasonGuide:
    """A season: its pens, rates, dates, the eggs to set, what they reach, what will hatch.

    ``done`` are eggs of this season that are set already, as far as their cock is certain, with
    what is known of them; ``doubtful`` the rows of ``eggs.csv`` whose cock is not.
    """

    table: PairTable
    certainty: float
    pens: Pens
    rates: Rates
    safe: tuple[Safe, ...]
    settled: Settled
    sets: tuple[EggSet, ...]
    dates: tuple[Due, ...]
    broods: tuple[Brood, ...]
    room: Room
    weeks: tuple[Week, ...]
    done: tuple[tuple[Lot, EggRecord], ...] = ()
    doubtful: tuple[int, ...] = ()

    @property
    def lines(self) -> tuple[Reached, ...]:
        """What each goal reaches, the lines before the tests."""
        return self.settled.goals

    @cached_property
    def partly_doubtful(self) -> Mapping[int, tuple[int, int]]:
        """By row of ``eggs.csv``: how many of its eggs count for no line, and how many it has."""
        counted: dict[int, int] = defaultdict(int)
        whole: dict[int, int] = {}
        for lot, record in self.done:
            counted[record.row] += lot.eggs
            whole[record.row] = record.eggs or 0
        return {
            row: (eggs - counted[row], eggs)
            for row, eggs in sorted(whole.items())
            if counted[row] < eggs
        }

    @cached_property
    def rows(self) -> tuple[tuple[Lot, int], ...]:
        """The lots of which eggs are set from now on."""
        return self.settled.rows


def season_guide(
    table: PairTable,
    *,
    certainty: float = CERTAINTY,
    plan: SeasonPlan | None = None,
    watch: Watch | None = None,
) -> SeasonGuide:
    """Work out a season for the pens that stand, or for the best plan where none do.

    Parameters
    ----------
    certainty
        The chance with which each line is to raise its wanted chicks.
    plan
        The best plan, where it is known already.
    watch
        Told how far the search for the best plan is, where there is one; may stop it.

    Raises
    ------
    NoPlanError
        If no pens stand, and no plan satisfies the rules and wishes.
    SolverStoppedError
        If time ran out before any plan was found.
    """
    flock = table.study.flock
    settings = flock.settings
    pens = season_pens(table, plan=plan, watch=watch)
    own = rates(flock)
    laid = Laid(pens=pens, rates=own)
    booked = booked_sets(flock)
    done, doubtful = counted_lots(laid, booked)
    lots = still_to_set(laid, booked, flock.today)
    goals = season_goals(table, [*lots, *(lot for lot, _ in done)], certainty)
    room = Room(
        incubator=settings.year.incubator_per_week,
        rearing=settings.year.rearing_room,
    )
    shared = survival(own.raised, own.raised_spread(len(laid.weeks)))
    known = known_eggs(goals, done, laid)
    settled = settle(lots, goals, shared, room, known, uncounted(booked, done, laid))
    sets = _sets(settled.rows, done, laid.weeks)
    safe = safe_eggs(pens, settings.collect_from, settings.collect_until)
    return SeasonGuide(
        table=table,
        certainty=certainty,
        pens=pens,
        rates=own,
        safe=safe,
        settled=settled,
        sets=sets,
        dates=season_dates(pens, safe, sets),
        broods=broods(table.study, own, [*set_batches(done, own), *_planned(settled)]),
        room=room,
        weeks=laid.weeks,
        done=done,
        doubtful=doubtful,
    )


def _planned(settled: Settled) -> list[Batch]:
    return [Batch(lot=lot, eggs=count, like=float(count)) for lot, count in settled.rows]


def _sets(
    rows: Iterable[tuple[Lot, int]],
    done: Iterable[tuple[Lot, EggRecord]],
    weeks: Sequence[Week],
) -> tuple[EggSet, ...]:
    """The sets of the season by day: those in the book, and those to come."""
    eggs: dict[_Key, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    for lot, _ in done:
        number = week_laid(weeks, lot.week.last)
        eggs[number, lot.week.set_on, True][lot.pen] += lot.eggs
    for lot, count in rows:
        eggs[lot.week.number, lot.week.set_on, False][lot.pen] += count
    names = _numbered(sorted(eggs))
    spans: Mapping[int, Week] = {week.number: week for week in weeks}
    found = [
        EggSet(
            number=names[number, set_on, done],
            set_on=set_on,
            eggs=dict(pens),
            first=None if done else spans[number].first,
            last=None if done else spans[number].last,
            done=done,
        )
        for (number, set_on, done), pens in eggs.items()
    ]
    return tuple(sorted(found, key=lambda one: (one.set_on, one.number)))


_Key = tuple[int, "dt.date", bool]
"""Number of the week, day of setting, whether they are set already."""


def _numbered(keys: Iterable[_Key]) -> dict[_Key, str]:
    """A set's number is that of the week of its eggs; further sets of a week get a letter."""
    taken: dict[int, int] = defaultdict(int)
    found = {}
    for key in keys:
        found[key] = f"{key[0]}{_letters(taken[key[0]])}"
        taken[key[0]] += 1
    return found


def _letters(number: int) -> str:
    """Nothing for 0, then a to z, then aa and on."""
    rest, last = divmod(number - 1, 26)
    return f"{_letters(rest)}{ascii_lowercase[last]}" if number else ""
