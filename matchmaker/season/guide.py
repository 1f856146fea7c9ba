"""The whole of a season for the pens that stand: dates, eggs to set, chicks to expect."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Final

from matchmaker.rebalance.clock import days
from matchmaker.rebalance.eggs import collected
from matchmaker.season.brood import Batch, Brood, broods
from matchmaker.season.counting import Known, parts_of
from matchmaker.season.dates import Due, EggSet, season_dates
from matchmaker.season.goals import season_goals
from matchmaker.season.lots import Laid, shared_out
from matchmaker.season.rates import Rates, rates
from matchmaker.season.reaching import survival
from matchmaker.season.safe import Safe, safe_eggs
from matchmaker.season.setting import Room, Settled, Taken, settle
from matchmaker.season.standing import Pens, season_pens

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Mapping, Sequence

    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.season_plan import SeasonPlan
    from matchmaker.plan.watch import Watch
    from matchmaker.season.goals import Goal
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
    done, doubtful = _done(laid, _this_season(table))
    lots = _still_to_set(laid, _this_season(table), flock.today)
    goals = season_goals(table, [*lots, *(lot for lot, _ in done)], certainty)
    room = Room(
        incubator=settings.year.incubator_per_week,
        rearing=settings.year.rearing_room,
    )
    shared = survival(own.raised, own.raised_spread(len(laid.weeks)))
    known = _known(goals, done, laid)
    settled = settle(lots, goals, shared, room, known, _others(_this_season(table), done, laid))
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
        broods=broods(table.study, own, [*_hatching(done, own), *_planned(settled)]),
        room=room,
        weeks=laid.weeks,
        done=done,
        doubtful=doubtful,
    )


def _planned(settled: Settled) -> list[Batch]:
    return [Batch(lot=lot, eggs=count, like=float(count)) for lot, count in settled.rows]


def _hatching(done: Iterable[tuple[Lot, EggRecord]], rates: Rates) -> list[Batch]:
    """Sets in the book: what hatched of them, or was fertile, counts as it was found."""
    shell = rates.fertility.value * rates.hatch_of_fertile.value
    found = []
    for lot, record in done:
        like = float(lot.eggs)
        share = lot.eggs / (record.eggs or lot.eggs)
        if record.hatched is not None and lot.lives * shell > 0:
            like = record.hatched * share / (lot.lives * shell)
        elif record.fertile is not None and lot.lives * rates.fertility.value > 0:
            like = record.fertile * share / (lot.lives * rates.fertility.value)
        found.append(Batch(lot=lot, eggs=lot.eggs, like=like))
    return found


def _this_season(table: PairTable) -> list[EggRecord]:
    """The sets in the book that are of this season."""
    flock = table.study.flock
    up = flock.settings.pen_up
    return [
        one
        for one in flock.tables.eggs
        if one.eggs
        and (since := one.set_on or one.collected_to or one.collected_from)
        and since > up
    ]


def _done(
    laid: Laid, records: Iterable[EggRecord]
) -> tuple[tuple[tuple[Lot, EggRecord], ...], tuple[int, ...]]:
    """Sets in the book with what their eggs may become, and those of nobody's certainty."""
    found: list[tuple[Lot, EggRecord]] = []
    doubtful = []
    for record in records:
        lots = laid.of_set(record)
        found += [(lot, record) for lot in lots]
        if not lots:
            doubtful.append(record.row)
    return tuple(found), tuple(doubtful)


def _still_to_set(laid: Laid, records: Iterable[EggRecord], today: dt.date) -> tuple[Lot, ...]:
    """Lots of the weeks that are not over, without the pens whose eggs of a week are set."""
    had = {
        (_number_of(laid.weeks, span[1]), record.pen)
        for record in records
        if (span := collected(record)) is not None
    }
    return tuple(
        lot
        for lot in laid.lots
        if lot.week.set_on >= today and (lot.week.number, lot.pen) not in had
    )


