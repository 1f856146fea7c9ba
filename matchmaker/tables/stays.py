"""Stays in pens that cannot all be as written: a bird in two pens, two cocks in one."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from itertools import combinations
from typing import TYPE_CHECKING

from matchmaker.errors import CellMend
from matchmaker.tables.amend import written_date
from matchmaker.tables.findings import summed_up
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from matchmaker.errors import Fault
    from matchmaker.tables.findings import Findings
    from matchmaker.tables.folder import FolderTables
    from matchmaker.tables.records import BirdRecord, MoveRecord


@dataclass(frozen=True, slots=True, kw_only=True)
class Stay:
    """A bird's stay in a pen; without a first day it began long ago, without a last it lasts.

    ``until`` is the day it left. On that day another bird may take its place, so two stays that
    share no more than it do not meet.
    """

    move: MoveRecord
    since: dt.date
    until: dt.date

    @property
    def after_it_left(self) -> bool:
        """Whether it begins after the bird was gone, so that one of the two days is wrong."""
        return self.until < self.since

    def meets(self, other: Stay) -> bool:
        """Whether both were there on some day, not only one leaving as the other comes."""
        return max(self.since, other.since) < min(self.until, other.until)


def stays_of(tables: FolderTables) -> list[Stay]:
    """Return every stay, in order of first day and row; a bird that is gone stays no longer."""
    birds = {bird.bird: bird for bird in tables.birds}
    stays = (_stay(move, birds.get(move.bird)) for move in tables.moves)
    return sorted(stays, key=lambda stay: (stay.since, stay.move.row))


def stays_that_clash(tables: FolderTables, found: Findings) -> None:
    """Doubt the stays of one bird that meet, and those of two cocks in one pen."""
    twice = tables.alike.get("moves", {})
    stays = [stay for stay in stays_of(tables) if stay.move.row not in twice]
    found.doubts += summed_up(
        _after_it_left(tables, stays),
        "birds came into a pen after they had left",
        "mend these dates or bands, or left_on in the table of birds",
    )
    found.doubts += _in_two_pens(tables, stays)
    found.doubts += _two_cocks(tables, stays)


def _stay(move: MoveRecord, bird: BirdRecord | None) -> Stay:
    until = move.moved_out or dt.date.max
    if bird is not None and bird.left_on is not None and not bird.status.alive_here:
        until = min(until, bird.left_on)
    return Stay(move=move, since=move.moved_in or dt.date.min, until=until)


def _after_it_left(tables: FolderTables, stays: Iterable[Stay]) -> Iterator[Fault]:
    """Doubt each stay that begins after the day on which the bird left."""
    birds = {bird.bird: bird for bird in tables.birds}
    for stay in stays:
        move, bird = stay.move, birds.get(stay.move.bird)
        if bird is None or bird.left_on is None or move.moved_in is None or not stay.after_it_left:
            continue
        if move.moved_in <= bird.left_on:
            continue  # it is moved_out that comes too early, which is a fault of its own
        yield tables.fault(
            "moves",
            move.row,
            "moved_in",
            kind="moved-when-gone",
            value=str(move.moved_in),
            problem=f"{bird.bird} is written as {bird.status} since {bird.left_on} (row {bird.row} "
            f"of the birds), and came into {move.pen} after that",
            mend=f"mend this date or the band, or left_on in row {bird.row} of the birds",
            birds=(bird.bird,),
        )


def _in_two_pens(tables: FolderTables, stays: Iterable[Stay]) -> Iterator[Fault]:
    """Doubt each stay that begins while an earlier one of the bird lasts, once a stay.

    A cock that may serve several pens at a time goes from one to the other, so his may meet.
    """
    several = _cocks(tables) if _pens_per_cock(tables) > 1 else frozenset[str]()
    mended = set[int]()
    for band, own in _grouped(stays, "bird").items():
        for at, other in enumerate(own):
            earlier = [
                one
                for one in own[:at]
                if one.meets(other) and (band not in several or one.move.pen == other.move.pen)
            ]
            if earlier:
                before = earlier[-1]
                ends = () if before.move.row in mended else _ends_as(tables, before, other)
                mended.update(cell.row for cell in ends)
                yield replace(_two_pens(tables, before, other), mends=ends)


def _ends_as(tables: FolderTables, one: Stay, other: Stay) -> tuple[CellMend, ...]:
    """The latest end of a stay that has none written, where another begins.

    A bird cannot be in two pens, nor two cocks in one, so it had left by that day; a day on which
    one leaves as the other comes is shared. It may have left long before, or the later stay may be
    the one that is wrong, so that this is never written unasked.
    """
    day, before = other.move.moved_in, one.move
    begun = before.moved_in
    gone = one.until != dt.date.max  # the bird itself has left, and that day is known
    if before.moved_out is not None or gone or day is None or begun is None or begun >= day:
        return ()
    if before.bird == other.move.bird and before.pen == other.move.pen:
        return ()
    text = str(day) if tables.settings is None else written_date(day, tables.settings)
    return (CellMend(table="moves", row=before.row, column="moved_out", was="", becomes=text),)


def _two_pens(tables: FolderTables, one: Stay, other: Stay) -> Fault:
    move, before = other.move, one.move
    elsewhere = move.pen != before.pen
    since = f"on {move.moved_in}" if move.moved_in else "too, no day being written for either"
    problem = f"{move.bird} is {'still ' if elsewhere else ''}in {before.pen} {since}"
    otherwise = "mend this date" if elsewhere else "delete one of the two rows"
    return tables.fault(
        "moves",
        move.row,
        "moved_in",
        kind="two-pens-at-once",
        value=str(move.moved_in or ""),
        problem=f"{problem} ({'' if elsewhere else 'also '}row {before.row})",
        mend=f"{_when_it_left(before)}, or {otherwise}",
        birds=(move.bird,),
    )


def _when_it_left(move: MoveRecord) -> str:
    verb = "write" if move.moved_out is None else "mend"
    return f"{verb} in row {move.row} when {move.bird} left {move.pen}"


def _two_cocks(tables: FolderTables, stays: Iterable[Stay]) -> Iterator[Fault]:
    """Doubt each two cocks whose stays in one pen meet, once a pen."""
    cocks = _cocks(tables)
    of_cocks = [stay for stay in stays if stay.move.bird in cocks]
    for inside in _grouped(of_cocks, "pen").values():
        told: set[frozenset[str]] = set()
        for one, other in combinations(inside, 2):
            both = frozenset({one.move.bird, other.move.bird})
            if len(both) == 2 and both not in told and one.meets(other):
                told.add(both)
                found = _cocks_together(tables, one, other)
                yield replace(found, mends=_ends_as(tables, one, other))


def _cocks_together(tables: FolderTables, one: Stay, other: Stay) -> Fault:
    first, second = one.move, other.move
    day = f"from {second.moved_in} on" if second.moved_in else "from the first day on"
    return tables.fault(
        "moves",
        second.row,
        "moved_in",
        kind="two-cocks-at-once",
        value=str(second.moved_in or ""),
        problem=f"the cocks {first.bird} (row {first.row}) and {second.bird} (row {second.row}) "
        f"are both in {second.pen} {day}, so nobody knows which of them is a chick's sire",
        mend=f"{_when_it_left(first)}, or mend row {second.row}",
        birds=(first.bird, second.bird),
    )


def _cocks(tables: FolderTables) -> frozenset[str]:
    return frozenset(bird.bird for bird in tables.birds if bird.sex is Sex.COCK)


def _pens_per_cock(tables: FolderTables) -> int:
    return 1 if tables.settings is None else tables.settings.limits.pens_per_cock


def _grouped(stays: Iterable[Stay], field: str) -> Mapping[str, list[Stay]]:
    groups: dict[str, list[Stay]] = {}
    for stay in stays:
        groups.setdefault(getattr(stay.move, field), []).append(stay)
    return groups
