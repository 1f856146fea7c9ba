"""What it would take for a rejected pair to be allowed: edits of the keeper's files, each tried."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker.explain.forced import allowing_row
from matchmaker.pairs.rules import NO_DATE, Rule
from matchmaker.pairs.value import DAYS_TO_FERTILE
from matchmaker.plan.no_plan.closed_rows import assumed_rows, closed_rows
from matchmaker.plan.no_plan.loosened import Kind, Loosened, Loosening
from matchmaker.plan.no_plan.rejected import needs_of
from matchmaker.plan.no_plan.repair import Act, Edit, repaired
from matchmaker.plan.no_plan.repair_edits import edits_of
from matchmaker.tables.folder import SETTINGS_FILE

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from matchmaker.pairs.pair import Pair
    from matchmaker.pairs.rules import Broken
    from matchmaker.pairs.table import PairTable

MOST_ROUNDS: Final = 5
"""A row that is opened may bring further rules to bear, and so may those behind them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Remedy:
    """Edits after which a pair is allowed, and the flock judged again with them."""

    edits: tuple[Edit, ...]
    table: PairTable


@dataclass(frozen=True, slots=True, kw_only=True)
class Remedies:
    """Ways to have a pair allowed, and the rules that no edit lifts.

    ``allowed`` is the flock judged with a written wish for the pair, whatever that helps. ``fixed``
    are those that only time, a record that proves wrong, or nothing at all can change;
    while there are any, no limit helps, and ``ways`` holds at most the written wish.
    """

    ways: tuple[Remedy, ...]
    fixed: tuple[Broken, ...]
    allowed: PairTable


def remedies(table: PairTable, hen: str, cock: str) -> Remedies:
    """Ways to have a rejected pair allowed, each tried: by its limits, then by a written wish.

    Limits are changed by the least that is enough, in the digits in which they are written.
    """
    ways: list[Remedy] = []
    by_limits, fixed = _by_limits(table, hen, cock)
    if by_limits is not None:
        ways.append(by_limits)
    wish = allowing_row(table, hen, cock)
    allowed = repaired(table, [wish])
    if entry_of(allowed, hen, cock).allowed:
        ways.append(Remedy(edits=(wish,), table=allowed))
    return Remedies(ways=tuple(ways), fixed=fixed, allowed=allowed)


def known_fixed(table: PairTable, entry: Pair) -> tuple[Broken, ...]:
    """The rules of a rejected pair that no edit lifts, without judging the flock again.

    These are the first that ``remedies`` meets. Nothing is known so of a pair that no row is open
    for: a closed row hides what else the pair would break.
    """
    if any(one.rule is Rule.LINE_CLOSED for one in entry.broken):
        return ()
    return tuple(one for one in entry.broken if not _lifting(table, table, entry, one))


def entry_of(table: PairTable, hen: str, cock: str) -> Pair:
    """The entry of a pair to speak of: one that is allowed, worth most; else nearest to it."""
    entries = table.by_birds[hen, cock]
    return min(
        entries,
        key=lambda one: (
            not one.allowed,
            one.crossing is None or one.crossing.tests is not None,
            0 if one.allowed else len(one.broken),
            -(one.value or 0.0),
            one.key,
        ),
    )


def _by_limits(table: PairTable, hen: str, cock: str) -> tuple[Remedy | None, tuple[Broken, ...]]:
    """Lift every rule in the way, one round after another; else the rules that nothing lifts."""
    edits: list[Edit] = []
    now = table
    for _ in range(MOST_ROUNDS):
        entry = entry_of(now, hen, cock)
        if entry.allowed:
            return Remedy(edits=tuple(edits), table=now), ()
        found = [(broken, _lifting(table, now, entry, broken)) for broken in _causes(entry)]
        fixed = tuple(broken for broken, lifts in found if not lifts)
        if fixed:
            return None, fixed
        edits = _joined(edits, (edit for _, lifts in found for edit in lifts))
        now = repaired(table, edits)
    return None, ()


def _joined(before: Iterable[Edit], after: Iterable[Edit]) -> list[Edit]:
    """Edits one after another; of two about the same thing the later stands."""
    return list({_about(edit): edit for edit in (*before, *after)}.values())


def _about(edit: Edit) -> tuple[object, ...]:
    return (edit.act, edit.file, edit.key, edit.row, edit.column, edit.about)


def _causes(entry: Pair) -> tuple[Broken, ...]:
    """The rules that stand in the way by themselves.

    That no chick is wanted often follows from a parent that does not carry, and a closed row hides
    what else its pairs would break.
    """
    closed = tuple(one for one in entry.broken if one.rule is Rule.LINE_CLOSED)
    return closed or entry.broken


def _lifting(table: PairTable, now: PairTable, entry: Pair, broken: Broken) -> tuple[Edit, ...]:
    """The edits that lift one rule from a pair; none where no edit does, or ought to."""
    if broken.rule is Rule.LINE_CLOSED:
        return tuple(_opening(table, entry))
    if broken.rule is Rule.NOT_AVAILABLE:
        return tuple(_freeing(table, broken))
    if broken.rule is Rule.TOO_YOUNG:
        return tuple(_waiting(table, broken))
    needs = needs_of(now, entry, broken)
    return edits_of(now, [Loosened(rule=need.rule, to=need.to) for need in needs[:1]], {})


def _opening(table: PairTable, entry: Pair) -> Iterator[Edit]:
    birds = table.study.flock.by_band()
    lines = birds[entry.hen].line, birds[entry.cock].line
    for row in closed_rows(table):
        if (row.hens, row.cocks) == lines:
            rows = {row.name: (*assumed_rows(table), row.row)}
            rule = Loosening(kind=Kind.ROW, subject=row.name)
            yield from edits_of(table, [Loosened(rule=rule)], rows)


def _freeing(table: PairTable, broken: Broken) -> Iterator[Edit]:
    """A rest ends with the wish that asks for it; quarantine when its time is over."""
    facts = broken.facts
    if facts["why"] == "rest":
        for wish in table.study.flock.tables.wishes:
            if wish.wish == "rest" and wish.bird == facts["bird"]:
                yield Edit(
                    act=Act.DELETE,
                    file=table.study.flock.tables.place("wishes")["file"],
                    table="wishes",
                    row=wish.row,
                    about=f"{wish.bird} rest",
                )
    elif facts["why"] == "quarantine" and facts["until"] != NO_DATE:
        yield from _made_up_on(table, dt.date.fromisoformat(str(facts["until"])))


def _waiting(table: PairTable, broken: Broken) -> Iterator[Edit]:
    """Pens made up once a bird is old enough."""
    days = round((broken.limit or 0.0) - (broken.measured or 0.0))
    settings = table.study.flock.settings
    yield from _made_up_on(table, settings.pen_up + dt.timedelta(days=days))


def _made_up_on(table: PairTable, day: dt.date) -> Iterator[Edit]:
    """Pens made up on a later day, if eggs are still kept once they are fertile."""
    settings = table.study.flock.settings
    if day + dt.timedelta(days=DAYS_TO_FERTILE) > settings.collect_until:
        return
    yield Edit(
        act=Act.WRITE,
        file=SETTINGS_FILE,
        key=("year", "pen_up"),
        before=settings.pen_up,
        after=day,
    )
