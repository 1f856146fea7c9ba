"""The tables of the next season: statuses, lines, stays and wishes moved on by stated rules."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.closing.change import Change, Step
from matchmaker.grade.spring import LASTING_WISHES
from matchmaker.tables.amend import Amendment, written_date
from matchmaker.tables.dates import years_on
from matchmaker.tables.read_verdicts import Verdict
from matchmaker.tables.records import Status

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator, Mapping

    from matchmaker.flock.flock import Flock
    from matchmaker.settings import Settings
    from matchmaker.tables.records import BirdRecord, MoveRecord, PenRecord


@dataclass(frozen=True, slots=True, kw_only=True)
class Closing:
    """The flock of the season that ends, the day it ends and the keeper's verdicts by band."""

    flock: Flock
    day: dt.date
    verdicts: Mapping[str, Verdict]

    @property
    def settings(self) -> Settings:
        """The settings of the season that ends."""
        return self.flock.settings

    @property
    def next_pen_up(self) -> dt.date:
        """The day on which the next season's pens are made up."""
        return years_on(self.settings.pen_up, 1)

    def written(self, day: dt.date) -> str:
        """Return a day as the flock's tables write theirs."""
        return written_date(day, self.settings)

    def change(self, step: Step, table: str, row: int, subject: str, to: tuple[str, str]) -> Change:
        """Return a change of one row of a table, from the first of ``to`` to the second."""
        file = self.flock.tables.files.get(table, f"{table}.csv")
        return Change(step=step, file=file, row=row, subject=subject, old=to[0], new=to[1])


def bird_changes(closing: Closing) -> tuple[tuple[Change, ...], Amendment]:
    """Return what becomes of every living bird, and the change of ``birds.csv`` that says it.

    A bird let go by the keeper's verdict is culled (out of the breeding flock) on the day. Young
    birds become breeders if they are old enough when the next pens are made up; a bird in
    quarantine does once its quarantine is over. One that the keeper waits for is no breeder (a
    chick without a status was read as one). A bird of this season without a line gets the one that
    the plan's row for its parents says.
    """
    changes: list[Change] = []
    cells: dict[tuple[int, str], str] = {}
    for record in closing.flock.tables.birds:
        if not record.status.alive_here:
            continue
        status = _status(closing, record)
        if status is not None:
            changes.append(status)
            if status.new != status.old:
                cells[record.row, "status"] = status.new
            cells |= _with_status(closing, status)
            if record.sex is None and status.new == Status.BREEDER:
                to = ("", "")
                changes.append(closing.change(Step.NO_SEX, "birds", record.row, record.bird, to))
        line = None if record.line else _line(closing, record)
        if line is not None:
            changes.append(line)
            if line.new:
                cells[record.row, "line"] = line.new
    return tuple(changes), Amendment(cells=cells)


def _with_status(closing: Closing, change: Change) -> dict[tuple[int, str], str]:
    """Return the cells that a new status asks for beside its own."""
    row = change.row or 0
    if change.step is Step.LET_GO:
        return {(row, "left_on"): closing.written(closing.day)}
    if change.step is Step.RELEASED:
        return {(row, "release_on"): ""}
    return {}


def _status(closing: Closing, record: BirdRecord) -> Change | None:
    verdict = closing.verdicts.get(record.bird)
    step, new = None, record.status
    if verdict is Verdict.LET_GO:
        step, new = Step.LET_GO, Status.CULLED
    elif verdict is Verdict.WAIT:
        held = record.status is Status.QUARANTINE
        step, new = Step.WAITS, Status.QUARANTINE if held else Status.YOUNG
    elif record.status is Status.QUARANTINE:
        if record.release_on is not None and record.release_on <= closing.day:
            step, new = Step.RELEASED, _of_young(closing, record)[1]
    elif record.status is Status.YOUNG:
        step, new = _of_young(closing, record)
    if step is None:
        return None
    to = (record.status.value, new.value)
    return closing.change(step, "birds", record.row, record.bird, to)


