"""What a table shall hold once it is changed: whatever is not to be changed stays as it stands."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from matchmaker.errors import UsageError
from matchmaker.tables.columns import TABLES
from matchmaker.tables.delimited import SEPARATORS, delimited_rows
from matchmaker.tables.disk import content_of, digest_of
from matchmaker.tables.findings import Findings
from matchmaker.tables.formulas import guarded
from matchmaker.tables.header import Sheet, read_header
from matchmaker.tables.raw import TEXT_FILES, RawRow, RawTable, trimmed
from matchmaker.tables.write import csv_text

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator, Mapping, Sequence
    from pathlib import Path

    from matchmaker.settings import Settings
    from matchmaker.tables.folder import FolderTables

BOM: Final = "\ufeff"
"""What makes a spreadsheet read a file as UTF-8."""

_DATE_FORMS: Final = {"iso": "%Y-%m-%d", "day-first": "%d/%m/%Y", "month-first": "%m/%d/%Y"}
_NAMED_SEPARATOR: Final = re.compile(r'"?sep=(.)"?\r*(?:\n|\Z)', re.IGNORECASE)
_LINE_END: Final = re.compile(r"\r\n|\r|\n")


@dataclass(frozen=True, slots=True, kw_only=True)
class Amendment:
    """What is to be changed in a table, its columns called by their declared names.

    ``cells`` maps a row, as the spreadsheet shows it, and a column to its new text; ``added`` are
    rows for the end of the table; ``removed`` are rows to be taken out.
    """

    cells: Mapping[tuple[int, str], str] = field(default_factory=dict)
    added: Sequence[Mapping[str, str]] = ()
    removed: frozenset[int] = frozenset()

    @property
    def empty(self) -> bool:
        """Whether it changes nothing."""
        return not (self.cells or self.added or self.removed)

    @property
    def columns(self) -> tuple[str, ...]:
        """The columns it writes text to, in the order they first appear."""
        of_cells = [column for (_, column), text in self.cells.items() if text]
        of_rows = [column for row in self.added for column, text in row.items() if text]
        return tuple(dict.fromkeys([*of_cells, *of_rows]))


@dataclass(frozen=True, slots=True)
class _Line:
    """One row of the file: its text with its line end, and the cells in it."""

    text: str
    cells: list[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Written:
    """A file taken apart so that its rows joined again after ``prefix`` are the file."""

    prefix: str
    separator: str
    lines: list[_Line]

    @property
    def line_end(self) -> str:
        """How the first row ends: the keeper's spreadsheet ends every row so."""
        ends = _LINE_END.findall(self.lines[0].text[-2:]) if self.lines else []
        return ends[-1] if ends else "\n"

    def line(self, cells: list[str], end: str | None = None) -> _Line:
        """Return a row of these cells."""
        stream = io.StringIO()
        # the writer puts quotation marks round just those line breaks that its own rows end with
        csv.writer(stream, delimiter=self.separator, lineterminator="\r\n").writerow(cells)
        ended = self.line_end if end is None else end
        return _Line(stream.getvalue().removesuffix("\r\n") + ended, cells)


def amended(
    folder: Path, table: str, amendment: Amendment, tables: FolderTables
) -> tuple[Path, str]:
    """Return the file of a table and what it shall hold; nothing is written.

    Raises
    ------
    UsageError
        If the table is in a workbook, or is not any more what was read.
    """
    path = folder / text_file(table, tables)
    content = _content_as_read(path, table, tables)
    if content is None:
        names = [column.name for column in TABLES[table].columns]
        rows = [[row.get(name, "") for name in names] for row in amendment.added]
        return path, csv_text(names, rows)
    written = _taken_apart(path, content, table)
    sheet = _sheet(path, written, table, tables)
    _refuse_nowhere(sheet, len(written.lines), amendment)
    lines = list(_amended_lines(written, sheet, amendment))
    return path, written.prefix + "".join(line.text for line in lines)


def text_file(table: str, tables: FolderTables) -> str:
    """Return the name of the file that a table is, or will be, written to.

    Raises
    ------
    UsageError
        If the table is in a workbook.
    """
    held = tables.files.get(table, f"{table}.csv")
    if not held.lower().endswith(tuple(TEXT_FILES)):
        raise UsageError(
            f"{held} is a workbook, which is not written to: save the sheet as {table}.csv "
            f"and delete {held}"
        )
    return held


def written_date(day: dt.date, settings: Settings) -> str:
    """Return a day as the flock's tables write theirs.

    Examples
    --------
    >>> import datetime as dt
    >>> from matchmaker.settings import Settings
    >>> settings = Settings(season=2027, recurrent="sussex", target={"O": 2}, dates="day-first")
    >>> written_date(dt.date(2027, 2, 8), settings)
    '08/02/2027'
    """
    return day.strftime(_DATE_FORMS[settings.dates])


def _content_as_read(path: Path, table: str, tables: FolderTables) -> bytes | None:
    """Return the file's bytes, ``None`` where there is no such file and was none when it was read.

    What was worked out holds for the table as it was read, so a table changed since is left alone.
    """
    content = content_of(path)
    known = tables.inputs.get(path.name) if table in tables.files else None
    if digest_of(content) != known:
        raise UsageError(f"{path} was changed while this command ran: run it again")
    return content