def _others(
    records: Iterable[EggRecord], done: Iterable[tuple[Lot, EggRecord]], laid: Laid
) -> list[Taken]:
    """What the eggs of the book that count for no goal take of the rooms."""
    counted: dict[int, int] = defaultdict(int)
    for lot, record in done:
        counted[record.row] += lot.eggs
    found = []
    for record in records:
        eggs, span = record.eggs or 0, collected(record)
        rest = eggs - counted[record.row]
        if rest > 0 and span is not None:
            found.append(
                Taken(
                    week=week_of(laid.weeks, record.set_on or span[1] + days(1)),
                    eggs=rest,
                    raised=rest / eggs * _raised_of(record, laid.rates),
                )
            )
    return found


def _raised_of(record: EggRecord, rates: Rates) -> float:
    """Chicks to be raised of a set, by what is known of it, without inbreeding."""
    if record.hatched is not None:
        return record.hatched * rates.rearing.value
    if record.fertile is not None:
        return record.fertile * rates.hatch_of_fertile.value * rates.rearing.value
    return (record.eggs or 0) * rates.raised


def _number_of(weeks: Iterable[Week], last: dt.date) -> int:
    """The number of the week in which the last eggs of a set were laid; 0 if it is none."""
    return next((week.number for week in weeks if week.first <= last <= week.last), 0)


def week_of(weeks: Iterable[Week], set_on: dt.date) -> int:
    """The number of the week whose eggs are set by a day; 0 if it is none of the season."""
    return next((week.number for week in weeks if week.first < set_on <= week.set_on), 0)


def _known(
    goals: Iterable[Goal], done: Sequence[tuple[Lot, EggRecord]], laid: Laid
) -> dict[tuple[str, str], list[Known]]:
    found: dict[tuple[str, str], list[Known]] = defaultdict(list)
    numbers = _trials(done)
    for goal in goals:
        for (lot, record), trials in zip(done, numbers, strict=True):
            if (lot.tested or lot.line) == (goal.tested or goal.line):
                found[goal.key].append(_as_known(goal, (lot, record), trials, laid))
    return found


def _trials(done: Sequence[tuple[Lot, EggRecord]]) -> list[int]:
    """Chicks hatched, fertile eggs or eggs of each lot, those of one set shared out among its."""
    found = [0] * len(done)
    of_row: dict[int, list[int]] = defaultdict(list)
    for at, (_, record) in enumerate(done):
        of_row[record.row].append(at)
    for places in of_row.values():
        record = done[places[0]][1]
        eggs = [float(done[at][0].eggs) for at in places]
        known = record.fertile if record.hatched is None else record.hatched
        whole = sum(eggs) if known is None else known * sum(eggs) / (record.eggs or sum(eggs))
        for at, number in zip(places, shared_out(round(whole), eggs), strict=True):
            found[at] = number
    return found


def _as_known(goal: Goal, one: tuple[Lot, EggRecord], number: int, laid: Laid) -> Known:
    """A set as what is known of it makes it: chicks hatched, eggs found fertile, or eggs."""
    (lot, record), rates = one, laid.rates
    parts = parts_of(goal, lot)
    each = [part / lot.lives if lot.lives else part for part in parts]
    if record.hatched is not None:
        lives = rates.rearing.value
    else:
        lives = rates.hatch_of_fertile.value * rates.rearing.value
    hatched = record.hatched is not None or record.fertile is not None
    chances = [one * lives for one in each] if hatched else list(parts)
    return Known(
        week=week_of(laid.weeks, lot.week.set_on),
        eggs=lot.eggs,
        trials=number,
        hatched=hatched,
        parts=tuple(chances),
        raised=number * (lives if hatched else lot.lives * rates.raised),
    )


def _sets(
    rows: Iterable[tuple[Lot, int]],
    done: Iterable[tuple[Lot, EggRecord]],
    weeks: Sequence[Week],
) -> tuple[EggSet, ...]:
    """The sets of the season by day: those in the book, and those to come."""
    eggs: dict[_Key, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    for lot, _ in done:
        number = _number_of(weeks, lot.week.last)
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
        letter = "abcdefgh"[min(taken[key[0]], 8) - 1] if taken[key[0]] else ""
        taken[key[0]] += 1
        found[key] = f"{key[0]}{letter}"
    return found