def _of_young(closing: Closing, record: BirdRecord) -> tuple[Step, Status]:
    age = None if record.hatched is None else (closing.next_pen_up - record.hatched).days
    if age is not None and age < closing.settings.limits.age_min_days:
        return Step.STILL_YOUNG, Status.YOUNG
    return Step.BREEDER, Status.BREEDER


def _line(closing: Closing, record: BirdRecord) -> Change | None:
    """The line of a bird of this season that the book leaves open; ``None`` where that is clear."""
    if record.hatched is None or record.hatched < closing.settings.pen_up:
        return None
    sires = {band for band, _ in record.sire.candidates}
    dams = {band for band, _ in record.dam.candidates}
    lines = {
        row.line
        for row in closing.flock.tables.plan
        if row.cock in sires and row.hen in dams and row.line
    }
    if len(lines) == 1:
        return closing.change(Step.LINE, "birds", record.row, record.bird, ("", lines.pop()))
    if not lines and len(dams) == 1:
        return None  # the dam's line is taken, as everywhere
    return closing.change(Step.NO_LINE, "birds", record.row, record.bird, ("", ""))


def stay_changes(closing: Closing) -> tuple[tuple[Change, ...], Amendment]:
    """End the stays in breeding pens that nobody ended: the pens are broken up on the day.

    A bird that was gone before left its pen when it went.
    """
    pens = {pen.pen for pen in closing.flock.tables.pens}
    ends = {
        move.row: (move.bird, closing.written(_end_of(closing, move)))
        for move in closing.flock.tables.moves
        if move.moved_out is None
        and move.pen in pens
        and (move.moved_in is None or move.moved_in <= closing.day)
    }
    changes = tuple(
        closing.change(Step.PENS_ENDED, "moves", row, bird, ("", out))
        for row, (bird, out) in ends.items()
    )
    return changes, Amendment(cells={(row, "moved_out"): out for row, (_, out) in ends.items()})


def _end_of(closing: Closing, move: MoveRecord) -> dt.date:
    """The day of closing, or the day on which the bird left if that is earlier."""
    left = closing.flock.by_band()[move.bird].record.left_on
    came = left is not None and (move.moved_in is None or move.moved_in <= left)
    return min(left, closing.day) if left is not None and came else closing.day


def wish_changes(closing: Closing) -> tuple[tuple[Change, ...], Amendment]:
    """Take out wishes that were for one spring, and those about birds that are gone."""
    gone = {
        record.bird
        for record in closing.flock.tables.birds
        if not record.status.alive_here or closing.verdicts.get(record.bird) is Verdict.LET_GO
    }
    changes = []
    for wish in closing.flock.tables.wishes:
        of_gone = bool({wish.bird, wish.partner} & gone)
        if not of_gone and wish.wish in LASTING_WISHES:
            continue
        step = Step.WISH_OF_GONE if of_gone else Step.WISH_ENDED
        told = " ".join(filter(None, (wish.bird, wish.wish, wish.partner)))
        changes.append(closing.change(step, "wishes", wish.row, wish.bird, (told, "")))
    removed = frozenset(change.row for change in changes if change.row is not None)
    return tuple(changes), Amendment(removed=removed)


def pen_changes(closing: Closing) -> tuple[tuple[Change, ...], Amendment]:
    """Move the turns of pens a year on."""
    changes: list[Change] = []
    cells: dict[tuple[int, str], str] = {}
    for pen in closing.flock.tables.pens:
        for column, day in _days(pen):
            old, new = closing.written(day), closing.written(years_on(day, 1))
            cells[pen.row, column] = new
            told = f"pen {pen.pen}, {column}"
            changes.append(closing.change(Step.YEAR_ON, "pens", pen.row, told, (old, new)))
    return tuple(changes), Amendment(cells=cells)


def _days(pen: PenRecord) -> Iterator[tuple[str, dt.date]]:
    for column, day in (("from", pen.first_day), ("until", pen.last_day)):
        if day is not None:
            yield column, day
