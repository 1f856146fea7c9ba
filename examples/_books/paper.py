"""A keeper's book on paper: sheets of rows, and the memory of every cell that a habit spoilt."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

Clean: TypeAlias = dict[str, str]
"""A row of a clean table: texts under the declared names."""


@dataclass(frozen=True, slots=True)
class Formula:
    """A cell that is reckoned: its formula and what the spreadsheet last made of it."""

    text: str
    result: str | float


@dataclass(frozen=True, slots=True)
class Figure:
    """A number that the spreadsheet shows in a form of its own (``0%``, ``0.0 "kg"``)."""

    value: float
    form: str


@dataclass(frozen=True, slots=True)
class Commented:
    """A cell with a comment pinned to it."""

    text: str
    comment: str


Value: TypeAlias = str | float | bool | dt.date | dt.datetime | Formula | Figure | Commented | None


@dataclass(slots=True, eq=False)
class Row:
    """A row of a sheet; ``clean`` is the row of the clean table that it is, if it is one.

    ``cells`` stand under the keys of the sheet's columns; a row that is no row of the table (a
    title, a note) has its cells in ``loose``, from the left.
    """

    cells: dict[str, Value] = field(default_factory=dict)
    loose: tuple[Value, ...] = ()
    clean: Clean | None = None
    colour: str = ""
    struck: bool = False


@dataclass(slots=True, eq=False)
class Sheet:
    """A sheet: its columns as ``(key, header)`` and its rows in order, the header among them.

    A key is ``column`` of the sheet's own table, or ``table.column`` of another; keys that begin
    with ``+`` are columns of the keeper's own. A table with another ``above`` it lies on that
    one's sheet.
    """

    name: str
    table: str
    columns: list[tuple[str, str]]
    rows: list[Row] = field(default_factory=list)
    header: Row = field(default_factory=Row)
    merged_across: list[tuple[Row, int]] = field(default_factory=list)
    merged_down: list[tuple[str, Row, Row]] = field(default_factory=list)
    hidden: bool = False
    file: str = ""
    above: Sheet | None = None
    empty_below: int = 0

    @property
    def page(self) -> str:
        """The name of the sheet on which it lies: its own, or that of the table above it."""
        return self.above.name if self.above else self.name

    def number(self, row: Row) -> int:
        """The number that the spreadsheet shows beside a row."""
        return len(self.above.rows if self.above else ()) + self.rows.index(row) + 1

    def head(self, key: str) -> str:
        """The header of a column as the keeper writes it."""
        return dict(self.columns).get(key, "")

    def taken(self) -> Iterator[Row]:
        """The rows that are rows of a clean table."""
        return (row for row in self.rows if row.clean is not None)

    def row(self, **wanted: str) -> Row:
        """The one row whose clean cells are those."""
        found = [row for row in self.taken() if _matches(row.clean or {}, wanted)]
        if len(found) != 1:
            msg = f"{len(found)} rows of {self.name} are {wanted}"
            raise ValueError(msg)
        return found[0]

    def every(self, **wanted: str) -> list[Row]:
        """All rows whose clean cells are those."""
        return [row for row in self.taken() if _matches(row.clean or {}, wanted)]

    def insert(self, before: Row, *rows: Row) -> None:
        """Put rows above another."""
        at = self.rows.index(before)
        self.rows[at:at] = rows


def _matches(clean: Clean, wanted: Mapping[str, str]) -> bool:
    return all(clean.get(key, "") == value for key, value in wanted.items())


@dataclass(frozen=True, slots=True, kw_only=True)
class Spoilt:
    """One place that a habit spoilt.

    ``truth`` is what the clean table holds there. ``outcome`` says what a careful reader makes of
    it: ``taken`` (as one of ``may_be``), ``asked`` (unasked, as one of ``may_be``), ``uncertain``
    (several parents, as one of ``may_be``), ``doubted`` (as one of ``may_be``, and said at once or
    by ``check``), ``unseen`` (taken as it stands: nothing in the book speaks against it), ``aside``
    (in no table, but named as not taken).
    """

    mess: str
    habit: str
    sheet: Sheet
    row: Row
    key: str
    written: str
    truth: str
    outcome: str
    may_be: tuple[str, ...]

    @property
    def table(self) -> str:
        """The clean table that the cell belongs to."""
        return self.key.partition(".")[0] if "." in self.key else self.sheet.table

    @property
    def column(self) -> str:
        """The declared name of its column."""
        return self.key.rpartition(".")[2]

    @property
    def place(self) -> str:
        """Where it stands in the keeper's book."""
        where = f"{self.sheet.file} {self.sheet.page}".strip()
        head = self.sheet.head(self.key)
        return f"{where}, row {self.sheet.number(self.row)}" + (f", {head}" if head else "")


