"""Mends written out on a copy of the tables, so that what comes of them is seen beforehand."""

from __future__ import annotations

import hashlib
import tempfile
from collections import defaultdict
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING

from matchmaker.checking import Check, Depth, check_contents, check_tables, tables_of
from matchmaker.errors import UsageError
from matchmaker.tables.amend import Amendment, amended
from matchmaker.tables.columns import TABLES
from matchmaker.tables.disk import reason
from matchmaker.tables.raw import BOOKS, SIZE_MAX, TEXT_FILES
from matchmaker.tables.reading import is_blank
from matchmaker.tables.standing import Standing, standing_table

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from matchmaker.errors import CellMend, Fault
    from matchmaker.tables.folder import FolderTables


class Why(StrEnum):
    """Why a mend is not written."""

    NOT_SAFE = "not-safe"
    CLASH = "clash"
    STALE = "stale"
    BROKEN = "broken"
    BOOK = "book"
    SETTINGS = "settings"
    NO_TABLE = "no-table"
    WORSE = "worse"
    UNTRIED = "untried"


@dataclass(frozen=True, slots=True, kw_only=True)
class Left:
    """A finding whose mend is not written, and why."""

    fault: Fault
    why: Why


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """A cell that was written, by the header the keeper wrote, or a row that was taken out.

    Of a row ``column`` is "" and ``becomes`` is ``None``; ``was`` are its filled cells.
    """

    file: str
    row: int
    column: str
    was: str
    becomes: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """A copy of the tables to try mends on; ``books`` were turned into CSV there, by table.

    ``standing`` are the cells of each table, ``broken`` the tables that cannot be changed before
    something else is mended in them, such as a stray quotation mark.
    """

    tables: FolderTables
    books: Mapping[str, str]
    standing: Mapping[str, Standing]
    broken: frozenset[str]

    def sorted_out(self, faults: Iterable[Fault]) -> tuple[tuple[Fault, ...], tuple[Left, ...]]:
        """Part the findings whose mends can be written together from those left, with reasons."""
        asked = [fault for fault in faults if fault.mends]
        clashing = _clashing(asked)
        whys = {fault: self._hindrance(fault, clashing) for fault in asked}
        left = tuple(Left(fault=fault, why=why) for fault, why in whys.items() if why)
        return tuple(fault for fault, why in whys.items() if not why), left

    def _hindrance(self, fault: Fault, clashing: set[Spot]) -> Why | None:
        for mend in fault.mends:
            closed = self._closed(mend.table)
            if closed is not None:
                return closed
            if any(spot in clashing for spot in _spots(mend)):
                return Why.CLASH
            if _stale(mend, self.standing[mend.table]):
                return Why.STALE
        return None

    def _closed(self, table: str) -> Why | None:
        """Why nothing can be written to a table, if so."""
        if table not in self.standing:
            return Why.NO_TABLE if table in TABLES else Why.SETTINGS
        if self.standing[table].book:
            return Why.BOOK
        return Why.BROKEN if table in self.broken else None

    def texts(self, faults: Iterable[Fault]) -> dict[str, str]:
        """Return what each file shall hold once these findings are mended, by its name."""
        mends: dict[str, list[CellMend]] = defaultdict(list)
        for mend in (mend for fault in faults for mend in fault.mends):
            mends[mend.table].append(mend)
        found = {}
        for table, wanted in mends.items():
            amendment = _amendment(wanted)
            path, text = amended(self.tables.folder, table, amendment, self.tables)
            found[path.name] = text
        return found

    def check(self, texts: Mapping[str, str]) -> Check:
        """Return all that would be found with these texts in the files."""
        contents = {path.name: path.read_bytes() for path in self.tables.folder.iterdir()}
        contents |= {name: text.encode() for name, text in texts.items()}
        return check_contents(contents, Depth.QUICK)

    def settled(self, texts: Mapping[str, str]) -> tuple[Bench, Check]:
        """Write the texts into the copy itself; return it anew, and all that is found there now."""
        with _in_words():
            for name, text in texts.items():
                (self.tables.folder / name).write_bytes(text.encode())
        tables = tables_of(self.tables.folder)
        return _bench(tables, self.books), check_tables(tables, Depth.QUICK)

    def written(self, faults: Iterable[Fault]) -> tuple[Written, ...]:
        """Every cell and row that the mends of these findings change, in order of their places."""
        mends = {mend for fault in faults for mend in fault.mends}
        found = {self._written(mend) for mend in mends}
        return tuple(sorted(found, key=lambda one: (one.file, one.row, one.column)))

    def _written(self, mend: CellMend) -> Written:
        standing = self.standing[mend.table]
        header = self.tables.headers.get(mend.table, {}).get(mend.column, mend.column)
        whole = mend.becomes is None
        return Written(
            file=standing.file,
            row=mend.row,
            column=header,
            was=standing.row_text(mend.row) if whole else mend.was.strip(),
            becomes=mend.becomes,
        )


Spot = tuple[str, int, str]
"""Table, row and column of a cell; the column is "" for a row as a whole."""


