"""Edits of a keeper's files, and the flock as it would be judged after them.

An edit is one thing to write, delete or add in one file. It is applied to the tables in memory just
as it is said, and every pair is judged again.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Any

from matchmaker.pairs.table import judge_pairs
from matchmaker.scheme_settings import LineSettings
from matchmaker.tables.records import PenRecord, WishRecord

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from matchmaker.flock.flock import Flock
    from matchmaker.pairs.table import PairTable
    from matchmaker.scheme_settings import MatingSettings
    from matchmaker.settings import Settings
    from matchmaker.tables.folder import FolderTables

Cell = str | float | int | bool | dt.date | None


class Act(StrEnum):
    """What is done to a file."""

    WRITE = "write"
    REMOVE = "remove"
    CELL = "cell"
    DELETE = "delete"
    ADD = "add"
    OPEN_ROW = "open-row"
    ASK = "ask"


@dataclass(frozen=True, slots=True, kw_only=True)
class Edit:
    """One edit.

    ``WRITE`` and ``REMOVE`` are about a dotted ``key`` of the settings, given by its parts;
    ``CELL`` about the column of a ``row`` of a table; ``DELETE`` takes a row away and ``ADD`` adds
    one of ``cells``; ``OPEN_ROW`` adds the last of ``matings``, the others being those that so far
    held without being written; ``ASK`` is a number asked for with the command. ``about`` names the
    line, bird or pen; ``kinship`` is that of a pair to be allowed.
    """

    act: Act
    file: str = ""
    table: str = ""
    key: tuple[str, ...] = ()
    row: int | None = None
    column: str = ""
    about: str = ""
    before: Cell = None
    after: Cell = None
    cells: tuple[tuple[str, str], ...] = ()
    matings: tuple[MatingSettings, ...] = ()
    kinship: float | None = None


def repaired(table: PairTable, edits: Iterable[Edit]) -> PairTable:
    """Every pair judged again after the edits; genetics do not hang on what they change.

    Raises
    ------
    InputError
        If wishes make no sense after them.
    """
    flock = table.study.flock
    for edit in edits:
        flock = _edited(flock, edit)
    return judge_pairs(replace(table.study, flock=flock))


def asked(edits: Iterable[Edit], otherwise: int | None) -> int | None:
    """The number of pairs that the edits ask for."""
    numbers = [edit.after for edit in edits if edit.act is Act.ASK]
    last = numbers[-1] if numbers else None
    return last if isinstance(last, int) else otherwise


def _edited(flock: Flock, edit: Edit) -> Flock:
    if edit.act is Act.ASK:
        return flock
    if edit.act in (Act.WRITE, Act.REMOVE, Act.OPEN_ROW):
        settings = _settings(flock.settings, edit)
        return replace(flock, settings=settings, tables=replace(flock.tables, settings=settings))
    if edit.table == "birds":
        return _with_cell_of_bird(flock, edit)
    return replace(flock, tables=_tables(flock.tables, edit))


def _settings(settings: Settings, edit: Edit) -> Settings:
    if edit.act is Act.OPEN_ROW:
        return settings.model_copy(update={"matings": (*settings.matings, *edit.matings)})
    section, *names, last = edit.key
    changed: Any = {last: edit.after}
    if section == "lines":
        (line,) = names
        own = settings.lines.get(line, LineSettings()).model_copy(update=changed)
        return settings.model_copy(update={"lines": {**settings.lines, line: own}})
    return settings.model_copy(
        update={section: getattr(settings, section).model_copy(update=changed)}
    )


def _with_cell_of_bird(flock: Flock, edit: Edit) -> Flock:
    changed: Any = {edit.column: edit.after}
    birds = tuple(
        replace(bird, record=replace(bird.record, **changed))
        if bird.record.row == edit.row
        else bird
        for bird in flock.birds
    )
    return replace(flock, birds=birds)


def _tables(tables: FolderTables, edit: Edit) -> FolderTables:
    records: Sequence[Any] = getattr(tables, edit.table)
    changed: Any = {edit.column: edit.after}
    if edit.act is Act.DELETE:
        kept = tuple(record for record in records if record.row != edit.row)
    elif edit.act is Act.ADD:
        kept = (*records, _record(edit, 1 + max((one.row for one in records), default=1)))
    else:
        kept = tuple(
            replace(record, **changed) if record.row == edit.row else record for record in records
        )
    return replace(tables, **{edit.table: kept})  # type: ignore[arg-type]


def _record(edit: Edit, row: int) -> WishRecord | PenRecord:
    cells = dict(edit.cells)
    if edit.table == "pens":
        return PenRecord(row=row, pen=cells["pen"], hens_max=int(cells["hens_max"]))
    return WishRecord(
        row=row, bird=cells["bird"], partner=cells["with"], wish=cells["wish"], why=cells["why"]
    )