@dataclass(slots=True, kw_only=True)
class Notebook:
    """All sheets of a keeper's book, the clean tables behind them, and what was spoilt."""

    name: str
    tables: dict[str, list[Clean]]
    sheets: list[Sheet] = field(default_factory=list)
    spoilt: list[Spoilt] = field(default_factory=list)
    applied: list[Callable[[Notebook], None]] = field(default_factory=list)
    doing: tuple[str, str] = ("", "")

    def sheet(self, name: str) -> Sheet:
        """The sheet of that name."""
        return next(sheet for sheet in self.sheets if sheet.name == name)

    def of(self, table: str) -> Sheet:
        """The sheet that holds a table."""
        return next(sheet for sheet in self.sheets if sheet.table == table)

    def spoil(
        self, row: Row, key: str, written: Value, outcome: str = "taken", *may_be: str
    ) -> None:
        """Write something else into a cell; what is ``taken`` and no more comes out as it truly is.

        The last who spoils a cell is the one remembered.
        """
        sheet = self._holding(row)
        truth = self._truth(sheet, row, key)
        row.cells[key] = written
        self.spoilt = [one for one in self.spoilt if one.row is not row or one.key != key]
        self._remember(sheet, row, key, shown(written), truth, outcome, may_be or (truth,))

    def place(self, sheet: Sheet, row: Row, outcome: str, *may_be: str) -> None:
        """Remember a row that is no row of the table."""
        text = " ".join(filter(None, map(shown, (*row.loose, *row.cells.values()))))
        self._remember(sheet, row, "", text, "", outcome, may_be)

    def note(self, row: Row, key: str, outcome: str, *may_be: str) -> None:
        """Remember a cell as spoilt that stays as it is written."""
        sheet = self._holding(row)
        truth = self._truth(sheet, row, key)
        written = shown(row.cells.get(key))
        self._remember(sheet, row, key, written, truth, outcome, may_be or (truth,))

    def apply(self, messes: Iterable[Callable[[Notebook], None]]) -> None:
        """Spoil the book by these habits, one after the other."""
        for mess in messes:
            habit = (mess.__doc__ or "").split("\n\n")[0].replace("\n", " ")
            self.doing = (mess.__name__, " ".join(habit.split()))
            self.applied.append(mess)
            mess(self)

    def _holding(self, row: Row) -> Sheet:
        return next(sheet for sheet in self.sheets if any(row is one for one in sheet.rows))

    def _truth(self, sheet: Sheet, row: Row, key: str) -> str:
        table, _, column = key.rpartition(".")
        clean = row.clean or {}
        if table and table != sheet.table:
            clean = self._beside(table, clean)
        return clean.get(column, "")

    def _beside(self, table: str, clean: Clean) -> Clean:
        return next((row for row in self.tables[table] if row["bird"] == clean.get("bird")), {})

    def _remember(  # noqa: PLR0913, PLR0917 - the fields of one record
        self,
        sheet: Sheet,
        row: Row,
        key: str,
        written: str,
        truth: str,
        outcome: str,
        may_be: tuple[str, ...],
    ) -> None:
        mess, habit = self.doing
        self.spoilt.append(
            Spoilt(
                mess=mess,
                habit=habit,
                sheet=sheet,
                row=row,
                key=key,
                written=written,
                truth=truth,
                outcome=outcome,
                may_be=may_be,
            )
        )


def shown(value: Value) -> str:
    """What a cell shows, as text."""
    if value is None:
        return ""
    if isinstance(value, Formula):
        return shown(value.result)
    if isinstance(value, Commented):
        return value.text
    if isinstance(value, Figure):
        return f"{value.value:g}"
    return _shown_plain(value)


def _shown_plain(value: str | float | dt.date) -> str:
    if isinstance(value, bool):
        return str(value).upper()
    if isinstance(value, float):
        return f"{value:g}"
    return value.isoformat() if isinstance(value, dt.date) else value


def lay_out(
    name: str,
    table: str,
    columns: Sequence[tuple[str, str]],
    rows: Iterable[Clean],
    read: Callable[[str, str], Value],
) -> Sheet:
    """Write a clean table into a sheet of its own; ``read`` makes a cell of a column's text."""
    sheet = Sheet(name, table, list(columns))
    sheet.header = Row(dict(columns))
    sheet.rows.append(sheet.header)
    for clean in rows:
        cells = {key: read(key, clean.get(key, "")) for key, _ in columns if key in clean}
        sheet.rows.append(Row(cells, clean=clean))
    return sheet