@contextmanager
def workbench(found: Check, faults: Iterable[Fault] = ()) -> Iterator[Bench]:
    """Copy the tables aside to try mends on them, and take the copy away at the end.

    Where one of these ``faults`` is to be mended in a workbook of one filled sheet, that becomes a
    CSV table there, if it reads alike.

    Raises
    ------
    UsageError
        If a file cannot be read any more, or is not what was read, or there is no room for a copy.
    """
    with ExitStack() as at_the_end:
        with _in_words():
            place = tempfile.TemporaryDirectory(prefix="matchmaker-")
            folder = Path(at_the_end.enter_context(place))
            _copy_inputs(found.tables, folder)
            tables = tables_of(folder)
            mended = {mend.table for fault in faults for mend in fault.mends}
            turned = dict(_books_turned(tables, sorted(mended & tables.files.keys())))
        yield _bench(tables_of(folder) if turned else tables, turned)


def _bench(tables: FolderTables, books: Mapping[str, str]) -> Bench:
    found = {table: standing_table(tables, table) for table in tables.files}
    return Bench(
        tables=tables,
        books=books,
        standing={table: cells for table, cells in found.items() if cells is not None},
        broken=frozenset(table for table in found if _cannot_be_changed(tables, table)),
    )


def _cannot_be_changed(tables: FolderTables, table: str) -> bool:
    try:
        amended(tables.folder, table, Amendment(), tables)
    except UsageError:
        return True
    return False


def _amendment(mends: Iterable[CellMend]) -> Amendment:
    cells, removed = {}, set()
    for mend in mends:
        if mend.becomes is None:
            removed.add(mend.row)
        else:
            cells[mend.row, mend.column] = mend.becomes
    return Amendment(cells=cells, removed=frozenset(removed))


def _spots(mend: CellMend) -> tuple[Spot, Spot]:
    return (mend.table, mend.row, mend.column), (mend.table, mend.row, "")


def _clashing(faults: Iterable[Fault]) -> set[Spot]:
    """Cells for which two findings want different things, and rows that one wants gone."""
    wanted: dict[Spot, set[str | None]] = defaultdict(set)
    rows: dict[Spot, set[bool]] = defaultdict(set)
    for mend in (mend for fault in faults for mend in fault.mends):
        wanted[_spots(mend)[0]].add(mend.becomes)
        rows[_spots(mend)[1]].add(mend.becomes is None)
    cells = {spot for spot, texts in wanted.items() if len(texts) > 1}
    return cells | {spot for spot, gone in rows.items() if len(gone) > 1}


def _stale(mend: CellMend, standing: Standing) -> bool:
    """Whether the cell does not say what the finding took it to say."""
    cell = standing.cell(mend.row, mend.column)
    if mend.becomes is None:
        return cell is None
    if cell is None:
        return True
    open_still = not mend.was.strip() and is_blank(cell.strip())  # a ? or unknown reads as empty
    return cell.strip() != mend.was.strip() and not open_still


@contextmanager
def _in_words() -> Iterator[None]:
    """Within this block a disk that refuses the copy is told as that.

    Raises
    ------
    UsageError
        If it does.
    """
    try:
        yield
    except OSError as error:
        raise UsageError(
            f"no copy to try mends on can be made in {tempfile.gettempdir()}: {reason(error)}"
        ) from error


def _copy_inputs(tables: FolderTables, folder: Path) -> None:
    """Copy what was read, and the tables and books beside it, which have findings of their own."""
    for name, digest in tables.inputs.items():
        path = tables.folder / name
        try:
            content = path.read_bytes()
        except OSError as error:
            raise UsageError(f"{path} cannot be read: {reason(error)}") from error
        if hashlib.sha256(content).hexdigest() != digest:
            raise UsageError(f"{path} was changed while this command ran: run it again")
        (folder / name).write_bytes(content)
    for path in tables.folder.iterdir():
        if path.name not in tables.inputs and _like_a_table(path):
            with suppress(OSError):
                (folder / path.name).write_bytes(path.read_bytes())


def _like_a_table(path: Path) -> bool:
    """Whether a file that was not read is one of those that ``check`` speaks of all the same."""
    kind = path.suffix.lower() in TEXT_FILES | BOOKS and path.name[0] not in "~."
    return kind and path.is_file() and not path.is_symlink() and path.stat().st_size <= SIZE_MAX


def _books_turned(tables: FolderTables, names: Iterable[str]) -> Iterator[tuple[str, str]]:
    """Turn workbooks into CSV tables, in place; yield table and book where it reads alike."""
    for table in names:
        standing = standing_table(tables, table)
        if standing is None or not standing.book or not standing.alone:
            continue
        book, sheet = tables.folder / standing.file, tables.folder / f"{table}.csv"
        content = book.read_bytes()
        book.unlink()
        sheet.write_text(standing.as_csv(), encoding="utf-8", newline="")
        if _records(tables_of(tables.folder), table) == _records(tables, table):
            yield table, book.name
        else:
            sheet.unlink()
            book.write_bytes(content)


def _records(tables: FolderTables, table: str) -> tuple[object, ...]:
    """What is read of a table, its findings too: all that a change of its file may lose."""
    found = [
        (one.kind, one.row, one.column, one.value)
        for one in (*tables.faults, *tables.doubts)
        if one.file == tables.files.get(table)
    ]
    return (getattr(tables, table), tables.headers.get(table), tables.extras.get(table), found)