def _taken_apart(path: Path, content: bytes, table: str) -> _Written:
    """Return the rows of a file with their texts, read as ``delimited_rows`` reads them."""
    findings = Findings()
    rows = delimited_rows(path.name, content, TABLES[table], findings)
    if rows is None or findings.faults:
        problem = "; ".join(f"{one.problem}; {one.mend}" for one in findings.faults)
        raise UsageError(f"{path} cannot be changed: {problem}")
    mark, text = _decoded(content)
    named = _NAMED_SEPARATOR.match(text)
    body = text[named.end() :] if named else text
    cells = [row for _, row in rows]
    for separator in (named[1],) if named else SEPARATORS:
        lines = _lines(body, separator)
        if [line.cells for line in lines] == cells:
            prefix = mark + (named[0] if named else "")
            return _Written(prefix=prefix, separator=separator, lines=lines)
    raise UsageError(f'{path} cannot be changed: save it again as "CSV UTF-8"')


def _decoded(content: bytes) -> tuple[str, str]:
    """Return the mark that the file shall begin with, and its text.

    UTF-8 without a mark stays so. Whatever else there is gets one with its letters now in UTF-8.
    """
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return BOM, content.decode("utf-16")
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError:
        return BOM, content.decode("cp1252")
    return (BOM, text[1:]) if text.startswith(BOM) else ("", text)


def _lines(body: str, separator: str) -> list[_Line]:
    """Cut a text into its rows; a quoted cell may hold line breaks."""
    taken: list[str] = []

    def told() -> Iterator[str]:
        for line in io.StringIO(body, newline=""):
            taken.append(line)
            yield line

    lines: list[_Line] = []
    try:
        for cells in csv.reader(told(), delimiter=separator, strict=True):
            lines.append(_Line("".join(taken), cells))
            taken.clear()
    except csv.Error:
        return []  # not the separator of this file
    return lines


def _sheet(path: Path, written: _Written, table: str, tables: FolderTables) -> Sheet:
    """Tell the columns apart, as was done when the folder was read."""
    rows = [
        RawRow(row=row, cells=trimmed(line.cells))
        for row, line in enumerate(written.lines, start=1)
    ]
    raw = RawTable(file=path.name, rows=tuple(row for row in rows if any(row.cells)))
    findings = Findings()
    sheet = read_header(raw, TABLES[table], tables.column_hints, findings)
    if sheet is None:
        problem = "; ".join(f"{one.problem}; {one.mend}" for one in findings.faults)
        raise UsageError(f"{path} cannot be changed: {problem}")
    return sheet


def _refuse_nowhere(sheet: Sheet, rows: int, amendment: Amendment) -> None:
    """Let no change be lost by naming a row or a column that is not there."""
    named = {row for row, _ in amendment.cells} | amendment.removed
    wrong = [str(row) for row in sorted(named) if not sheet.header_row < row <= rows]
    declared = {column.name for column in sheet.table.columns}
    wrong += sorted(set(amendment.columns) - declared - sheet.loci.keys() - sheet.traits.keys())
    if wrong:
        raise ValueError(f"{sheet.file} has no row or column {', '.join(wrong)}")


def _amended_lines(written: _Written, sheet: Sheet, amendment: Amendment) -> Iterator[_Line]:
    """Yield the rows as they shall be; those without a change are passed on as they are."""
    at = _places(written, sheet, amendment)
    changed = _changes(sheet, at, amendment)
    last = _Line("", [])
    for row, line in enumerate(written.lines, start=1):
        if row not in amendment.removed:
            last = _with_cells(written, line, changed[row]) if row in changed else line
            yield last
    if amendment.added and last.text and not last.text.endswith(("\n", "\r")):
        yield _Line(written.line_end, [])  # the last row was left without a line end
    width = max(sheet.width, *(index + 1 for index in at.values()))
    for new in amendment.added:
        cells = {at[column]: text for column, text in new.items() if column in at}
        yield written.line([guarded(cells.get(index, "")) for index in range(width)])


def _places(written: _Written, sheet: Sheet, amendment: Amendment) -> dict[str, int]:
    """Where each declared column stands, or shall stand if it is needed and not there."""
    there = {**sheet.loci, **sheet.traits, **sheet.at}
    new = [column for column in amendment.columns if column not in there]
    free = _first_free_column(written, sheet)
    return {**there, **{column: free + more for more, column in enumerate(new)}}


def _changes(
    sheet: Sheet, at: Mapping[str, int], amendment: Amendment
) -> dict[int, dict[int, str]]:
    """The new texts by row and place, those of new headers among them."""
    changed: dict[int, dict[int, str]] = {}
    for column, place in at.items():
        if column not in sheet.at and column not in {*sheet.loci, *sheet.traits}:
            changed.setdefault(sheet.header_row, {})[place] = column
    for (row, column), text in amendment.cells.items():
        if column in at:  # else it is to be empty, and its column is not there
            changed.setdefault(row, {})[at[column]] = text
    return changed


def _first_free_column(written: _Written, sheet: Sheet) -> int:
    """The first place right of the header with nothing below it: a stray cell keeps its place."""
    below = written.lines[sheet.header_row - 1 :]
    filled = [at for line in below for at, cell in enumerate(line.cells) if cell.strip()]
    return max([sheet.width, *(at + 1 for at in filled)])


def _with_cells(written: _Written, line: _Line, new: Mapping[int, str]) -> _Line:
    cells = list(line.cells)
    cells += [""] * (max(new) + 1 - len(cells))
    for index, text in new.items():
        cells[index] = guarded(text)
    ends = _LINE_END.findall(line.text[-2:]) if line.text.endswith(("\n", "\r")) else []
    return written.line(cells, ends[-1] if ends else "")
